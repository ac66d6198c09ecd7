"""Every letter can be looked at while its words are changed, whatever it is about."""

from __future__ import annotations

import pytest
from sqlalchemy.orm import Session

from portal.domain.own_texts import NONE, Kind
from portal.i18n import voice
from portal.mail.messages import SUBJECTS
from portal.mail.openings import TITLES
from portal.services import letter_preview, own_texts
from tests import make

LETTERS = [key for key, slot in own_texts.slots(()).items() if slot.kind is Kind.LETTER]


@pytest.mark.parametrize("slot", LETTERS)
def test_a_letter_is_shown_with_the_words_that_are_tried(session: Session, slot: str) -> None:
    make.workshop(session)
    session.flush()
    words = "Words of our own"
    letter = letter_preview.with_words(session, slot, words, voice("en", "UTC"), NONE, make.NOW)
    assert letter is not None
    assert words in (letter.subject if slot.endswith(".subject") else letter.body)


def test_every_letter_to_whoever_ordered_has_a_name_in_the_list() -> None:
    assert {str(kind) for kind, (subject, _shop) in SUBJECTS.items() if subject is not None} <= set(TITLES)
