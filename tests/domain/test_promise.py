"""The promise: every offered day is proved by a place for each pair."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from portal.domain.planning.promise import DayRoom, first_possible, offers, place

MONDAY = date(2026, 12, 7)


def room(offset: int, free: int, committed: int = 0) -> DayRoom:
    return DayRoom(MONDAY + timedelta(days=offset), free + committed, committed)


rooms = st.lists(st.tuples(st.integers(0, 120), st.integers(0, 60)), max_size=12).map(
    lambda pairs: [room(offset, free, committed) for offset, (free, committed) in enumerate(pairs)]
)
jobs = st.lists(st.integers(1, 60), min_size=1, max_size=10)


@given(jobs, rooms)
def test_what_is_placed_fits_into_every_day(minutes: list[int], days: list[DayRoom]) -> None:
    places = place(minutes, days)
    if places is None:
        return
    spent: Counter[date] = Counter()
    for spent_minutes, day in zip(minutes, places, strict=True):
        spent[day] += spent_minutes
    free = {one.day: one.minutes_free for one in days}
    assert all(spent[day] <= free[day] for day in spent)


@given(jobs, rooms, st.integers(0, 5))
def test_an_offered_day_has_all_its_places_after_hand_in_and_by_that_day(
    minutes: list[int], days: list[DayRoom], wait: int
) -> None:
    hand_in = MONDAY + timedelta(days=wait)
    made = offers(minutes, days, hand_in)
    assert [offer.day for offer in made] == [one.day for one in days if one.day > hand_in]
    for offer in made:
        assert (offer.places is None) == (offer.why_not is not None)
        if offer.places is not None:
            assert len(offer.places) == len(minutes)
            assert all(hand_in < day <= offer.day for day in offer.places)


@given(st.integers(1, 60), rooms)
def test_one_pair_is_offered_from_the_first_day_with_room_for_it(minutes: int, days: list[DayRoom]) -> None:
    made = offers([minutes], days, MONDAY - timedelta(days=1))
    expected = next((one.day for one in days if one.minutes_free >= minutes), None)
    assert first_possible(made) == expected
    assert all(offer.is_possible for offer in made if expected and offer.day >= expected)


def test_equal_places_go_to_the_latest_day_so_that_near_days_stay_open() -> None:
    assert place([20, 20], [room(0, 60), room(1, 60), room(2, 30)]) == (room(2, 0).day, room(1, 0).day)


def test_a_day_says_why_it_is_not_offered() -> None:
    full, short, wide = room(1, 0, 240), room(2, 30), room(3, 60)
    first, second, third = offers([40, 40], [full, short, wide], MONDAY)
    assert str(first.why_not) == "The stone is full on this day"
    assert str(second.why_not) == "The stone is full on this day"
    assert str(third.why_not) == "Not enough time on the stone up to this day"
