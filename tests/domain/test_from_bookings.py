"""From bookings to a problem for the stone plan and back: reckoned by hand, and chance bookings held to what must be true."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from random import Random
from typing import Any

import pytest

from portal.domain.planning.checker import replay
from portal.domain.planning.from_bookings import (
    FromBookings,
    OpenDay,
    PairToGrind,
    Stone,
    problem_from,
)
from portal.domain.planning.lots import LotOf, PairOf, grinder_name, grinder_number
from portal.domain.planning.plan import plan
from portal.domain.planning.problem import Asked, Dressed, Order, Run, asked_from_json
from portal.domain.planning.promise import Place
from portal.domain.planning.routes import Step, Work
from portal.domain.planning.stored import asked_to_json, plan_from_json
from portal.domain.planning.to_bookings import (
    can_follow,
    places_of,
)

MONDAY = date(2026, 12, 7)
BASE, FINE, OPEN = Step("base", 4), Step("fine", 3), Step("open", 3)


def on(number: int) -> date:
    return MONDAY + timedelta(days=number)


def week(minutes: int = 100, days: int = 5, **given: int) -> list[OpenDay]:
    grinders = given.pop("grinders", 1)
    values = {"dress_minutes": 10, "life_pairs": 25, **given}
    return [OpenDay(on(number), (minutes,) * grinders, **values) for number in range(days)]


def a_pair(item: int, booking: int = 1, work: Work = (BASE, FINE), **given: Any) -> PairToGrind:
    values: dict[str, Any] = {
        "reference": f"B{booking}",
        "places": (),
        "hand_in": MONDAY,
        "due": on(3),
        **given,
    }
    return PairToGrind(item=item, booking=booking, work=work, **values)


def made(pairs: Sequence[PairToGrind], days: Sequence[OpenDay] | None = None, **given: Any) -> FromBookings:
    found = problem_from(week() if days is None else days, pairs, today=MONDAY, **given)
    assert found is not None
    return found


def order(found: FromBookings, name: str) -> Order:
    return next(one for one in found.problem.orders if one.name == name)


# --- to a problem -----------------------------------------------------------------------------------------------------


def test_pairs_of_a_booking_with_equal_work_are_a_lot_and_can_be_ground_from_the_day_after_hand_in() -> None:
    found = made([a_pair(1), a_pair(2), a_pair(3, work=(BASE, OPEN)), a_pair(4, booking=2, weight=3)])
    assert [(one.name, one.arrives, one.due, one.weight) for one in found.problem.orders] == [
        ("B1", on(1), on(3), 1),
        ("B2", on(1), on(3), 3),
    ]
    assert [(lot.name, lot.pairs, lot.layers) for lot in order(found, "B1").lots] == [
        ("B1/1", 2, ("base", "fine")),
        ("B1/2", 1, ("base", "open")),
    ]
    assert [one.item for one in found.lots["B1/1"].pairs] == [1, 2]


def test_a_pair_that_is_here_can_be_ground_today_and_a_late_one_not_before_tomorrow() -> None:
    found = made([a_pair(1, is_here=True), a_pair(2), a_pair(3, booking=2, hand_in=on(-3))])
    # Of the first booking one pair is here and one is not: each can be worked on from its own day on.
    assert [(one.name, one.arrives) for one in found.problem.orders] == [
        ("B1 2026-12-07", MONDAY),
        ("B1 2026-12-08", on(1)),
        ("B2", on(1)),
    ]


def test_a_layer_takes_the_most_minutes_that_a_pair_needs_and_the_dearest_dressing_of_a_day() -> None:
    days = [
        *week(days=2),
        OpenDay(on(2), (50, 30), dress_minutes=14, life_pairs=20),
        OpenDay(on(3), (0,), dress_minutes=99, life_pairs=1),
    ]
    found = made([a_pair(1), a_pair(2, work=(BASE, Step("fine", 8)))], days)
    assert {
        one.name: (one.dress_minutes, one.run_minutes, one.life_pairs) for one in found.problem.layers
    } == {
        "base": (14, 4, 20),
        "fine": (14, 8, 20),
    }
    assert [one.minutes for one in found.problem.days] == [100, 100, 50], "closed days are none"
    assert len(found.problem.grinders) == 2
    assert [one.by_grinder for one in found.problem.days] == [(100, 0), (100, 0), (50, 30)]


def test_the_stone_starts_with_what_it_was_left_with() -> None:
    found = made([a_pair(1)], week(grinders=2), stones=[Stone(1, "fine", 7), Stone(0, "of old", 9)])
    assert [one.dressed for one in found.problem.grinders] == [None, Dressed("fine", 7)]


def test_done_steps_are_not_planned_again() -> None:
    found = made([a_pair(1, steps_done=1, is_here=True), a_pair(2, is_here=True)])
    assert [(lot.layers, lot.pairs) for lot in order(found, "B1").lots] == [
        (("fine",), 1),
        (("base", "fine"), 1),
    ]
    assert found.lots["B1/1"].done == 1


def test_nothing_to_grind_or_no_day_makes_no_problem() -> None:
    assert problem_from(week(), [], today=MONDAY) is None
    assert problem_from(week(minutes=0), [a_pair(1)], today=MONDAY) is None
    assert problem_from(week(), [a_pair(1, steps_done=2)], today=MONDAY) is None


def test_a_pair_without_a_long_enough_day_is_left_out_and_named() -> None:
    found = made(
        [a_pair(1), a_pair(2, booking=2, hand_in=on(4)), a_pair(3, booking=3, work=(Step("long", 95),))]
    )
    assert found.left_out == (2, 3)
    assert [one.name for one in found.problem.orders] == ["B1"]


# --- what stays where it is -------------------------------------------------------------------------------------------


def test_todays_sheet_and_pins_are_frozen_and_the_plan_before_is_told() -> None:
    today, later = Place(MONDAY), Place(on(2))
    found = made(
        [
            a_pair(1, places=(today, later), is_known=True, is_here=True),
            a_pair(2, places=(today, later), is_known=False, is_here=True),
            a_pair(3, places=(later, later), is_known=True, is_here=True, pin=Place(on(3))),
        ]
    )
    frozen = {(one.layer, one.day, one.pairs) for one in found.problem.frozen}
    assert frozen == {("base", MONDAY, 1), ("base", on(3), 1), ("fine", on(3), 1)}
    before = {(one.layer, one.day): one.pairs for one in found.problem.before}
    assert before == {("base", MONDAY): 2, ("fine", on(2)): 3, ("base", on(2)): 1}, (
        "wherever the ledger has them"
    )


@pytest.mark.parametrize(
    "pin",
    [Place(MONDAY), Place(on(30)), Place(on(2), 1)],
    ids=["before it is there", "not a day", "no such grinder"],
)
def test_a_pin_that_cannot_be_kept_is_named(pin: Place) -> None:
    found = made([a_pair(1, pin=pin)])
    assert (found.loose, found.problem.frozen) == ((1,), ())


def test_no_more_is_frozen_than_a_day_has_minutes_for() -> None:
    # A dressing of 10 and 4 + 3 minutes a pair, two layers: 20 + 7 n <= 45 holds for three pairs and not for four.
    pins = [a_pair(item, pin=Place(on(2))) for item in range(1, 6)]
    found = made(pins, week(minutes=45))
    assert found.loose == (4, 5)
    assert {one.pairs for one in found.problem.frozen} == {3}


# --- back again -------------------------------------------------------------------------------------------------------


def run(day: int, layer: str, lot: str, pairs: int, grinder: int = 0, dressings: int = 1) -> Run:
    return Run(on(day), grinder_name(grinder), layer, dressings, ((lot, pairs),))


def test_a_pair_keeps_its_place_where_its_lot_still_has_one() -> None:
    pairs = [
        a_pair(1, places=(Place(on(1)), Place(on(1))), is_known=True),
        a_pair(2, places=(Place(on(2)), Place(on(2))), is_known=True),
        a_pair(3),
    ]
    found = made(pairs)
    runs = [
        run(1, "base", "B1/1", 2),
        run(1, "fine", "B1/1", 1),
        run(2, "base", "B1/1", 1),
        run(2, "fine", "B1/1", 2),
    ]
    placed = places_of(found.problem, runs, found.lots)
    assert placed[1] == (Place(on(1)), Place(on(1)))
    assert placed[2] == (Place(on(2)), Place(on(2)))
    assert placed[3] == (Place(on(1)), Place(on(2)))


def test_what_the_plan_has_no_place_for_is_told() -> None:
    found = made([a_pair(1), a_pair(2)])
    placed = places_of(found.problem, [run(1, "base", "B1/1", 2), run(1, "fine", "B1/1", 1)], found.lots)
    assert sorted(placed.values(), key=str) == sorted(
        [(Place(on(1)), Place(on(1))), (Place(on(1)), None)], key=str
    )


def chance_bookings(rng: Random) -> list[PairToGrind]:
    """Up to 30 pairs of up to 8 bookings; some were placed before, some on today's sheet, some pinned."""
    works: list[Work] = [(BASE, FINE), (BASE, OPEN), (FINE,), (Step("flat", 5), BASE, FINE)]
    pairs: list[PairToGrind] = []
    for booking in range(1, rng.randint(2, 9)):
        hand_in, here = on(rng.randint(-2, 3)), rng.random() < 0.5
        for work in rng.choices(works, k=rng.randint(1, 2)):
            for _ in range(rng.randint(1, 4)):
                first = rng.randint(0, 6)
                slots = sorted(rng.randint(first, 6) for _ in work)
                places = tuple(Place(on(slot), slot % 2) for slot in slots)
                pin = Place(on(rng.randint(0, 7)), rng.randint(0, 1)) if rng.random() < 0.15 else None
                pairs.append(
                    a_pair(
                        len(pairs) + 1,
                        booking,
                        work,
                        places=places,
                        hand_in=hand_in,
                        due=on(rng.randint(2, 8)),
                        is_here=here,
                        is_known=rng.random() < 0.6,
                        pin=pin,
                        weight=rng.choice([1, 1, 3]),
                        steps_done=rng.randint(0, 1) if here and len(work) > 1 else 0,
                    )
                )
    return pairs


@pytest.mark.parametrize("seed", range(25))
def test_each_pair_gets_one_way_through_the_plan_and_what_is_fixed_stays(seed: int) -> None:
    """The runs are those the checker let through, so only the sharing among the pairs is in question."""
    rng = Random(seed)
    pairs = {one.item: one for one in chance_bookings(rng)}
    found = made(list(pairs.values()), week(minutes=90, days=8, grinders=2, life_pairs=6))
    made_plan = plan(found.problem, 0.05, rng, time.monotonic)
    assert not replay(found.problem, made_plan.runs).faults
    placed = places_of(found.problem, made_plan.runs, found.lots)

    assert set(placed) == {one.item for lot in found.lots.values() for one in lot.pairs}
    by_lot: Counter[tuple[str, str, Place | None]] = Counter()
    layers = {lot.name: lot.layers for _order, lot in found.problem.lots}
    for name, lot in found.lots.items():
        for one in lot.pairs:
            places = placed[one.item]
            assert len(places) == len(pairs[one.item].left)
            assert all(want is None or place == want for want, place in zip(one.fixed, places, strict=True))
            known = [place for place in places if place is not None]
            assert places[: len(known)] == tuple(known), "no step after one that has no place"
            assert all(can_follow(first, then) for first, then in pairwise(known))
            by_lot.update(zip([name] * len(places), layers[name], places, strict=True))
    runs: Counter[tuple[str, str, Place | None]] = Counter()
    for one_run in made_plan.runs:
        for lot_name, count in one_run.lots:
            runs[lot_name, one_run.layer, Place(one_run.day, grinder_number(one_run.grinder))] += count
    assert {key: count for key, count in by_lot.items() if key[2] is not None} == dict(runs)


# --- as JSON ------------------------------------------------------------------------------------------------------------


def test_a_problem_a_plan_and_its_lots_come_back_from_json_as_they_were() -> None:
    rng = Random(3)
    found = made(
        chance_bookings(rng),
        week(minutes=90, days=8, grinders=2),
        buffer_days=1,
        stones=[Stone(0, "fine", 3)],
    )
    asked = Asked(replace(found.problem, move_minutes=0.25), 2.5, 7)
    assert asked_from_json(asked_to_json(asked)) == asked
    planned = plan(found.problem, 0.05, rng, time.monotonic)
    assert plan_from_json(planned.to_json()) == planned
    assert {name: LotOf.from_json(lot.to_json()) for name, lot in found.lots.items()} == found.lots
    one = LotOf(1, 1, (PairOf(5, (Place(MONDAY, 1), None), (None, Place(on(1)))),))
    assert LotOf.from_json(one.to_json()) == one
