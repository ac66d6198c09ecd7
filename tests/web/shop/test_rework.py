"""Grinding a pair again, as the workshop makes it and answers for it."""

from __future__ import annotations

from typing import Any

from portal.domain.rework import Case
from portal.queries import grinds as find_grinds
from portal.queries import reworks as find_reworks
from portal.services import grinds, reworks
from tests.cast import Cast
from tests.make import NOW, TODAY
from tests.page import Visitor


def back(desk: Any) -> tuple[Any, int]:
    """A booking whose pair is back with Alice, and its grind."""
    booked = desk.ground()
    desk.do(grinds.hand_back, desk.cast.tina, booked.item_id)
    return booked, desk.read(find_grinds.of_pair, booked.pair_id)[0].id


def asked(desk: Any, grind_id: int) -> int:
    with desk.database.write.begin() as session:
        made = reworks.ask(session, desk.cast.alice, grind_id, "It pulls to the left.", TODAY, NOW)
        session.flush()
        return made.id


def test_a_technician_makes_a_rework_from_the_pair(tina: Visitor, desk: Any) -> None:
    booked, grind_id = back(desk)
    path = f"/shop/grinds/{grind_id}/again"
    assert path in tina.get(f"/shop/pair/{booked.pair_id}").links
    assert path in tina.get(f"/shop/bookings/{booked.id}").links
    page = tina.get(path)
    assert "at no charge" in page.text
    made = tina.send(page, listed="uneven", own="Only the left ski.", ready="2026-12-11")
    assert made.h1.startswith("Booking ")
    for words in (
        "Confirmed",
        "Ground again at no charge",
        "€0.00",
        "The structure is uneven. Only the left ski.",
    ):
        assert words in made.text
    # Both ways, and in the pair's history.
    assert booked.reference in made.text
    page = tina.get(f"/shop/bookings/{booked.id}")
    assert path not in page.links
    first = page.text
    assert "is ground again, because: The structure is uneven. Only the left ski." in first
    pair = tina.get(f"/shop/pair/{booked.pair_id}")
    assert "The pair is ground again, because: The structure is uneven." in pair.text
    assert path not in pair.links


def test_the_days_follow_what_is_chosen(tina: Visitor, desk: Any) -> None:
    _booked, grind_id = back(desk)
    page = tina.get(f"/shop/grinds/{grind_id}/again")
    assert 'value="2026-12-08"' in page.html.split('name="ready"', 1)[1]
    page = tina.send(page, hand_in="2026-12-10", look="yes", own="Slow & <b>dull</b>")
    assert not page.errors
    assert 'value="2026-12-10"' not in page.html.split('name="ready"', 1)[1]
    assert "Slow & <b>dull</b>" in page.form()["own"]


def test_what_is_missing_is_said_and_nothing_is_lost(tina: Visitor, desk: Any) -> None:
    _booked, grind_id = back(desk)
    page = tina.send(tina.get(f"/shop/grinds/{grind_id}/again"), structure="999999", saturation="y")
    assert page.errors == [
        "Choose a reason from the list, or write your own",
        "Choose a structure from the list",
        "Choose the day on which it will be ready",
    ]
    assert page.form()["saturation"] == ["y"]


def test_a_pair_that_is_here_needs_no_hand_in_day(tina: Visitor, desk: Any) -> None:
    booked = desk.ground()
    grind_id = desk.read(find_grinds.of_pair, booked.pair_id)[0].id
    page = tina.get(f"/shop/grinds/{grind_id}/again")
    assert "hand_in" not in page.form()
    made = tina.send(page, listed="wrong", ready="2026-12-09")
    assert "At the workshop" in made.text
    day = tina.get("/shop/day")
    assert f"/shop/pairs/{booked.item_id}/hand-back" not in day.html


def test_what_cannot_be_made_good_leads_back(tina: Visitor, desk: Any) -> None:
    booked, grind_id = back(desk)
    with desk.database.write.begin() as session:
        facts = grinds.GrindFacts(
            find_reworks.grind(session, desk.cast.tina, grind_id).grind.structure_id, TODAY, "T"
        )
        grinds.add(session, booked.pair_id, facts, NOW)
    page = tina.get(f"/shop/grinds/{grind_id}/again", status=409)
    assert "ground since" in page.text
    assert f"/shop/pair/{booked.pair_id}" in page.links
    assert tina.raw("GET", "/shop/grinds/99999/again").status_code == 404


def test_what_owners_ask_for_waits_with_the_requests(mia: Visitor, desk: Any) -> None:
    booked, grind_id = back(desk)
    rework_id = asked(desk, grind_id)
    assert "1 grind has something wrong" in mia.get("/shop/requests").text
    page = mia.get("/shop/rework?standing=asked")
    assert "It pulls to the left." in page.text
    assert booked.reference in page.text
    assert "It pulls to the left." in mia.get(f"/shop/grinds/{grind_id}/again").text
    no = mia.send(mia.get(f"/shop/rework/{rework_id}/refuse"))
    assert no.errors == ["Write the reason: the owner reads it"]
    done = mia.send(no, reason="The pattern is as we state it.")
    assert "on its way to the owner" in done.text
    assert "Not ground again" in mia.get("/shop/rework").text
    assert "has something wrong" not in mia.get("/shop/requests").text
    assert "answered already" in mia.get(f"/shop/rework/{rework_id}/refuse", status=409).text
    with desk.database.read() as session:
        assert find_reworks.one(session, rework_id).standing is Case.REFUSED


def test_the_manager_sets_the_span(mia: Visitor, tina: Visitor, desk: Any) -> None:
    assert "within 30 days" in tina.get("/shop/rework").text
    page = mia.get("/shop/rework")
    wrong = mia.send(page, "/shop/rework", days="a month")
    assert wrong.errors == ["Enter a whole number from 0 to 365, or leave it empty"]
    assert mia.send(page, "/shop/rework", days="").errors == ["Enter a number from 0 to 365"]
    assert "within 45 days now" in mia.send(page, "/shop/rework", days="45 days").text
    assert tina.post("/shop/rework", {"days": "9"}, status=403).status == 403


def test_the_list_has_no_fault_with_odd_addresses(mia: Visitor, desk: Any, cast: Cast) -> None:
    assert "No grind had to be made good yet" in mia.get("/shop/rework?standing=lost&page=x").text
    assert "There is none here" in mia.get(f"/shop/rework?page={10**30}").text
