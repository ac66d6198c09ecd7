"""Printing the tags of a booking."""

from __future__ import annotations

from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from portal.db.engine import Database
from portal.domain.tag_sheets import TagSheet
from portal.domain.tags import grouped, tag_of
from portal.queries import workshop as find_workshop
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
        ({"width_mm": "12"}, "Width of a sticker: enter a number from 40 to 210"),
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
