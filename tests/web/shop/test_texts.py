"""The workshop's own wording."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from sqlalchemy import select

from portal import i18n
from portal.db.outbox import OutboxLetter
from portal.db.own_texts import OwnText
from portal.domain.own_texts import Kind, OwnTexts
from portal.i18n import voice
from portal.mail.messages import SUBJECTS
from portal.queries import own_texts as find_own_texts
from portal.queries import people as find_people
from portal.reference import default_folder, load
from portal.services import bookings, letter_preview, own_texts
from tests.documents.reading import text_of
from tests.make import NOW
from tests.page import Visitor

CARE = load(default_folder()).care.rules
ADVICE = "care.clean-after-grind.advice"
SUBJECT = "letter.confirmed.subject"


def slots() -> dict[str, own_texts.Slot]:
    return own_texts.slots(CARE)


def reword(desk: Any, slot: str, words: str) -> None:
    with desk.database.write.begin() as session:
        own_texts.reword(session, desk.cast.mia, slots()[slot], "en", words, NOW)


def test_every_text_said_everywhere_is_shipped_once() -> None:
    # Two slots with the same shipped words could not be told apart where they are said.
    for kind in {slot.kind for slot in slots().values()}:
        shipped = [slot.shipped for slot in slots().values() if slot.kind is kind]
        if kind.is_said_everywhere:
            assert len(shipped) == len(set(shipped)), kind
            assert not any(slot.places for slot in slots().values() if slot.kind is kind)


def test_the_list_finds_texts_by_kind_and_words(mia: Visitor, desk: Any) -> None:
    reword(desk, ADVICE, "Brush it well, from the tip on.")
    page = mia.get("/shop/texts")
    assert page.h1 == "Texts"
    assert f"{len(slots())} texts" in page.text
    page = mia.get("/shop/texts?kind=care&words=brush+tip")
    assert "Brush it well, from the tip on." in page.text
    assert "Yours" in page.text
    assert "No text matches" in mia.get("/shop/texts?words=zeppelin").text
    assert "Page 2 of" in mia.get("/shop/texts?page=2").text


def test_own_words_are_looked_at_kept_and_given_up(mia: Visitor, desk: Any) -> None:
    url = f"/shop/texts/{ADVICE}"
    opened = mia.get(url)
    assert "Brush the base from tip to tail" in opened.text
    looked = mia.send(opened, words="Brush, then look.", look="yes")
    assert "Nothing is kept yet." in looked.text
    assert desk.read(find_own_texts.current) == OwnTexts()
    kept = mia.send(looked, words="Brush, then look.")
    assert "The text is kept." in kept.text
    assert "Brush the base from tip to tail" in kept.text
    assert desk.read(find_own_texts.current).of(ADVICE, "en") == "Brush, then look."
    back = mia.send(kept, back="yes")
    assert "The shipped text is back." in back.text
    assert desk.read(find_own_texts.current).of(ADVICE, "en") is None
    # The undo: words of an older version are put into the box again.
    link = next(link for link in back.links if "version=" in link)
    again = mia.send(mia.get(link))
    assert "The text is kept." in again.text
    assert desk.read(find_own_texts.current).of(ADVICE, "en") == "Brush, then look."
    assert len(desk.read(find_own_texts.versions, ADVICE, "en")) == 3


def test_a_version_of_another_text_is_not_found(mia: Visitor, desk: Any) -> None:
    reword(desk, ADVICE, "Brush.")
    number = desk.read(find_own_texts.versions, ADVICE, "en")[0].id
    mia.get(f"/shop/texts/{SUBJECT}?version={number}", status=404)
    mia.get("/shop/texts/care.nothing.advice", status=404)
    mia.get(f"/shop/texts/{ADVICE}?language=tlh", status=404)


def test_a_subject_without_its_reference_is_refused_and_stays_in_the_box(mia: Visitor, desk: Any) -> None:
    page = mia.send(mia.get(f"/shop/texts/{SUBJECT}"), words="All is well on %(day)s")
    assert page.errors == [
        "Put %(reference)s back in: it stands for the reference of the booking, and the reader needs it"
    ]
    assert "All is well on %(day)s" in page.html
    page = mia.send(page, words="%(reference)s: %(price)s")
    assert page.errors[0].startswith("Take out %(price)s")
    assert desk.read(find_own_texts.current) == OwnTexts()


def test_only_the_shop_manager_changes_texts(tina: Visitor, visitor: Visitor, desk: Any) -> None:
    tina.get("/shop/texts", status=403)
    tina.get(f"/shop/texts/{ADVICE}", status=403)
    visitor.as_(desk.cast.alice).get("/shop/texts", status=404)


def test_markup_in_own_words_is_shown_and_never_run(mia: Visitor, desk: Any) -> None:
    words = "<script>alert(1)</script> & so on"
    for slot in ("public.note", "public.about", "public.find_us"):
        reword(desk, slot, words)
    home = mia.get("/")
    assert words in home.text
    assert "<script>alert" not in home.html
    assert "<script>alert" not in mia.get("/shop/texts").html


def test_the_front_page_says_what_the_workshop_wrote(visitor: Visitor, mia: Visitor, desk: Any) -> None:
    assert "How to find us" not in visitor.get("/").text
    page = mia.send(mia.get("/shop/texts/public.find_us"), words="Behind the mill.\r\n\r\nBus 4")
    assert "The text is kept." in page.text
    home = visitor.get("/")
    assert "How to find us Behind the mill. Bus 4" in home.text


def letter_to_alice(desk: Any) -> OutboxLetter:
    with desk.database.read() as session:
        rows = select(OutboxLetter).where(OutboxLetter.recipient == "alice@example.test")
        return list(session.scalars(rows.order_by(OutboxLetter.id)))[-1]


def test_letters_are_sent_in_the_workshops_words(desk: Any) -> None:
    reword(desk, SUBJECT, "100 % sure: %(reference)s on %(day)s")
    reword(desk, "letter.confirmed.opening", "we look forward to %(who)s & <friends>.")
    reword(desk, "letter.confirmed.closing", "Park behind the mill.")
    booked = desk.confirmed()
    letter = letter_to_alice(desk)
    assert letter.subject == f"100 % sure: {booked.reference} on Fri 11 December 2026"
    assert "Hello Alice,\n\nwe look forward to Alice & <friends>.\n\nReference:" in letter.body
    assert "\n\nPark behind the mill.\n\nHollowmere Ski Grinding\n" in letter.body
    assert "\ue000" not in letter.body


def test_without_own_words_letters_are_as_they_were_shipped(desk: Any) -> None:
    booked = desk.confirmed()
    letter = letter_to_alice(desk)
    assert letter.subject == f"Confirmed: {booked.reference}, ready on Fri 11 December 2026"
    assert "your booking is confirmed. Bring the skis by the hand-in day" in letter.body
    assert "\ue000" not in letter.body


def test_a_note_of_a_skier_cannot_stand_in_for_the_closing(desk: Any) -> None:
    reword(desk, "letter.declined.closing", "Come back soon.")
    booked = desk.asked()
    with desk.database.write.begin() as session:
        bookings.decline(session, desk.cast.mia, booked.id, "\ue000\nodd", NOW + timedelta(hours=1))
    body = letter_to_alice(desk).body
    assert body.count("Come back soon.") == 1
    assert body.index("Come back soon.") > body.index("odd")


@pytest.mark.parametrize("kind", [kind for kind, (subject, _) in SUBJECTS.items() if subject])
def test_every_letter_can_be_looked_at(desk: Any, kind: Any) -> None:
    for slot in [one for one in slots().values() if one.key.startswith(f"letter.{kind}.")]:
        words = "%(reference)s — %(day)s of mine"
        with desk.database.read() as session:
            letter = letter_preview.with_words(session, slot.key, words, voice(), OwnTexts(), NOW)
        assert letter is not None
        assert "of mine" in letter.subject + letter.body, slot.key
        assert "EXAMPLE" in letter.subject + letter.body
        assert "%(" not in letter.body


def test_the_two_openings_of_a_letter_are_each_shown(mia: Visitor) -> None:
    assert "as you asked. The calendar entry" in mia.get("/shop/texts/letter.moved_confirmed.opening").text
    assert "is kept for you, and we will answer" in mia.get("/shop/texts/letter.moved_request.opening").text
    assert "our offer has been" in mia.get("/shop/texts/letter.lapsed_offer.opening").text
    assert "we have not answered" in mia.get("/shop/texts/letter.lapsed_request.opening").text


def test_a_reworded_reason_stands_in_the_list(mia: Visitor, desk: Any) -> None:
    reword(desk, "reason.decline.kind", "We grind cross-country skis only. <b>")
    booked = desk.asked()
    page = mia.get(f"/shop/bookings/{booked.id}/decline")
    assert "We grind cross-country skis only. <b>" in page.text
    assert "We do not grind this kind of ski." not in page.text


def test_each_change_is_noted_once(mia: Visitor, desk: Any) -> None:
    reword(desk, ADVICE, "Brush.")
    reword(desk, ADVICE, "Brush.")
    with desk.database.read() as session:
        assert [row.words for row in session.scalars(select(OwnText))] == ["Brush."]


def test_own_care_advice_stands_on_the_paper_of_a_pair(visitor: Visitor, desk: Any) -> None:
    reword(desk, ADVICE, "Brush it & be done.")
    booked = desk.ground()
    paper = visitor.as_(desk.cast.alice).raw("GET", f"/my/pairs/{booked.pair_id}/history.pdf").data
    text = text_of(paper)
    assert "Brush it & be done." in text
    assert "so that no stone dust stays" not in text


@pytest.fixture
def second_language(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """Norwegian, in which nothing but one text is translated."""
    folder = tmp_path / "nb" / "LC_MESSAGES"
    folder.mkdir(parents=True)
    catalog = Catalog(locale="nb")
    catalog.add("your skis are ground and ready to collect.", "skiene er slipt og klare.")
    with (folder / "portal.mo").open("wb") as file:
        write_mo(file, catalog)
    (folder / "portal.po").touch()
    monkeypatch.setattr(i18n, "CATALOGUES", tmp_path)
    i18n.voice.cache_clear()
    i18n._catalogue.cache_clear()
    yield "nb"
    i18n.voice.cache_clear()
    i18n._catalogue.cache_clear()


def test_each_language_has_its_own_words(second_language: str, mia: Visitor, desk: Any) -> None:
    url = "/shop/texts/letter.ready.opening"
    page = mia.get(url)
    assert "Norwegian Bokmål" in page.text
    page = mia.get(f"{url}?language={second_language}")
    assert "skiene er slipt og klare." in page.text
    mia.send(page, words="skiene er klare, %(name)s.")
    own = desk.read(find_own_texts.current)
    assert own.of("letter.ready.opening", "nb") == "skiene er klare, %(name)s."
    assert own.of("letter.ready.opening", "en") is None
    assert "Yours: Norwegian Bokmål" in mia.get("/shop/texts?words=klare").text
    with desk.database.write.begin() as session:
        find_people.one(session, desk.cast.alice.person_id).language = "nb"
    desk.ground()
    assert "\n\nskiene er klare, Alice.\n\n" in letter_to_alice(desk).body


def test_a_list_of_short_words_is_one_line_to_join(
    mia: Visitor, desk: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(own_texts.WORD_LISTS, Kind.CONDITION, {"edge": "Base flattening"})
    own_texts.slots.cache_clear()
    reword(desk, "condition.edge", "Base levelling")
    page = mia.get("/shop/texts?kind=condition")
    assert "Base levelling" in page.text
    # It is said so wherever the shipped word is said.
    assert "Base levelling" in mia.get("/how-it-works").text
    own_texts.slots.cache_clear()
