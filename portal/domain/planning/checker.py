"""Replays a plan pair by pair against its problem. It shares nothing with what made the plan but the values themselves."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from portal.domain.planning.problem import AFTER_THE_END, Late, Problem, Run


@dataclass(frozen=True)
class Outcome:
    """What the runs add up to, and everything that is wrong with them, in English, for whoever mends the planner."""

    faults: tuple[str, ...]
    late: tuple[Late, ...]
    late_pair_days: int
    dressings: int
    dressing_minutes: int
    unfinished: tuple[str, ...]
    # The day on which the last pair of each order is done; orders that are not finished are not in it.
    finished: dict[str, date]
    # Pairs and layers of the plan before that stand on another day or grinder now, or nowhere.
    moved: int


def replay(problem: Problem, runs: Iterable[Run]) -> Outcome:
    """Do the runs in their order, and count; ``faults`` is empty for a plan that can be worked as it stands."""
    replayed = _Replay(problem)
    for number, run in enumerate(runs):
        replayed.do(number, run)
    return replayed.outcome()


class _Replay:
    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.layers = {layer.name: layer for layer in problem.layers}
        self.lots = {lot.name: (order, lot) for order, lot in problem.lots}
        self.days = [day.day for day in problem.days]
        self.minutes = {
            (day.day, grinder.name): day.of(at)
            for day in problem.days
            for at, grinder in enumerate(problem.grinders)
        }
        self.has = dict(self.minutes)
        self.on_stone = {
            grinder.name: (grinder.dressed.layer, grinder.dressed.left) if grinder.dressed else ("", 0)
            for grinder in problem.grinders
        }
        self.now = date.min
        # Pairs of (lot, layer) done, by day and grinder.
        self.done: dict[tuple[str, str], Counter[tuple[date, str]]] = {}
        # (lot, layer, day): pairs that each grinder takes from those that were waiting in the morning.
        self.needs: dict[tuple[str, str, date], dict[str, int]] = {}
        # Run minutes, and pairs by layer, of each day and grinder.
        self.cut: Counter[tuple[date, str]] = Counter()
        self.pairs: dict[tuple[date, str], Counter[str]] = {}
        self.faults: list[str] = []
        self.dressings = self.dressing_minutes = 0

    def do(self, number: int, run: Run) -> None:
        where = f"run {number} ({run.day}, {run.grinder}, {run.layer})"
        layer, key = self.layers.get(run.layer), (run.day, run.grinder)
        if layer is None or key not in self.minutes:
            self.faults.append(f"{where}: unknown layer, day or grinder")
            return
        if run.day < self.now:
            self.faults.append(f"{where}: stands after a later day")
        self.now = run.day
        pairs = sum(count for _lot, count in run.lots)
        if pairs <= 0 or run.dressings < 0 or any(count <= 0 for _lot, count in run.lots):
            self.faults.append(f"{where}: no pairs, or numbers below zero")
        on, left = self.on_stone[run.grinder]
        if run.dressings:
            left = run.dressings * layer.life_pairs
        elif on != run.layer:
            self.faults.append(f"{where}: the stone is dressed for {on or 'nothing'}")
        if pairs > left:
            self.faults.append(f"{where}: {pairs} pairs on a dressing for {left}")
        if run.dressings > pairs:
            self.faults.append(f"{where}: {run.dressings} dressings for {pairs} pairs")
        if run.dressings:
            # At least one pair was cut since the last of them.
            left = min(left, pairs + layer.life_pairs - 1)
        self.on_stone[run.grinder] = run.layer, left - pairs
        cut = sum(count * self._run_minutes(lot, run.layer) for lot, count in run.lots)
        self.minutes[key] -= run.dressings * layer.dress_minutes + cut
        self.cut[key] += cut
        self.pairs.setdefault(key, Counter())[run.layer] += pairs
        if self.minutes[key] < 0:
            self.faults.append(f"{where}: {-self.minutes[key]} minutes more than the day has")
        self.dressings += run.dressings
        self.dressing_minutes += run.dressings * layer.dress_minutes
        for lot, count in run.lots:
            self._cut(where, run, lot, count)

    def _run_minutes(self, name: str, layer: str) -> int:
        """Of a pair of a lot, if it is a lot that needs the layer."""
        lot = self.lots[name][1] if name in self.lots else None
        if lot is not None and lot.minutes and layer in lot.layers:
            return lot.minutes[lot.layers.index(layer)]
        return self.layers[layer].run_minutes

    def _cut(self, where: str, run: Run, name: str, pairs: int) -> None:
        if name not in self.lots or run.layer not in self.lots[name][1].layers:
            self.faults.append(f"{where}: lot {name} does not need this layer")
            return
        order, lot = self.lots[name]
        if run.day < order.arrives:
            self.faults.append(f"{where}: lot {name} has not arrived")
        mine = self.done.setdefault((name, run.layer), Counter())
        mine[run.day, run.grinder] += pairs
        total = sum(mine.values())
        if total > lot.pairs:
            self.faults.append(f"{where}: {total} pairs of lot {name}, which has {lot.pairs}")
        step = lot.layers.index(run.layer)
        if step == 0:
            return
        before, today = self._by_day(name, lot.layers[step - 1], run), self._by_day(name, run.layer, run)
        # What no earlier layer of today on this grinder gives, must have been waiting since the days before.
        needs = self.needs.setdefault((name, run.layer, run.day), {})
        needs[run.grinder] = max(needs.get(run.grinder, 0), today[1] - before[1])
        if sum(needs.values()) > before[0] - today[0]:
            self.faults.append(
                f"{where}: {sum(needs.values())} pairs of lot {name}, of which {before[0] - today[0]} wait for it"
            )

    def _by_day(self, lot: str, layer: str, run: Run) -> tuple[int, int]:
        """Pairs that got a layer: on days before the run's, and on its day by its grinder so far."""
        done = self.done.get((lot, layer), Counter())
        return (
            sum(count for (day, _grinder), count in done.items() if day < run.day),
            done[run.day, run.grinder],
        )

    def outcome(self) -> Outcome:
        self._check_frozen()
        if self.problem.whole_days:
            self._check_whole_days()
        late, finished, unfinished, total = [], {}, [], 0
        for order in self.problem.orders:
            ends = [self._end(lot.name, lot.layers[-1], lot.pairs) for lot in order.lots]
            # The last day of the list that is not after the due day; -1 where the list begins later.
            due = sum(day <= order.due for day in self.days) - 1
            if None in ends:
                unfinished.append(order.name)
                end = len(self.days) - 1 + AFTER_THE_END
            else:
                day = max(one for one in ends if one is not None)
                finished[order.name] = day
                end = self.days.index(day)
            if end > due:
                late.append(Late(order.name, end - due))
                total += order.weight * order.pairs * (end - due)
        return Outcome(
            faults=tuple(self.faults),
            late=tuple(late),
            late_pair_days=total,
            dressings=self.dressings,
            dressing_minutes=self.dressing_minutes,
            unfinished=tuple(unfinished),
            finished=finished,
            moved=self._moved(),
        )

    def _end(self, lot: str, layer: str, pairs: int) -> date | None:
        """The day on which the last of so many pairs got its last layer."""
        done = self.done.get((lot, layer), Counter())
        return max(day for day, _grinder in done) if sum(done.values()) >= pairs else None

    def _moved(self) -> int:
        """Pairs of a lot are as good as one another, so what has as many pairs as before on a day and grinder stayed."""
        days, grinders = set(self.days), {grinder.name for grinder in self.problem.grinders}
        stood: dict[tuple[str, str], Counter[tuple[date, str]]] = {}
        for one in self.problem.before:
            known = one.lot in self.lots and one.layer in self.lots[one.lot][1].layers
            if known and one.day in days and one.grinder in grinders:
                stood.setdefault((one.lot, one.layer), Counter())[one.day, one.grinder] += one.pairs
        moved = 0
        for key, before in stood.items():
            stayed = (before & self.done.get(key, Counter())).total()
            # Of a lot that has fewer pairs than before, only those that are left can have moved.
            moved += min(before.total(), self.lots[key[0]][1].pairs) - stayed
        return moved

    def _check_whole_days(self) -> None:
        for key, pairs in self.pairs.items():
            dressings = sum(
                -(-count // self.layers[name].life_pairs) * self.layers[name].dress_minutes
                for name, count in pairs.items()
            )
            if self.cut[key] + dressings > self.has[key]:
                self.faults.append(f"{key[0]}, {key[1]}: holds its work only with a dressing kept overnight")

    def _check_frozen(self) -> None:
        wanted: Counter[tuple[str, str, date, str]] = Counter()
        for one in self.problem.frozen:
            wanted[one.lot, one.layer, one.day, one.grinder] += one.pairs
        for (lot, layer, day, grinder), pairs in wanted.items():
            there = self.done.get((lot, layer), Counter())[day, grinder]
            if there < pairs:
                self.faults.append(
                    f"{there} of {pairs} pairs of lot {lot} stay frozen on {day}, {grinder}, {layer}"
                )
