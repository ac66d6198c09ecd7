"""Printing the tags of a booking."""

from __future__ import annotations

from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from portal.db.engine import Database
from portal.domain.tag_sheets import TagSheet
from portal.domain.tags import grouped, tag_of
from portal.queries import people as find_people
from portal.queries import workshop as find_workshop
from tests import make
from tests.cast import Cast
from tests.page import Visitor


def test_the_tags_of_a_booking_are_printed_and_the_sheet_is_kept(
    tina: Visitor, desk: Any, database: Database
) -> None:
    booked = desk.confirmed()
    assert "Print tags" in tina.get(f"/shop/bookings/{booked.id}").text
    page = tina.get(f"/shop/bookings/{booked.id}/tags")
    fields = page.form() | {"columns": "2", "width_mm": "95,5", "used": "3", "frames": "y"}
    answer = tina.raw("POST", f"/shop/bookings/{booked.id}/tags", data=fields)
    assert answer.location == f"/shop/bookings/{booked.id}/tags.pdf?used=3&frames=yes"
    with database.read() as session:
        kept = TagSheet.from_json(find_workshop.the(session).tag_sheet)
    assert (kept.columns, kept.width_mm, kept.rows) == (2, 95.5, 8)
    paper = tina.raw("GET", answer.location)
    assert paper.mimetype == "application/pdf"
    text = PdfReader(BytesIO(paper.data)).pages[0].extract_text()
    assert grouped(tag_of(booked.pair_id)) in text
    assert booked.reference in text
    assert "Alice" not in text
    assert tina.get(f"/shop/bookings/{booked.id}/tags").form()["width_mm"] == "95.5"


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"columns": "4"}, "The columns reach 57.5 mm over the right edge of the paper."),
        ({"top_mm": "40"}, "The rows reach 7 mm over the lower edge of the paper."),
        ({"used": "24"}, "A sheet has 24 stickers, and at least one has to be left"),
        ({"width_mm": "12"}, "Width of a sticker: enter a number from 40 to 215.9"),
        ({"rows": "two"}, "Rows: enter digits only"),
        ({"rows": ""}, "Rows: enter a number"),
    ],
)
def test_a_sheet_that_cannot_be_is_refused_with_why(
    tina: Visitor, desk: Any, given: dict[str, str], told: str
) -> None:
    booked = desk.confirmed()
    page = tina.send(tina.get(f"/shop/bookings/{booked.id}/tags"), **given)
    assert len(page.errors) == 1
    assert page.errors[0].startswith(told)
    assert page.form() | given == page.form()


def test_a_sheet_that_is_used_up_or_a_booking_that_is_not_there_has_no_paper(
    tina: Visitor, desk: Any
) -> None:
    booked = desk.confirmed()
    tina.get(f"/shop/bookings/{booked.id}/tags.pdf?used=24", status=404)
    tina.get("/shop/bookings/999/tags.pdf", status=404)
    tina.get("/shop/bookings/999/tags", status=404)


def words_of(visitor: Visitor, path: str) -> str:
    answer = visitor.raw("GET", path)
    assert answer.mimetype == "application/pdf", path
    return " ".join(page.extract_text() for page in PdfReader(BytesIO(answer.data)).pages)


def test_tags_are_printed_on_letter_too(tina: Visitor, desk: Any) -> None:
    booked = desk.confirmed()
    page = tina.get(f"/shop/bookings/{booked.id}/tags")
    assert page.form()["paper"] == "a4"
    # What fits on A4 is too high for letter, and that is told in words of its own.
    refused = tina.send(page, paper="letter", rows="8", height_mm="35")
    assert refused.errors == [
        "The rows reach 17.1 mm over the lower edge of the paper. Make them lower or fewer"
    ]
    fields = page.form() | {"paper": "letter", "rows": "7"}
    answer = tina.raw("POST", f"/shop/bookings/{booked.id}/tags", data=fields)
    box = PdfReader(BytesIO(tina.raw("GET", answer.location).data)).pages[0].mediabox
    assert (round(float(box.width)), round(float(box.height))) == (612, 792)


def test_the_tags_of_all_pairs_of_a_day_are_on_one_sheet(tina: Visitor, desk: Any) -> None:
    first, second = desk.confirmed(), desk.confirmed()
    day = tina.get("/shop/day/2026-12-08")
    assert "/shop/day/2026-12-08/tags" in day.links
    page = tina.get("/shop/day/2026-12-08/tags")
    assert page.h1 == "Print tags for the pairs to hand in on Tue 8 December 2026"
    assert "2 tags" in page.text
    answer = tina.raw("POST", "/shop/day/2026-12-08/tags", data=page.form() | {"used": "2"})
    assert answer.location == "/shop/day/2026-12-08/tags.pdf?used=2"
    words = words_of(tina, answer.location)
    for booked in (first, second):
        assert grouped(tag_of(booked.pair_id)) in words
        assert booked.reference in words


def test_a_day_without_pairs_to_hand_in_has_no_tags(tina: Visitor, cast: Cast) -> None:
    assert "No pair is awaited" in tina.get("/shop/day/2026-12-08/tags").text
    tina.get("/shop/day/2026-12-08/tags.pdf", status=404)
    tina.get("/shop/day/someday/tags", status=404)


def test_the_tags_of_some_pairs_of_an_owner(tina: Visitor, cast: Cast, database: Database) -> None:
    with database.write.begin() as session:
        alice = find_people.one(session, cast.alice.person_id)
        more = [make.pair(session, alice, mark=f"A{number}").id for number in range(3)]
        stranger = make.pair(session, find_people.one(session, cast.carl.person_id)).id
    path = f"/shop/pair/{cast.pair_id}/tags"
    assert path in tina.get(f"/shop/pair/{cast.pair_id}").links
    page = tina.get(path)
    assert page.h1 == "Print tags for pairs of Alice"
    assert page.form()["pairs"] == [str(cast.pair_id)]
    assert tina.send(page, pairs=[]).errors == ["Choose at least one pair"]
    answer = tina.raw("POST", path, data=page.form() | {"pairs": [more[0], more[2], stranger]})
    words = words_of(tina, answer.location)
    assert grouped(tag_of(more[0])) in words
    assert grouped(tag_of(more[2])) in words
    # Neither one that was not chosen nor one of somebody else.
    assert grouped(tag_of(more[1])) not in words
    assert grouped(tag_of(stranger)) not in words
    tina.get(f"{path}.pdf", status=404)
    tina.get(f"{path}.pdf?pair=none", status=404)
    assert "pairs of Alder Valley Ski Club" in tina.get(f"/shop/pair/{cast.club_pair_id}/tags").h1


def test_skiers_print_no_tags(visitor: Visitor, cast: Cast) -> None:
    alice = visitor.as_(cast.alice)
    for path in (f"/shop/pair/{cast.pair_id}/tags", "/shop/day/2026-12-08/tags"):
        alice.get(path, status=404)
        alice.get(f"{path}.pdf", status=404)
