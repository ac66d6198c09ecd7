"""What a stone plan is made for: days with grinder minutes, layers to dress for, orders to be ready in time."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from graphlib import CycleError, TopologicalSorter
from typing import Any

from portal.domain.checked import BadValue, Place, number, one_of, rows, table, text, whole, yes_or_no

MINUTES = (0, 24 * 60)
LIFE_PAIRS = (1, 100_000)
PAIRS = (1, 10_000)
WEIGHT = (0, 1000)
BUFFER_DAYS = (0, 60)
MOVE_MINUTES = (0.0, 1000.0)
SECONDS = (0.0, 3600.0)
SEED = (0, 2**31 - 1)
# An order that is not finished within the days of the list counts as finished so many days after the last one.
AFTER_THE_END = 3


@dataclass(frozen=True)
class StoneLayer:
    """What the stone is dressed for: minutes of a dressing with its test cut, minutes a pair, pairs that one dressing serves."""

    name: str
    dress_minutes: int
    run_minutes: int
    life_pairs: int


@dataclass(frozen=True)
class Lot:
    """Pairs of one order with the same layers, in the order in which they are cut; it may be split.

    ``minutes`` are the run minutes of a pair on each of its layers, where they are not those of the layer.
    """

    name: str
    pairs: int
    layers: tuple[str, ...]
    minutes: tuple[int, ...] = ()


@dataclass(frozen=True)
class Order:
    """What is promised together. It can be worked on from the day it ``arrives`` and is ``due`` with its last pair."""

    name: str
    arrives: date
    due: date
    lots: tuple[Lot, ...]
    weight: int = 1

    @property
    def pairs(self) -> int:
        return sum(lot.pairs for lot in self.lots)


@dataclass(frozen=True)
class Day:
    """A working day and the minutes of each grinder on it.

    Where they differ ``by_grinder`` has them in the order of the grinders, and ``minutes`` are those of the one with most.
    """

    day: date
    minutes: int
    by_grinder: tuple[int, ...] = ()

    @classmethod
    def of_each(cls, day: date, minutes: Sequence[int]) -> Day:
        """The day with the minutes of its grinders, one by one."""
        return cls(day, max(minutes), () if len(set(minutes)) == 1 else tuple(minutes))

    def of(self, grinder: int) -> int:
        """The minutes of a grinder, numbered from 0."""
        return self.by_grinder[grinder] if self.by_grinder else self.minutes


@dataclass(frozen=True)
class Dressed:
    """What a stone is dressed for before the first day, and how many pairs that still serves."""

    layer: str
    left: int


@dataclass(frozen=True)
class Grinder:
    """A machine with one stone."""

    name: str
    dressed: Dressed | None = None


@dataclass(frozen=True)
class Frozen:
    """Where work stands: pairs of a lot that get a layer on this day and grinder."""

    lot: str
    layer: str
    day: date
    grinder: str
    pairs: int


@dataclass(frozen=True)
class Problem:
    """All of it. ``buffer_days`` before its due day is when an order should be ready; being late weighs more.

    ``before`` is where work stands in the plan that people already work from; parts of it may be missing. Each pair and
    layer of it that stands on another day or grinder now costs ``move_minutes``, as if they were dressing minutes.

    With ``whole_days`` each day has the minutes of its work even if no stone keeps its dressing overnight; dressings that
    are kept are still saved.
    """

    days: tuple[Day, ...]
    grinders: tuple[Grinder, ...]
    layers: tuple[StoneLayer, ...]
    orders: tuple[Order, ...]
    frozen: tuple[Frozen, ...] = ()
    buffer_days: int = 0
    before: tuple[Frozen, ...] = ()
    move_minutes: float = 0.5
    whole_days: bool = False

    @property
    def pairs(self) -> int:
        return sum(order.pairs for order in self.orders)

    @property
    def lots(self) -> tuple[tuple[Order, Lot], ...]:
        return tuple((order, lot) for order in self.orders for lot in order.lots)

    @cached_property
    def run_minutes(self) -> Mapping[tuple[str, str], int]:
        """Run minutes of a pair by (lot, layer)."""
        of_layer = {layer.name: layer.run_minutes for layer in self.layers}
        return {
            (lot.name, name): minutes
            for _order, lot in self.lots
            for name, minutes in zip(
                lot.layers, lot.minutes or [of_layer[name] for name in lot.layers], strict=True
            )
        }

    def minutes_of(self, run: Run) -> int:
        """Run minutes of the pairs of a run, its dressings apart; ``KeyError`` for a lot that does not need its layer."""
        return sum(pairs * self.run_minutes[lot, run.layer] for lot, pairs in run.lots)


@dataclass(frozen=True)
class Run:
    """One go at the stone: ``dressings`` for ``layer`` (0 goes on with what the stone has), then pairs of ``lots``."""

    day: date
    grinder: str
    layer: str
    dressings: int
    lots: tuple[tuple[str, int], ...]

    @property
    def pairs(self) -> int:
        return sum(pairs for _lot, pairs in self.lots)


@dataclass(frozen=True)
class Late:
    """An order that gets ready after its due day, by so many working days."""

    order: str
    days: int


@dataclass(frozen=True)
class Bound:
    """What no plan can be below; minutes given that no order is later than in this plan.

    ``by_day`` are dressing minutes of plans that keep no dressing overnight; those of all plans at least.
    ``with_moves`` are dressing minutes plus what is charged for moved work, where there is a plan that people work from.
    """

    late_pair_days: int
    dressing_minutes: int
    by_day: int
    with_moves: float | None = None

    def to_json(self) -> dict[str, Any]:
        known: dict[str, Any] = {
            "late_pair_days": self.late_pair_days,
            "dressing_minutes": self.dressing_minutes,
        }
        if self.by_day > self.dressing_minutes:
            known["by_day"] = self.by_day
        if self.with_moves is not None:
            known["with_moves"] = self.with_moves
        return known


@dataclass(frozen=True)
class Plan:
    """Runs in the order of work, and what they add up to.

    ``late_pair_days`` are weight times pairs of the order times days late. ``proved`` says that no plan is better, however
    lots are split. ``moved`` counts pairs and layers that stand on another day or grinder
    than in the plan that people work from; None where there is none.
    """

    runs: tuple[Run, ...]
    late: tuple[Late, ...]
    dressings: int
    dressing_minutes: int
    late_pair_days: int
    bound: Bound
    proved: bool
    moved: int | None = None

    @property
    def work(self) -> tuple[Frozen, ...]:
        """Where its work stands, as the ``before`` of the next problem."""
        return tuple(
            Frozen(lot, run.layer, run.day, run.grinder, pairs)
            for run in self.runs
            for lot, pairs in run.lots
        )

    def to_json(self) -> dict[str, Any]:
        made: dict[str, Any] = {
            "runs": [
                {
                    "date": run.day.isoformat(),
                    "grinder": run.grinder,
                    "layer": run.layer,
                    "dressings": run.dressings,
                    "lots": [{"lot": lot, "pairs": pairs} for lot, pairs in run.lots],
                }
                for run in self.runs
            ],
            "late": [{"order": one.order, "days": one.days} for one in self.late],
            "dressings": self.dressings,
            "dressing_minutes": self.dressing_minutes,
            "late_pair_days": self.late_pair_days,
            "bound": self.bound.to_json(),
            "proved": self.proved,
        }
        return made if self.moved is None else made | {"moved": self.moved}


@dataclass(frozen=True)
class Asked:
    """A problem with how long to think about it, in seconds, and the seed of the chance in the search."""

    problem: Problem
    seconds: float = 5.0
    seed: int = 1


def asked_from_json(data: object) -> Asked:
    """Read what ``rillbook plan`` is given; ``BadValue`` for what cannot be, by name and place."""
    given = table(
        data,
        (),
        ("days", "grinders", "layers", "orders"),
        ("frozen", "before", "move_minutes", "buffer_days", "whole_days", "seconds", "seed"),
    )
    problem = Problem(
        days=tuple(_day(one, ("days", at)) for at, one in enumerate(rows(given["days"], ("days",)))),
        grinders=tuple(
            _grinder(one, ("grinders", at)) for at, one in enumerate(rows(given["grinders"], ("grinders",)))
        ),
        layers=tuple(
            _layer(one, ("layers", at)) for at, one in enumerate(rows(given["layers"], ("layers",)))
        ),
        orders=tuple(
            _order(one, ("orders", at)) for at, one in enumerate(rows(given["orders"], ("orders",)))
        ),
        frozen=tuple(_frozen(one, ("frozen", at)) for at, one in enumerate(_maybe_rows(given, "frozen"))),
        buffer_days=whole(given.get("buffer_days", 0), ("buffer_days",), *BUFFER_DAYS),
        before=tuple(_frozen(one, ("before", at)) for at, one in enumerate(_maybe_rows(given, "before"))),
        move_minutes=number(given.get("move_minutes", 0.5), ("move_minutes",), *MOVE_MINUTES),
        whole_days=yes_or_no(given.get("whole_days", False), ("whole_days",)),
    )
    insist_it_can_be(problem)
    return Asked(
        problem,
        number(given.get("seconds", 5.0), ("seconds",), *SECONDS),
        whole(given.get("seed", 1), ("seed",), *SEED),
    )


def _maybe_rows(given: Mapping[str, Any], name: str) -> list[Any]:
    data = given.get(name, [])
    if not isinstance(data, list):
        raise BadValue((name,), "a list is needed")
    return data


def _date(data: object, place: Place) -> date:
    try:
        return date.fromisoformat(text(data, place))
    except ValueError as fault:
        if isinstance(fault, BadValue):
            raise
        raise BadValue(place, "a day such as 2026-12-07 is needed") from None


def _day(data: object, place: Place) -> Day:
    given = table(data, place, ("date", "minutes"))
    day, there = _date(given["date"], (*place, "date")), (*place, "minutes")
    if not isinstance(given["minutes"], list):
        return Day(day, whole(given["minutes"], there, *MINUTES))
    each = rows(given["minutes"], there)
    return Day.of_each(day, [whole(one, (*there, at), *MINUTES) for at, one in enumerate(each)])


def _grinder(data: object, place: Place) -> Grinder:
    given = table(data, place, ("name",), ("dressed",))
    dressed = given.get("dressed")
    if dressed is None:
        return Grinder(text(given["name"], (*place, "name")))
    on = (*place, "dressed")
    stone = table(dressed, on, ("layer", "left"))
    return Grinder(
        text(given["name"], (*place, "name")),
        Dressed(text(stone["layer"], (*on, "layer")), whole(stone["left"], (*on, "left"), 0, LIFE_PAIRS[1])),
    )


def _layer(data: object, place: Place) -> StoneLayer:
    given = table(data, place, ("name", "dress_minutes", "run_minutes", "life_pairs"))
    return StoneLayer(
        text(given["name"], (*place, "name")),
        whole(given["dress_minutes"], (*place, "dress_minutes"), *MINUTES),
        whole(given["run_minutes"], (*place, "run_minutes"), *MINUTES),
        whole(given["life_pairs"], (*place, "life_pairs"), *LIFE_PAIRS),
    )


def _order(data: object, place: Place) -> Order:
    given = table(data, place, ("name", "arrives", "due", "lots"), ("weight",))
    return Order(
        name=text(given["name"], (*place, "name")),
        arrives=_date(given["arrives"], (*place, "arrives")),
        due=_date(given["due"], (*place, "due")),
        lots=tuple(
            _lot(one, (*place, "lots", at)) for at, one in enumerate(rows(given["lots"], (*place, "lots")))
        ),
        weight=whole(given.get("weight", 1), (*place, "weight"), *WEIGHT),
    )


def _lot(data: object, place: Place) -> Lot:
    given = table(data, place, ("name", "pairs", "layers"), ("minutes",))
    layers = rows(given["layers"], (*place, "layers"))
    minutes = rows(given["minutes"], (*place, "minutes")) if "minutes" in given else []
    if minutes and len(minutes) != len(layers):
        raise BadValue((*place, "minutes"), "one number for each layer is needed")
    return Lot(
        text(given["name"], (*place, "name")),
        whole(given["pairs"], (*place, "pairs"), *PAIRS),
        tuple(text(one, (*place, "layers", at)) for at, one in enumerate(layers)),
        tuple(whole(one, (*place, "minutes", at), *MINUTES) for at, one in enumerate(minutes)),
    )


def _frozen(data: object, place: Place) -> Frozen:
    given = table(data, place, ("lot", "layer", "date", "grinder", "pairs"))
    return Frozen(
        text(given["lot"], (*place, "lot")),
        text(given["layer"], (*place, "layer")),
        _date(given["date"], (*place, "date")),
        text(given["grinder"], (*place, "grinder")),
        whole(given["pairs"], (*place, "pairs"), *PAIRS),
    )


def insist_it_can_be(problem: Problem) -> None:
    """``BadValue`` for names that are unknown or stand twice, days out of order, layers in a circle, work without a day."""
    _once([grinder.name for grinder in problem.grinders], "grinders")
    _once([layer.name for layer in problem.layers], "layers")
    _once([order.name for order in problem.orders], "orders")
    known = [layer.name for layer in problem.layers]
    for at, (before, after) in enumerate(zip(problem.days, problem.days[1:], strict=False), 1):
        if after.day <= before.day:
            raise BadValue(("days", at, "date"), "days must stand in order, each once")
    for at, grinder in enumerate(problem.grinders):
        if grinder.dressed is not None:
            one_of(grinder.dressed.layer, ("grinders", at, "dressed", "layer"), known)
    _insist_on_lots(problem, known)
    layers_in_order(problem)
    _insist_on_frozen(problem)
    for at, day in enumerate(problem.days):
        if day.by_grinder and len(day.by_grinder) != len(problem.grinders):
            raise BadValue(("days", at, "minutes"), "one number, or one for each grinder, is needed")


def _once(names: Sequence[str], where: str) -> None:
    seen: set[str] = set()
    for at, name in enumerate(names):
        if name in seen:
            raise BadValue((where, at, "name"), f"the name {name} stands twice")
        seen.add(name)


def _insist_on_lots(problem: Problem, known: Iterable[str]) -> None:
    layers = {layer.name: layer for layer in problem.layers}
    names: set[str] = set()
    for at, order in enumerate(problem.orders):
        for lot_at, lot in enumerate(order.lots):
            place: Place = ("orders", at, "lots", lot_at)
            if lot.name in names:
                raise BadValue((*place, "name"), f"the name {lot.name} stands twice")
            names.add(lot.name)
            for layer_at, name in enumerate(lot.layers):
                one_of(name, (*place, "layers", layer_at), known)
            need = max(
                layers[name].dress_minutes + problem.run_minutes[lot.name, name] for name in lot.layers
            )
            if not any(day.day >= order.arrives and day.minutes >= need for day in problem.days):
                raise BadValue(
                    place,
                    f"lot {lot.name} has no day to run on: it needs a day of {need} minutes after it arrives",
                )


def layers_in_order(problem: Problem) -> tuple[str, ...]:
    """The layers so that each comes after all that any lot has before it; ``BadValue`` for layers in a circle."""
    before: dict[str, set[str]] = {layer.name: set() for layer in problem.layers}
    for _order, lot in problem.lots:
        for first, then in zip(lot.layers, lot.layers[1:], strict=False):
            before[then].add(first)
    try:
        # Sorted, so that the same problem has the same order every time.
        return tuple(TopologicalSorter({name: sorted(before[name]) for name in before}).static_order())
    except CycleError as circle:
        raise BadValue(("orders",), f"layers in a circle: {', '.join(reversed(circle.args[1]))}") from None


def _insist_on_frozen(problem: Problem) -> None:
    lots = {lot.name: (order, lot) for order, lot in problem.lots}
    days = {day.day for day in problem.days}
    held: dict[tuple[str, str], int] = {}
    for at, one in enumerate(problem.frozen):
        place: Place = ("frozen", at)
        if one.lot not in lots:
            raise BadValue((*place, "lot"), f"there is no lot {one.lot}")
        order, lot = lots[one.lot]
        one_of(one.layer, (*place, "layer"), lot.layers)
        one_of(one.grinder, (*place, "grinder"), [grinder.name for grinder in problem.grinders])
        if one.day not in days:
            raise BadValue((*place, "date"), f"{one.day} is not in the list of days")
        if one.day < order.arrives:
            raise BadValue((*place, "date"), f"{one.day} is before order {order.name} arrives")
        held[one.lot, one.layer] = held.get((one.lot, one.layer), 0) + one.pairs
        if held[one.lot, one.layer] > lot.pairs:
            raise BadValue((*place, "pairs"), f"more pairs are frozen than lot {lot.name} has")
