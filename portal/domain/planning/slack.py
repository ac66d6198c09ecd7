"""How much room a plan leaves: working days between each order and its due day, and minutes of each grinder and day."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from portal.domain.planning.checker import replay
from portal.domain.planning.problem import AFTER_THE_END, Problem, Run


@dataclass(frozen=True)
class OrderSlack:
    """Working days that are left between the end of an order and its due day; below zero it is late.

    Days are counted as lateness is: by the list of days, where a due day behind the last day counts as the last, and an
    order that is not finished counts as finished ``AFTER_THE_END`` days behind it.
    """

    order: str
    due: date
    finished: date | None
    days: int


@dataclass(frozen=True)
class GrinderDay:
    """Where the minutes of a grinder go on a day."""

    day: date
    grinder: str
    minutes: int
    run_minutes: int
    dress_minutes: int

    @property
    def used(self) -> int:
        return self.run_minutes + self.dress_minutes

    @property
    def free(self) -> int:
        """Minutes left, 0 or more."""
        return max(0, self.minutes - self.used)

    @property
    def over(self) -> int:
        """Minutes of work that the day does not have, 0 or more; a plan that was checked has none."""
        return max(0, self.used - self.minutes)

    @property
    def share(self) -> float | None:
        """Used minutes of the minutes there are; None on a day without any."""
        return self.used / self.minutes if self.minutes else None


def order_slack(problem: Problem, runs: Sequence[Run]) -> tuple[OrderSlack, ...]:
    """One for each order of the problem, in its order."""
    finished = replay(problem, runs).finished
    days = [day.day for day in problem.days]
    made = []
    for order in problem.orders:
        end = finished.get(order.name)
        last = days.index(end) if end is not None else len(days) - 1 + AFTER_THE_END
        due = sum(day <= order.due for day in days) - 1
        made.append(OrderSlack(order.name, order.due, end, due - last))
    return tuple(made)


def loads(problem: Problem, runs: Iterable[Run]) -> tuple[GrinderDay, ...]:
    """One for each day and grinder of the problem, by day and then in the order of the grinders.

    ``KeyError`` for a run on a layer that the problem or a lot of it does not know; a run on another day or grinder is left out.
    """
    layers = {layer.name: layer for layer in problem.layers}
    run_minutes, dress_minutes = Counter[tuple[date, str]](), Counter[tuple[date, str]]()
    for run in runs:
        layer = layers[run.layer]
        run_minutes[run.day, run.grinder] += problem.minutes_of(run)
        dress_minutes[run.day, run.grinder] += run.dressings * layer.dress_minutes
    return tuple(
        GrinderDay(day.day, grinder.name, day.of(at), run_minutes[key], dress_minutes[key])
        for day in problem.days
        for at, grinder in enumerate(problem.grinders)
        for key in [(day.day, grinder.name)]
    )
