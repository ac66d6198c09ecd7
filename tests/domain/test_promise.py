"""The promise: every offered day is proved by a place for each step, and small cases are tried in full."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from itertools import combinations_with_replacement, product

from hypothesis import given, settings
from hypothesis import strategies as st

from portal.domain.planning.promise import (
    DayRoom,
    Dressing,
    Place,
    Places,
    first_possible,
    offers,
    places,
    places_up_to,
)
from portal.domain.planning.put_in import minutes_left
from portal.domain.planning.routes import Step, Work

MONDAY = date(2026, 12, 7)
NONE = Dressing(0, 25)


def room(offset: int, minutes: int, dressing: Dressing = NONE, **held: tuple[int, int]) -> DayRoom:
    """A day of one grinder; ``held`` are pairs and their run minutes by layer."""
    return DayRoom(
        MONDAY + timedelta(days=offset),
        (minutes,),
        dressing,
        {(0, layer): pairs for layer, (pairs, _spent) in held.items()},
        {(0, layer): spent for layer, (_pairs, spent) in held.items()},
    )


def work(*steps: tuple[str, int]) -> Work:
    return tuple(Step(layer, minutes) for layer, minutes in steps)


def of_day(at: int) -> date:
    return MONDAY + timedelta(days=at)


dressings = st.builds(Dressing, st.integers(0, 15), st.integers(1, 4))
works = st.lists(
    st.sampled_from(
        [
            work(("a", 5)),
            work(("b", 9)),
            work(("a", 5), ("c", 7)),
            work(("a", 6), ("d", 4)),
            work(("flat", 3), ("a", 5), ("c", 7)),
        ]
    ),
    min_size=1,
    max_size=12,
)
held = st.dictionaries(st.sampled_from("abx"), st.tuples(st.integers(1, 3), st.integers(1, 20)), max_size=2)


@st.composite
def days(draw: st.DrawFn, most: int = 6) -> list[DayRoom]:
    dressing, found = draw(dressings), []
    for at in range(draw(st.integers(0, most))):
        empty = room(at, 0, dressing, **draw(held))
        found.append(
            DayRoom(
                empty.day,
                (empty.committed(0) + draw(st.integers(0, 90)),),
                dressing,
                empty.pairs,
                empty.spent,
            )
        )
    return found


def filled(rooms: Sequence[DayRoom], asked: Sequence[Work], where: Places) -> list[DayRoom]:
    """The days with the steps on them, counted one by one."""
    pairs = {one.day: Counter(one.pairs) for one in rooms}
    spent = {one.day: Counter(one.spent) for one in rooms}
    for steps, stands in zip(asked, where, strict=True):
        for step, place in zip(steps, stands, strict=True):
            pairs[place.day][place.grinder, step.layer] += 1
            spent[place.day][place.grinder, step.layer] += step.minutes
    return [DayRoom(one.day, one.minutes, one.dressing, pairs[one.day], spent[one.day]) for one in rooms]


def fits(rooms: Sequence[DayRoom]) -> bool:
    return all(one.free(grinder) >= 0 for one in rooms for grinder in range(one.grinders))


@given(works, days())
def test_what_has_a_place_fits_each_day_with_its_dressings_and_keeps_the_order_of_steps(
    asked: list[Work], rooms: list[DayRoom]
) -> None:
    found = places(asked, rooms)
    if found is None:
        return
    assert fits(filled(rooms, asked, found))
    assert [len(one) for one in found] == [len(one) for one in asked]
    for one in found:
        assert [place.day for place in one] == sorted(place.day for place in one)


@given(works, days(), st.integers(0, 5))
def test_an_offered_day_is_kept_by_places_after_hand_in_and_up_to_it(
    asked: list[Work], rooms: list[DayRoom], wait: int
) -> None:
    hand_in = of_day(wait)
    made = offers(asked, rooms, hand_in)
    assert [offer.day for offer in made] == [one.day for one in rooms if one.day > hand_in]
    for offer in made:
        found = places_up_to(asked, rooms, hand_in, offer.day)
        assert found is not None or not offer.is_possible
        if len(asked) == 1:
            assert (found is not None) is offer.is_possible
        if found is not None:
            assert all(hand_in < place.day <= offer.day for one in found for place in one)
            assert fits(filled(rooms, asked, found))


@settings(max_examples=60)
@given(works.map(lambda some: some[:1]), days(4))
def test_one_pair_goes_where_it_needs_the_fewest_dressings_and_then_to_the_latest_day(
    asked: list[Work], rooms: list[DayRoom]
) -> None:
    """Against every way there is to put one pair on the days."""

    def ways() -> Iterator[Places]:
        for some in combinations_with_replacement(range(len(rooms)), len(asked[0])):
            yield (tuple(Place(of_day(at)) for at in some),)

    def more(after: Sequence[DayRoom]) -> int:
        return sum(
            one.dressing.minutes * (one.dressing.needed(pairs) - one.dressing.needed(was.pairs.get(key, 0)))
            for one, was in zip(after, rooms, strict=True)
            for key, pairs in one.pairs.items()
        )

    possible = [(way, after) for way in ways() if fits(after := filled(rooms, asked, way))]
    found = places(asked, rooms)
    assert (found is not None) is bool(possible)
    if found is not None:
        least = min(more(after) for _way, after in possible)
        assert more(filled(rooms, asked, found)) == least
        latest = max(way[0][-1].day for way, after in possible if more(after) == least)
        assert found[0][-1].day == latest
        at_once = tuple(Place(latest) for _ in asked[0])
        if any(way[0] == at_once and more(after) == least for way, after in possible):
            assert found[0] == at_once, "in one go where that is as cheap"


@given(st.integers(1, 60), st.lists(st.integers(0, 120), max_size=12))
def test_one_pair_is_offered_from_the_first_day_with_room_for_it(minutes: int, free: list[int]) -> None:
    rooms = [room(at, each) for at, each in enumerate(free)]
    made = offers([work(("a", minutes))], rooms, MONDAY - timedelta(days=1))
    expected = next((one.day for one in rooms if one.minutes_free >= minutes), None)
    assert first_possible(made) == expected
    assert all(offer.is_possible for offer in made if expected and offer.day >= expected)


def test_equal_places_go_to_the_latest_day_so_that_near_days_stay_open() -> None:
    found = places([work(("a", 20))] * 2, [room(0, 60), room(1, 60), room(2, 30)])
    assert found == ((Place(of_day(1)),), (Place(of_day(1)),)), "both at once, on the latest that holds both"


def test_a_pair_joins_the_dressing_that_is_there_already() -> None:
    dressing = Dressing(12, 25)
    rooms = [room(0, 60, dressing, a=(2, 10)), room(1, 60, dressing), room(2, 60, dressing)]
    assert places([work(("a", 5))], rooms) == ((Place(of_day(0)),),)
    assert places([work(("b", 5))], rooms) == ((Place(of_day(2)),),)


def test_a_used_up_dressing_is_paid_for_again() -> None:
    dressing = Dressing(10, 4)
    full = room(0, 40, dressing, a=(4, 20))
    assert full.minutes_free == 10, "four pairs of 5 min and one dressing"
    assert places([work(("a", 1))], [full]) is None, "a fifth pair needs a second dressing"
    assert places([work(("a", 0))], [full]) is not None


def test_first_layers_that_are_alike_share_a_dressing() -> None:
    dressing = Dressing(12, 25)
    rooms = [room(0, 12 + 10 + 2 * 17, dressing)]
    alike = [work(("first", 5), ("second a", 5)), work(("first", 5), ("second b", 5))]
    apart = [work(("first", 5), ("second a", 5)), work(("other", 5), ("second b", 5))]
    assert places(alike, rooms) is not None
    assert places(apart, rooms) is None


def test_steps_of_a_pair_may_stand_on_two_days() -> None:
    dressing = Dressing(12, 25)
    rooms = [room(0, 17, dressing), room(1, 17, dressing)]
    found = places([work(("first", 5), ("second", 5))], rooms)
    assert found == ((Place(of_day(0)), Place(of_day(1))),)


def test_two_grinders_have_a_day_each_and_one_dressing_each() -> None:
    dressing = Dressing(10, 25)
    two = DayRoom(MONDAY, (20, 20), dressing)
    asked = [work(("a", 10)), work(("b", 10))]
    found = places(asked, [two])
    assert found is not None
    assert {one[0].grinder for one in found} == {0, 1}
    assert places(asked, [DayRoom(MONDAY, (20,), dressing)]) is None
    assert places([work(("a", 11))], [two]) is None, "the minutes of two grinders do not add up for one pair"


def test_each_grinder_has_minutes_of_its_own() -> None:
    dressing = Dressing(10, 25)
    uneven = DayRoom(MONDAY, (20, 40), dressing)
    found = places([work(("a", 10), ("b", 10)), work(("a", 10))], [uneven])
    assert found == ((Place(MONDAY, 1), Place(MONDAY, 1)), (Place(MONDAY, 0),))
    assert uneven.minutes_available == 60
    assert minutes_left(filled([uneven], [work(("a", 15))], ((Place(MONDAY, 2),),))[0]) == (20, 40, -25)


def test_pairs_that_do_not_fit_a_day_together_are_put_apart() -> None:
    rooms = [room(at, 45) for at in range(3)]
    found = places([work(("a", 20))] * 6, rooms)
    assert found is not None
    assert Counter(one[0].day for one in found) == {of_day(at): 2 for at in range(3)}


def test_a_day_says_why_it_is_not_offered() -> None:
    full, short, wide = room(1, 240, x=(1, 240)), room(2, 60, x=(1, 30)), room(3, 60)
    first, second, third = offers([work(("a", 40))] * 2, [full, short, wide], MONDAY)
    assert str(first.why_not) == "The stone is full on this day"
    assert str(second.why_not) == "The stone is full on this day"
    assert str(third.why_not) == "Too much work for the days up to this one"
    busy = room(3, 90, x=(1, 30))
    assert str(offers([work(("a", 40))] * 2, [full, short, busy], MONDAY)[2].why_not) == (
        "Not enough time on the stone up to this day"
    )


def test_a_day_that_was_reckoned_with_other_dressings_keeps_them() -> None:
    old, new = room(0, 30, Dressing(0, 25)), room(1, 30, Dressing(12, 25))
    assert places([work(("a", 20))], [new]) is None
    assert places([work(("a", 20))], [old, new]) == ((Place(of_day(0)),),)


def test_every_small_booking_of_two_pairs_that_fits_at_all_is_nearly_always_found() -> None:
    """The promise never says yes wrongly; how often it says no where all ways together would have one is counted."""
    refused = tried = 0
    dressing = Dressing(6, 2)
    kinds = [work(("a", 4)), work(("a", 4), ("b", 3)), work(("c", 8))]
    for first, second, *minutes in product(kinds, kinds, (8, 12, 17), (10, 14, 21), (9, 18)):
        rooms = [room(at, each, dressing) for at, each in enumerate(minutes)]
        ways = [list(combinations_with_replacement(range(3), len(steps))) for steps in (first, second)]
        possible = any(
            fits(
                filled(
                    rooms,
                    [first, second],
                    tuple(tuple(Place(of_day(at)) for at in some) for some in both),
                )
            )
            for both in product(*ways)
        )
        found = places([first, second], rooms)
        assert possible or found is None
        tried += possible
        refused += possible and found is None
    assert tried > 100
    assert refused <= tried // 20
