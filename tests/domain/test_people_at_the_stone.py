"""The yardsticks of the stone planner: random workshops, and people who plan by rule, on cases to be checked by hand."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date, timedelta
from itertools import pairwise

import pytest

from portal.domain.planning.checker import Outcome, replay
from portal.domain.planning.problem import (
    Day,
    Dressed,
    Grinder,
    Lot,
    Order,
    Problem,
    StoneLayer,
    insist_it_can_be,
)
from tests.bench.people import (
    PEOPLE,
    Person,
    by_structure,
    by_structure_with_all_that_wait,
    first_come_first_served,
    with_shared_layers,
)
from tests.bench.workshops import FLAT, LIFE_PAIRS, SIZES, structure_of, workshop

FIRST = date(2026, 12, 7)
EVERYBODY = list(PEOPLE.values())


def shop(
    minutes: Sequence[int],
    layers: str,
    orders: Sequence[tuple[int, str, int, int]],
    dressed: Dressed | None = None,
) -> Problem:
    """``layers`` such as "base 12/4/25, x 10/3/25"; ``orders`` are pairs, layers, number of the day of arrival and due."""
    return Problem(
        tuple(Day(FIRST + timedelta(days=number), many) for number, many in enumerate(minutes)),
        (Grinder("stone", dressed),),
        tuple(
            StoneLayer(name, *(int(part) for part in numbers.split("/")))
            for name, numbers in (one.split() for one in layers.split(","))
        ),
        tuple(
            Order(
                f"o{at}",
                FIRST + timedelta(days=arrives),
                FIRST + timedelta(days=due),
                (Lot(f"o{at}", pairs, tuple(route.split())),),
            )
            for at, (pairs, route, arrives, due) in enumerate(orders)
        ),
    )


def done_by(person: Person, problem: Problem) -> Outcome:
    insist_it_can_be(problem)
    outcome = replay(problem, person(problem))
    assert outcome.faults == ()
    return outcome


def dressings(problem: Problem) -> list[int]:
    """Of the four people, in the order of ``PEOPLE``, with all the work done."""
    outcomes = [done_by(person, problem) for person in EVERYBODY]
    assert [outcome.unfinished for outcome in outcomes] == [()] * 4
    return [outcome.dressings for outcome in outcomes]


# --- people, by hand -------------------------------------------------------------------------------------------------


def test_only_the_one_who_shares_layers_dresses_a_common_base_once() -> None:
    # By structure: 12 + 10 + 12 + 8 = 42 minutes; with the base shared 12 + 10 + 8 = 30.
    problem = shop([120], "base 12/4/25, x 10/3/25, y 8/3/25", [(3, "base x", 0, 0), (3, "base y", 0, 0)])
    assert dressings(problem) == [4, 4, 4, 3]
    assert done_by(by_structure, problem).dressing_minutes == 42
    assert done_by(with_shared_layers, problem).dressing_minutes == 30


def test_everybody_goes_on_with_the_dressing_of_the_evening_before() -> None:
    # 10 + 6 * 5 = 40 fills the first day; the other four pairs need no dressing on the second.
    assert dressings(shop([40, 40], "l 10/5/25", [(10, "l", 0, 1)])) == [1, 1, 1, 1]


def test_everybody_uses_the_stone_as_it_is_before_the_first_day() -> None:
    # The stone serves three more pairs; the fourth needs a dressing.
    problem = shop([60], "l 10/5/25", [(4, "l", 0, 0)], Dressed("l", 3))
    assert dressings(problem) == [1, 1, 1, 1]
    assert dressings(shop([60], "l 10/5/25", [(3, "l", 0, 0)], Dressed("l", 3))) == [0, 0, 0, 0]


def test_everybody_dresses_a_worn_stone_again() -> None:
    # 12 pairs and a life of 5: three dressings.
    orders = [(4, "l", 0, 0)] * 3
    assert dressings(shop([200], "l 10/4/5", orders)) == [3, 3, 3, 3]


def test_all_that_wait_come_along_only_with_the_one_who_takes_them() -> None:
    # 15 + 3 * 4 = 27 minutes for three pairs: x and y fill the first day of 54, and the x that is due later is a third
    # dressing on the next day. Who takes it along has six x on the first day, 39 minutes, and y on the second.
    orders = [(3, "x", 0, 0), (3, "y", 0, 1), (3, "x", 0, 2)]
    assert dressings(shop([54, 54, 54], "x 15/4/25, y 15/4/25", orders)) == [3, 3, 2, 3]


def test_waiting_pairs_get_the_shared_base_when_it_costs_no_new_dressing() -> None:
    # On the first day 10 + 2 * 2 and 20 + 2 * 2 minutes leave 12 of 50: too few for y, but enough for its base.
    orders = [(2, "base x", 0, 0), (2, "base y", 0, 2)]
    problem = shop([50, 50, 50], "base 10/2/25, x 20/2/25, y 20/2/25", orders)
    assert dressings(problem) == [4, 4, 4, 3]
    first_day = [run for run in with_shared_layers(problem) if run.day == FIRST]
    assert [(run.layer, run.pairs) for run in first_day] == [("base", 4), ("x", 2)]


def test_pairs_that_wait_for_the_layer_on_the_stone_are_first_in_the_morning() -> None:
    # y is on the stone in the evening of the first day. In the morning the two pairs that are new get it first, and then
    # x is dressed for once; layer by layer it would be x, then y again.
    orders = [(2, "x y", 0, 0), (2, "y", 1, 1), (2, "x", 1, 1)]
    problem = shop([60, 60], "x 10/5/25, y 10/5/25", orders)
    second_day = [run for run in with_shared_layers(problem) if run.day > FIRST]
    assert [(run.layer, run.dressings) for run in second_day] == [("y", 0), ("x", 1)]


def test_flattened_pairs_and_others_of_a_structure_are_cut_together() -> None:
    # Flat for two pairs, then the base and x for all four: three dressings. One booking at a time it is base and x twice.
    orders = [(2, "base x", 0, 0), (2, f"{FLAT} base x", 0, 0)]
    problem = shop([200], f"{FLAT} 10/2/25, base 10/2/25, x 10/2/25", orders)
    assert dressings(problem) == [5, 3, 3, 3]


def test_first_come_first_served_does_not_look_at_the_day_that_is_due() -> None:
    # The first booking is due in three days and fills today; the second, of two pairs, was due today.
    orders = [(6, "x", 0, 3), (2, "y", 0, 0)]
    problem = shop([40, 40, 40, 40], "x 10/5/25, y 10/5/25", orders)
    assert done_by(first_come_first_served, problem).late_pair_days == 2
    for person in (by_structure, by_structure_with_all_that_wait, with_shared_layers):
        assert done_by(person, problem).late_pair_days == 0


def test_first_come_first_served_fills_a_day_with_a_part_of_a_lot() -> None:
    # 10 + 6 * 1 minutes today, and the other three pairs with the same dressing tomorrow.
    problem = shop([16, 3], "x 10/1/25", [(9, "x", 0, 1)])
    assert [run.pairs for run in first_come_first_served(problem)] == [6, 3]


@pytest.mark.parametrize("person", EVERYBODY, ids=list(PEOPLE))
def test_a_pair_for_which_a_day_is_too_short_goes_on_the_next_day(person: Person) -> None:
    # 20 + 5 minutes a layer, and 30 a day.
    outcome = done_by(person, shop([30, 30, 30], "f 20/5/25, g 20/5/25, h 20/5/25", [(1, "f g h", 0, 2)]))
    assert (outcome.dressings, outcome.late_pair_days, outcome.unfinished) == (3, 0, ())


@pytest.mark.parametrize("person", EVERYBODY, ids=list(PEOPLE))
def test_nobody_knows_what_arrives_tomorrow(person: Person) -> None:
    today = [(3, "x", 0, 1), (2, "y", 0, 2)]
    problem = shop([60, 60, 60], "x 10/5/25, y 10/5/25", today)
    more = shop([60, 60, 60], "x 10/5/25, y 10/5/25", [*today, (3, "x", 1, 1)])
    assert person(problem)[:2] == tuple(run for run in person(more) if run.day == FIRST)


# --- people, on random workshops -------------------------------------------------------------------------------------


@pytest.mark.parametrize("pairs", [30, 100])
@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("person", EVERYBODY, ids=list(PEOPLE))
def test_the_checker_lets_everybody_through(person: Person, seed: int, pairs: int) -> None:
    for load in ("normal", "peak"):
        problem = workshop(seed, pairs, load)
        done_by(person, problem)
        # A person who did nothing would be let through as well.
        layers = sum(lot.pairs * len(lot.layers) for _order, lot in problem.lots)
        assert sum(run.pairs for run in person(problem)) >= 0.5 * layers


# --- the workshops ---------------------------------------------------------------------------------------------------


def test_the_same_seed_is_the_same_workshop() -> None:
    assert workshop(7, 100, "peak") == workshop(7, 100, "peak")
    assert workshop(7, 100, "peak") != workshop(8, 100, "peak")
    # Written down once: what is measured on them can be compared later.
    assert [workshop(seed, 100, "normal").days[0].minutes for seed in (1, 2, 3)] == [202, 211, 187]


def test_normal_and_peak_differ_in_the_minutes_alone() -> None:
    normal, peak = workshop(1, 300, "normal"), workshop(1, 300, "peak")
    assert (normal.orders, normal.layers) == (peak.orders, peak.layers)
    assert normal.days[0].minutes > peak.days[0].minutes


@pytest.mark.parametrize("pairs", list(SIZES))
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_workshop_keeps_its_shares(seed: int, pairs: int) -> None:
    problem = workshop(seed, pairs, "normal")
    insist_it_can_be(problem)
    structures, length = SIZES[pairs]
    lots = [lot for _order, lot in problem.lots]
    assert (problem.pairs, len(problem.days)) == (pairs, length)

    flattened = sum(lot.pairs for lot in lots if lot.layers[0] == FLAT)
    assert 0.25 * pairs - 2 < flattened <= 0.25 * pairs

    sizes = [order.pairs for order in problem.orders]
    clubs = [size for size in sizes if size > 3]
    assert all(1 <= size <= 3 or 6 <= size <= 20 for size in sizes)
    assert abs(len(clubs) - 0.25 * len(sizes)) <= 0.5

    numbers = {day.day: number for number, day in enumerate(problem.days)}
    waits = sum(numbers[order.arrives] == 0 for order in problem.orders)
    assert abs(waits - 0.4 * len(sizes)) <= 0.5
    assert all(1 <= numbers[order.due] - numbers[order.arrives] <= 8 for order in problem.orders)
    assert {order.weight for order in problem.orders} == {1, 3}
    for layer in problem.layers:
        assert 6 <= layer.dress_minutes <= 20
        assert 2 <= layer.run_minutes <= 6
        assert LIFE_PAIRS[0] <= layer.life_pairs <= LIFE_PAIRS[1]
        assert layer.dress_minutes + layer.run_minutes <= problem.days[0].minutes

    used = {structure_of(lot) for lot in lots}
    assert len(used) <= structures
    several = [layers for layers in used if len(layers) > 1]
    firsts = Counter(layers[0] for layers in several)
    shared = sum(count for count in firsts.values() if count > 1)
    if len(used) == structures:
        assert Counter(map(len, used))[1] == round(0.15 * structures)
        assert Counter(map(len, used))[3] == round(0.25 * structures)
        assert shared == round(0.7 * len(several))


def test_days_of_a_workshop_are_working_days() -> None:
    days = [day.day for day in workshop(1, 500, "peak").days]
    assert all(day.weekday() < 5 for day in days)
    assert all(1 <= (after - before).days <= 3 for before, after in pairwise(days))


@pytest.mark.parametrize("pairs", [30, 100, 300])
def test_what_came_through_the_promise_is_due_no_sooner_than_asked(pairs: int) -> None:
    asked = {order.name: order for order in workshop(2, pairs, "peak").orders}
    taken = workshop(2, pairs, "peak", through_promise=True).orders
    assert 0.7 * pairs <= sum(order.pairs for order in taken)
    assert all(order.due >= asked[order.name].due for order in taken)
    assert all(order.lots == asked[order.name].lots for order in taken)
