"""What a reworded text has to keep."""

from __future__ import annotations

import pytest

from portal.domain.own_texts import Kind, OwnTexts, Slot, fill, places_in, problem
from portal.domain.words import Phrase

SUBJECT = Slot(
    "letter.x.subject",
    Kind.LETTER,
    Phrase("Subject"),
    "Ready: %(reference)s",
    ("reference", "day"),
    frozenset({"reference"}),
    60,
    is_one_line=True,
)
ADVICE = Slot("care.x.advice", Kind.CARE, Phrase("Advice"), "Brush the base.")


@pytest.mark.parametrize(
    "words", ["%(reference)s is ready", "%(reference)s on %(day)s, 100 % dry", "50% off (%(reference)s)"]
)
def test_words_with_all_they_need_can_be_kept(words: str) -> None:
    assert problem(SUBJECT, words) is None


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("", "Write the text, or go back to the shipped one"),
        (
            "Ready",
            "Put %(reference)s back in: it stands for the reference of the booking, and the reader needs it",
        ),
        (
            "%(reference)s %(price)s",
            "Take out %(price)s: nothing can be filled in there. These are known: %(reference)s, %(day)s",
        ),
        (
            "%(reference) is ready",
            "Mend “%(reference)”: a place is written exactly as one of these: %(reference)s, %(day)s",
        ),
        (
            "%( reference )s",
            "Mend “%( reference )s”: a place is written exactly as one of these: %(reference)s, %(day)s",
        ),
        ("%(reference)s\nand more", "Write this on one line"),
        ("%(reference)s" + "x" * 60, "Shorten this to 60 characters"),
    ],
)
def test_what_cannot_be_kept_says_what_to_do(words: str, told: str) -> None:
    assert str(problem(SUBJECT, words)) == told


def test_where_nothing_is_filled_in_a_sign_is_a_sign() -> None:
    assert problem(ADVICE, "100 % %(sure)s, <b>really</b>") is None


def test_places_are_filled_and_all_else_stays() -> None:
    assert fill("%(a)s is 5 % of %(b)s", {"a": "%(b)s"}) == "%(b)s is 5 % of %(b)s"
    assert places_in("%(a)s %b (c)s %(a)s") == {"a"}


def test_words_are_found_by_language_and_only_some_count_wherever_they_are_said() -> None:
    own = OwnTexts({("care.x.advice", "en"): "Brush it.", ("letter.x.subject", "en"): "%(reference)s!"})
    assert own.of("care.x.advice", "nb") is None
    assert own.of_any("care.x.advice", ("nb", "en")) == "Brush it."
    assert own.as_messages((SUBJECT, ADVICE), "en") == {"Brush the base.": "Brush it."}
    assert own.as_messages((SUBJECT, ADVICE), "nb") == {}
