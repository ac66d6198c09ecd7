"""A pair comes in: what is found, what is kept, what is refused."""

from __future__ import annotations

from typing import Any

from portal.domain.bookings import Stage
from portal.queries import arrivals as find_arrivals
from portal.queries import bookings as find_bookings
from portal.queries import grinds as find_grinds
from tests import make
from tests.cast import Cast
from tests.page import Visitor


def item_of(desk: Any, booked: Any) -> Any:
    return desk.read(find_bookings.whole, booked.id).items[0]


def found(desk: Any, booked: Any) -> Any:
    return desk.read(find_arrivals.check_in_of, booked.item_id)


def opened(tina: Visitor, booked: Any) -> Any:
    return tina.get(f"/shop/pairs/{booked.item_id}/check-in")


def test_a_pair_is_checked_in_from_the_day_and_the_day_comes_back(tina: Visitor, desk: Any) -> None:
    booked = desk.confirmed()
    day = tina.get("/shop/day/2026-12-08")
    link = next(link for link in day.links if "check-in" in link)
    page = tina.send(tina.get(link), match="yes")
    assert item_of(desk, booked).stage is Stage.CHECKED_IN
    assert page.h1 == "Tue 8 December 2026"
    assert "is checked in" in page.text


def test_all_that_was_found_is_kept_with_the_pair(tina: Visitor, desk: Any, cast: Cast) -> None:
    booked = desk.confirmed()
    tina.send(
        opened(tina, booked),
        match="yes",
        brought_by="Her brother",
        base_tip="1 100",
        base_middle="1080 µm",
        base_tail="1090",
        burn_left="y",
        burn_spot="foot",
        burn_words="palm-sized",
        scratch_left="y",
        scratch_right="y",
        flatness="concave",
        gap="5/100",
        remarks="Strap is torn.",
    )
    row = found(desk, booked)
    assert (row.brought_by, row.belongs_together, row.technician) == ("Her brother", True, "Tina")
    assert (row.tip_um, row.middle_um, row.tail_um) == (1100, 1080, 1090)
    assert row.conditions == [
        {"key": "burn", "side": "left", "spot": "foot", "words": "palm-sized"},
        {"key": "scratch", "side": "both", "spot": "", "words": ""},
    ]
    assert (row.flatness, row.gap_um, row.day) == ("concave", 50, make.TODAY)
    page = tina.get(f"/shop/pair/{booked.pair_id}")
    for words in (
        "Base burn, left ski, under the foot: palm-sized",
        "Scratches, both skis",
        "Concave: hollow in the middle, gap 0.05 mm",
        "1.10 / 1.08 / 1.09 mm",
        "Strap is torn.",
        "Base at its thinnest point: 1.08 mm",
    ):
        assert words in page.text
    alice = tina.as_(cast.alice).get(f"/my/pairs/{booked.pair_id}")
    assert "Base burn, left ski, under the foot: palm-sized" in alice.text
    assert "The thinnest point measured 1.08 mm on Mon 7 December 2026" in alice.text


def test_what_was_measured_is_the_base_before_the_grind(tina: Visitor, desk: Any) -> None:
    booked = desk.confirmed()
    tina.send(opened(tina, booked), match="yes", base_tip="1100", base_tail="1090")
    desk.on_stone(booked)
    fields = tina.get(f"/shop/pairs/{booked.item_id}/record").form()
    assert (fields["before_tip"], fields["before_middle"], fields["before_tail"]) == ("1100", "", "1090")


WRONG = (
    ({"match": None}, "Say whether the two skis belong together: compare model, length and number on both"),
    ({"base_tip": "99"}, "Enter a number from 100 to 3000"),
    ({"flatness": "convex", "gap": "a hair"}, "Write the gap as 50 µm, 0.05 mm or 5/100, or leave it empty"),
    ({"flatness": "convex", "gap": "3 mm"}, "Enter a gap of at most 2000 µm"),
    ({"gap": "50"}, "Say above whether the base is concave or convex, or leave the gap empty"),
    (
        {"gap": "50", "flatness": "flat"},
        "A flat base has no gap: leave it empty, or choose concave or convex above",
    ),
    ({"dent_words": "deep"}, "Say on which ski you see it, or empty what you wrote about it"),
    ({"dent_spot": "tip"}, "Say on which ski you see it, or empty what you wrote about it"),
    ({"dent_left": "y", "dent_spot": "sky"}, "Choose one of the answers"),
    ({"match": "perhaps"}, "Choose one of the answers"),
    ({"brought_by": "x" * 121}, "Shorten this to 120 characters"),
)


def test_a_wrong_answer_is_told_what_to_do_and_keeps_the_others(tina: Visitor, desk: Any) -> None:
    booked = desk.confirmed()
    page = opened(tina, booked)
    for given, told in WRONG:
        sent = tina.send(page, **{"match": "yes", **given}, remarks="Kept words", wax_right="y")
        assert sent.errors == [told]
        assert "Kept words" in sent.text
        assert sent.form()["wax_right"] == ["y"]
    assert item_of(desk, booked).stage is Stage.AWAITED
    assert found(desk, booked) is None


def test_a_pair_of_a_request_is_not_checked_in(tina: Visitor, desk: Any) -> None:
    booked = desk.asked()
    page = tina.get(f"/shop/pairs/{booked.item_id}/check-in", status=409)
    assert f"/shop/bookings/{booked.id}" in page.links
    assert item_of(desk, booked).stage is Stage.AWAITED


def test_what_was_found_is_not_lost_to_someone_who_was_faster(tina: Visitor, desk: Any, cast: Cast) -> None:
    from portal.services import grinds

    booked = desk.confirmed()
    page = opened(tina, booked)
    desk.do(grinds.check_in, cast.mia, booked.item_id)
    sent = tina.send(
        page, match="yes", base_tip="1100", burn_left="y", burn_words="small", remarks="Mine", status=409
    )
    assert "1100 / – / –" in sent.text
    assert "Left small" in sent.text
    assert "Mine" in sent.text
    assert found(desk, booked).technician == "Mia"


def test_a_check_in_is_corrected_until_the_pair_is_ground(tina: Visitor, desk: Any) -> None:
    booked = desk.confirmed()
    tina.send(opened(tina, booked), match="yes", base_tip="1100", dent_left="y")
    page = tina.get(f"/shop/pairs/{booked.item_id}/check-in/correct")
    assert page.form()["base_tip"] == "1100"
    assert page.form()["dent_left"] == ["y"]
    tina.send(page, base_tip="1010", dent_left=None, scratch_left="y", scratch_right="y")
    row = found(desk, booked)
    assert (row.tip_um, [one["key"] for one in row.conditions]) == (1010, ["scratch"])
    assert desk.read(find_grinds.thinnest_now_um, booked.pair_id) == 1010
    assert "Check-in corrected" in tina.get(f"/shop/bookings/{booked.id}").text
    done = desk.ground()
    tina.get(f"/shop/pairs/{done.item_id}/check-in/correct", status=409)


def test_two_skis_that_differ_lead_to_stopping_the_work(tina: Visitor, desk: Any) -> None:
    booked = desk.confirmed()
    page = tina.send(opened(tina, booked), match="no")
    assert page.h1.startswith("Stop the work on")
    assert "it was noted that the two skis do not belong together" in page.text
    assert item_of(desk, booked).stage is Stage.CHECKED_IN


def test_the_check_in_does_not_exist_for_others(visitor: Visitor, desk: Any, cast: Cast) -> None:
    booked = desk.confirmed()
    for who in (cast.alice, cast.cora):
        visitor.as_(who).get(f"/shop/pairs/{booked.item_id}/check-in", status=404)
