"""Work is stopped at the bench, its owner says how it goes on, or the workshop enters it for them."""

from __future__ import annotations

from typing import Any

import pytest

from portal.domain.arrivals import CheckIn
from portal.domain.base_life import Thickness
from portal.domain.bookings import Stage
from portal.queries import bookings as find_bookings
from portal.queries import stops as find_stops
from portal.services import grinds, stops
from tests.cast import Cast
from tests.page import Visitor

THIN = CheckIn(thickness=Thickness(530, 540, None))


def item_of(desk: Any, booked: Any) -> Any:
    return desk.read(find_bookings.whole, booked.id).items[0]


@pytest.fixture
def thin(desk: Any) -> Any:
    """A pair of Alice's that is stopped, since its base is too thin for the heaviest structure."""
    number = heaviest(desk)
    booked = desk.confirmed(structure=number)
    with desk.database.write.begin() as session:
        from tests import make

        grinds.check_in(session, desk.cast.tina, booked.item_id, make.NOW, THIN)
    assert item_of(desk, booked).stage is Stage.STOPPED
    return booked


def heaviest(desk: Any) -> int:
    from portal.domain.answers import Discipline
    from portal.queries import catalogue as find_structures

    def removals(session: Any) -> list[int]:
        values = [find_structures.value(row) for row in find_structures.all_current(session)]
        return [value.removal_um for value in values if Discipline.SKATE in value.disciplines]

    found = desk.read(removals)
    assert max(found) > 30 >= min(found), "what the base of these tests bears, and does not bear"
    return int(found.index(max(found)))


def lighter(page: Any) -> str:
    return next(
        element.get("value")
        for element in page.all("input")
        if element.get("name") == "way" and (element.get("value") or "").startswith("lighter-")
    )


def test_a_technician_stops_a_pair_with_a_reason(tina: Visitor, desk: Any) -> None:
    booked = desk.checked_in()
    link = f"/shop/pairs/{booked.item_id}/stop"
    assert link in tina.get(f"/shop/pair/{booked.pair_id}").links
    page = tina.get(link)
    assert tina.send(page, listed="", own="").errors == ["Choose a reason from the list, or write your own"]
    page = tina.send(page, listed="delaminated", own="At the tail of the left ski.", may_go_on="y")
    row = desk.read(find_stops.open_of, [booked.item_id])[booked.item_id]
    assert row.reason == "The base has come loose from the ski.\nAt the tail of the left ski."
    assert row.may_go_on
    assert "Stopped, waits for an answer" in page.text
    assert f"/shop/pairs/{booked.item_id}/stopped" in page.links
    day = tina.get("/shop/day").text
    assert "1 pair waits for an answer. Do not grind it." in day
    assert "At the tail of the left ski." in day


def test_a_pair_is_stopped_once_and_the_words_are_not_lost(tina: Visitor, desk: Any, cast: Cast) -> None:
    booked = desk.checked_in()
    page = tina.get(f"/shop/pairs/{booked.item_id}/stop")
    desk.do(stops.stop, cast.mia, booked.item_id, "Mine was first.")
    sent = tina.send(page, listed="", own="Words of Tina", status=409)
    assert "Words of Tina" in sent.text
    awaited = desk.confirmed()
    tina.get(f"/shop/pairs/{awaited.item_id}/stop", status=409)


def test_the_skier_is_led_to_the_answer_and_chooses_lighter_work(
    visitor: Visitor, desk: Any, cast: Cast, thin: Any
) -> None:
    alice = visitor.as_(cast.alice)
    path = f"/my/bookings/{thin.id}/pairs/{thin.item_id}/stopped"
    booking = alice.get(f"/my/bookings/{thin.id}")
    assert path in booking.links
    assert "nothing is done to it until you say how it goes on" in booking.text
    page = alice.get(path)
    assert "The base measures 0.530 mm at its thinnest point" in page.text
    assert "grinds no base below 0.500 mm" in page.text
    assert "0.53 / 0.54 / – mm" in page.text, "what was found stands beside"
    assert alice.send(page).errors == ["Choose how it goes on"]
    assert alice.send(page, way="lighter-999999").errors == ["Choose how it goes on"]
    assert alice.send(page, way="lifted").errors == ["Choose how it goes on"]
    done = alice.send(page, way=lighter(page))
    assert done.h1 == f"Booking {thin.reference}"
    assert "Stopped pair gets lighter work" in done.text
    assert item_of(desk, thin).stage is Stage.CHECKED_IN
    assert alice.get(path).h1 == f"Booking {thin.reference}", "it is decided, so there is nothing to ask"


def test_the_skier_takes_the_pair_back(visitor: Visitor, desk: Any, cast: Cast, thin: Any) -> None:
    alice = visitor.as_(cast.alice)
    path = f"/my/bookings/{thin.id}/pairs/{thin.item_id}/stopped"
    page = alice.send(alice.get(path), way="take_back")
    assert "Not ground, ready to collect" in page.text
    assert "Collect them when it suits you" in page.text
    tina = visitor.as_(cast.tina)
    back = tina.get(f"/shop/bookings/{thin.id}/hand-back")
    assert "not ground" in back.text
    assert "What you told them about care" not in back.text, "nothing was ground"
    assert "All pairs are handed back" in tina.send(back, taken_by="Alice").text


def test_two_people_do_not_answer_at_once(visitor: Visitor, desk: Any, cast: Cast, thin: Any) -> None:
    alice = visitor.as_(cast.alice)
    page = alice.get(f"/my/bookings/{thin.id}/pairs/{thin.item_id}/stopped")
    tina = visitor.as_(cast.tina)
    form = tina.get(f"/shop/pairs/{thin.item_id}/stopped")
    assert "Alice was written to" in form.text
    done = tina.send(form, way="take_back")
    assert done.h1 == f"Booking {thin.reference}"
    assert "Stopped pair is taken back unground" in done.text
    sent = alice.send(page, way=lighter(page))
    assert sent.h1 == f"Booking {thin.reference}"
    assert item_of(desk, thin).stage is Stage.UNGROUND


def test_a_stopped_pair_is_not_recorded(tina: Visitor, desk: Any, thin: Any) -> None:
    page = tina.get(f"/shop/pairs/{thin.item_id}/record", status=409)
    assert "Stopped, waits for an answer" in page.text


def test_strangers_find_nothing_to_answer(visitor: Visitor, desk: Any, cast: Cast, thin: Any) -> None:
    path = f"/my/bookings/{thin.id}/pairs/{thin.item_id}/stopped"
    for stranger in (cast.carl, cast.cora):
        visitor.as_(stranger).get(path, status=404)
        visitor.as_(stranger).get(f"/shop/pairs/{thin.item_id}/stopped", status=404)
        visitor.as_(stranger).get(f"/shop/pairs/{thin.item_id}/stop", status=404)
    other = desk.checked_in()
    visitor.as_(cast.alice).get(f"/my/bookings/{thin.id}/pairs/{other.item_id}/stopped", status=404)


def test_a_club_answers_for_its_pair(visitor: Visitor, desk: Any, cast: Cast, clubhouse_order: Any) -> None:
    order = clubhouse_order(pairs=2)
    desk.do(stops.stop, cast.tina, order.item_id, "The base has come loose from the ski.", may_go_on=True)
    path = f"/club/{cast.club_id}/orders/{order.id}/pairs/{order.item_id}/stopped"
    cora = visitor.as_(cast.cora)
    page = cora.get(f"/club/{cast.club_id}/orders/{order.id}")
    assert path in page.links
    assert "The work on 1 pair is stopped until you say how it goes on" in page.text
    page = cora.get(path)
    assert "The base has come loose from the ski." in page.text
    assert "Grind it as ordered all the same" in page.text
    visitor.as_(cast.dora).get(path, status=404)
    assert "Work on a stopped pair goes on" in cora.send(page, way="as_ordered").text
    assert item_of(desk, order).stage is Stage.CHECKED_IN
