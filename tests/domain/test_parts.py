"""An order in two parts: what is offered is proved by a place for each step, counted from the places themselves."""

from __future__ import annotations

from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from portal.domain.planning.parts import how_many, offers_for_rest, with_places
from portal.domain.planning.promise import DayRoom, places_up_to
from portal.domain.planning.routes import Work
from tests.domain.test_promise import MONDAY, days, of_day, room, work, works

BEFORE = MONDAY - timedelta(days=1)


def test_as_many_as_fit_and_not_one_more() -> None:
    asked = [work(("a", 10))] * 5
    rooms = [room(0, 25), room(1, 10), room(2, 100)]
    assert [how_many(asked, rooms, BEFORE, of_day(at)) for at in range(3)] == [2, 3, 5]
    assert how_many(asked, rooms, BEFORE, of_day(7)) == 0, "a day on which the stone stands still"


def test_the_rest_is_placed_beside_the_first() -> None:
    one = work(("a", 10))
    rooms = [room(0, 20), room(1, 10), room(2, 10)]
    made = offers_for_rest([one, one], [one], rooms, BEFORE, of_day(0))
    assert made is not None
    assert [(offer.day, offer.is_possible) for offer in made] == [(of_day(1), True), (of_day(2), True)]
    made = offers_for_rest([one, one], [one, one], rooms, BEFORE, of_day(0))
    assert made is not None
    assert [offer.is_possible for offer in made] == [False, True]
    assert offers_for_rest([one] * 3, [one], rooms, BEFORE, of_day(0)) is None


@given(works, works, days(), st.integers(0, 5))
@settings(max_examples=150, deadline=None)
def test_both_parts_have_their_places_within_the_minutes_of_the_days(
    first: list[Work], rest: list[Work], rooms: list[DayRoom], at: int
) -> None:
    ready = of_day(at)
    made = offers_for_rest(first, rest, rooms, BEFORE, ready)
    early = places_up_to(first, rooms, BEFORE, ready)
    assert (made is None) == (early is None)
    if made is None or early is None:
        return
    assert all(place.day <= ready for where in early for place in where)
    beside = with_places(rooms, first, early)
    for offer in made:
        late = places_up_to(rest, beside, BEFORE, offer.day) if offer.is_possible else None
        assert (late is not None) == offer.is_possible
        if late is not None:
            together = with_places(beside, rest, late)
            assert all(day.free(grinder) >= 0 for day in together for grinder in range(day.grinders))
            steps = sum(len(one) for one in [*first, *rest])
            before = sum(sum(day.pairs.values()) for day in rooms)
            assert sum(sum(day.pairs.values()) for day in together) == before + steps
