"""A stone plan as the workshop's pages and its paper show it: days, grinders, runs in the order of work, pairs, orders."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy.orm import Session

from portal.domain.planning.late import why_late
from portal.domain.planning.lots import Lots, PairOf, grinder_number, reference_of
from portal.domain.planning.problem import Lot, Order, Plan, Problem, Run, StoneLayer
from portal.domain.planning.run_pairs import PairStep, pairs_of_runs
from portal.domain.planning.slack import GrinderDay, OrderSlack, loads, order_slack
from portal.domain.words import Phrase
from portal.queries import catalogue as find_structures
from portal.queries import stone_plans as find_plans
from portal.services.stone_plan_taking import made_of
from portal.services.stone_work import items_of, lots_of
from portal.web.shop.stone_words import LayerBook, LayerWords, book_of, grinder_words

if TYPE_CHECKING:
    from portal.db.bookings import Booking, BookingItem
    from portal.db.stone_plans import StonePlan


@dataclass(frozen=True)
class OrderShown:
    """An order with its booking (None when that is gone), the days, and the working days left: below zero it is late.

    ``is_done`` says that all its pairs are ground by now, whatever was planned.
    """

    name: str
    booking: Booking | None
    due: date
    finished: date | None
    days: int
    why: Phrase | None
    is_done: bool

    @property
    def reference(self) -> str:
        return reference_of(self.name)

    @property
    def is_late(self) -> bool:
        return self.days < 0


@dataclass(frozen=True)
class PairShown:
    """A pair in the order of work; ``elsewhere`` is the day on which the ledger has this step now, where that is another."""

    item: BookingItem
    step: int
    steps: int
    minutes: int
    order: OrderShown
    elsewhere: date | None


@dataclass(frozen=True)
class RunShown:
    """One go at the stone; ``unnamed`` are pairs that are in no booking, any more or yet."""

    layer: LayerWords
    stone: StoneLayer
    dressings: int
    pairs: tuple[PairShown, ...]
    unnamed: int
    # Run minutes of all pairs, those too that are in no booking.
    cut_minutes: int

    @property
    def minutes(self) -> int:
        return self.dressings * self.stone.dress_minutes + self.cut_minutes


@dataclass(frozen=True)
class GrinderShown:
    """A grinder on a day; without a name where there is one only."""

    name: Phrase | None
    load: GrinderDay
    runs: tuple[RunShown, ...]


@dataclass(frozen=True)
class DayShown:
    """A day with all its grinders."""

    day: date
    grinders: tuple[GrinderShown, ...]

    @property
    def runs(self) -> tuple[RunShown, ...]:
        return tuple(run for grinder in self.grinders for run in grinder.runs)

    @property
    def dressings(self) -> int:
        return sum(run.dressings for run in self.runs)

    @property
    def pairs(self) -> int:
        """Pairs on the stone, one that gets two steps on this day counted once."""
        named = {pair.item.id for run in self.runs for pair in run.pairs}
        return len(named) + max((run.unnamed for run in self.runs), default=0)

    @property
    def free(self) -> int:
        return sum(grinder.load.free for grinder in self.grinders)


@dataclass(frozen=True)
class PlanShown:
    """A plan with all that belongs to it."""

    row: StonePlan
    problem: Problem
    made: Plan
    days: tuple[DayShown, ...]
    orders: tuple[OrderShown, ...]
    items: Mapping[int, BookingItem]
    book: LayerBook

    @property
    def late(self) -> tuple[OrderShown, ...]:
        """What gets late, unless it is ground by now."""
        return tuple(order for order in self.orders if order.is_late and not order.is_done)

    @property
    def late_lots(self) -> frozenset[str]:
        late = {order.name for order in self.late}
        return frozenset(lot.name for order, lot in self.problem.lots if order.name in late)

    def from_day(self, first: date) -> tuple[DayShown, ...]:
        """The days from this one on, up to the last that has work."""
        last = max((run.day for run in self.made.runs), default=first)
        return tuple(one for one in self.days if first <= one.day <= last)


def shown_plan(session: Session, row: StonePlan) -> PlanShown:
    """A ready plan, with the pairs as they are now; ``NotNow`` while it is not ready."""
    problem, made = made_of(row)
    lots = lots_of(row)
    items = find_plans.items(session, items_of(row))
    book = book_of([*(item.structure for item in items.values()), *find_structures.all_current(session)])
    orders = orders_shown(problem, made, lots, items)
    return PlanShown(row, problem, made, _days(problem, made, lots, items, book, orders), orders, items, book)


def orders_shown(
    problem: Problem, made: Plan, lots: Lots, items: Mapping[int, BookingItem]
) -> tuple[OrderShown, ...]:
    """Every order of a plan, the tightest first."""
    whose = {
        order.name: items[pair.item].booking
        for order, _lot, pair in _members(problem, lots)
        if pair.item in items
    }
    to_do = {
        order.name
        for order, _lot, pair in _members(problem, lots)
        if pair.item in items and items[pair.item].stage in find_plans.NOT_GROUND
    }
    why = why_late(problem, made)

    def order_of(one: OrderSlack) -> OrderShown:
        return OrderShown(
            one.order,
            whose.get(one.order),
            one.due,
            one.finished,
            one.days,
            why.get(one.order),
            one.order in whose and one.order not in to_do,
        )

    return tuple(
        sorted(
            (order_of(one) for one in order_slack(problem, made.runs)), key=lambda one: (one.days, one.due)
        )
    )


def _members(problem: Problem, lots: Lots) -> Iterator[tuple[Order, Lot, PairOf]]:
    """Every pair with its order and its lot; an order that was only supposed has none."""
    for order, lot in problem.lots:
        for pair in lots[lot.name].pairs if lot.name in lots else ():
            yield order, lot, pair


def _days(
    problem: Problem,
    made: Plan,
    lots: Lots,
    items: Mapping[int, BookingItem],
    book: LayerBook,
    orders: Sequence[OrderShown],
) -> tuple[DayShown, ...]:
    stone = {layer.name: layer for layer in problem.layers}
    by_name = {order.name: order for order in orders}
    order_of = {pair.item: by_name[order.name] for order, _lot, pair in _members(problem, lots)}
    steps = {
        pair.item: lots[lot.name].done + len(lot.layers) for _order, lot, pair in _members(problem, lots)
    }
    minutes = {
        (pair.item, layer): problem.run_minutes[lot.name, layer]
        for _order, lot, pair in _members(problem, lots)
        for layer in lot.layers
    }
    runs: dict[tuple[date, str], list[RunShown]] = {}
    for run, pairs in zip(made.runs, pairs_of_runs(problem, made.runs, lots), strict=True):
        named = tuple(
            PairShown(
                items[one.item],
                one.step,
                steps[one.item],
                minutes[one.item, run.layer],
                order_of[one.item],
                _elsewhere(items[one.item], one, run),
            )
            for one in pairs
            if one.item in items
        )
        runs.setdefault((run.day, run.grinder), []).append(
            RunShown(
                book.of(run.layer),
                stone[run.layer],
                run.dressings,
                named,
                run.pairs - len(named),
                problem.minutes_of(run),
            )
        )
    used = {(one.day, one.grinder): one for one in loads(problem, made.runs)}
    count = len(problem.grinders)
    return tuple(
        DayShown(
            day.day,
            tuple(
                GrinderShown(
                    grinder_words(grinder_number(grinder.name), count),
                    used[day.day, grinder.name],
                    tuple(runs.get((day.day, grinder.name), ())),
                )
                for grinder in problem.grinders
            ),
        )
        for day in problem.days
    )


def _elsewhere(item: BookingItem, step: PairStep, run: Run) -> date | None:
    held = {one.step: one.work_day.day for one in item.commitments}
    day = held.get(step.step)
    return day if day is not None and day != run.day else None


def days_only(problem: Problem, days: Iterable[DayShown]) -> Problem:
    """The problem with these days alone, for a picture of them."""
    shown = {one.day for one in days}
    return replace(problem, days=tuple(day for day in problem.days if day.day in shown))
