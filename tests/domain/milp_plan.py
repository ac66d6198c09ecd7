"""The stone plan as a mixed-integer linear programme, solved by HiGHS: another way to write it, and another solver.

HiGHS: Huangfu and Hall 2018, Mathematical Programming Computation 10, through ``scipy.optimize.milp``. The formulation is that
of lot sizing in big buckets with set-up carry-over (Sox and Gao 1999, IIE Transactions 31), with pairs of lots as integers.
It shares no code with the planner. One grinder, nothing frozen, no buffer, no plan before.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from portal.domain.planning.problem import AFTER_THE_END, Lot, Order, Problem, StoneLayer

# A linear expression: coefficients by number of the variable, and what is fixed under -1.
Terms = dict[int, float]
FIXED = -1


def total(*parts: tuple[float, Terms]) -> Terms:
    found: Terms = defaultdict(float)
    for factor, terms in parts:
        for variable, value in terms.items():
            found[variable] += factor * value
    return found


class Programme:
    """Whole variables and what they have to keep to."""

    def __init__(self) -> None:
        self.upper: list[float] = []
        self.rows: list[Terms] = []

    def whole(self, upper: float) -> Terms:
        """A whole number from 0 up to ``upper``."""
        self.upper.append(upper)
        return {len(self.upper) - 1: 1.0}

    def at_most(self, left: Terms, right: Terms) -> None:
        self.rows.append(total((1, left), (-1, right)))

    def least(self, goal: Terms) -> int:
        at = [(row, column) for row, terms in enumerate(self.rows) for column in terms if column != FIXED]
        values = [self.rows[row][column] for row, column in at]
        matrix = coo_array(
            (values, ([row for row, _column in at], [column for _row, column in at])),
            shape=(len(self.rows), len(self.upper)),
        )
        limits = np.array([-terms.get(FIXED, 0.0) for terms in self.rows])
        costs = np.array([goal.get(variable, 0.0) for variable in range(len(self.upper))])
        result = milp(
            costs,
            integrality=np.ones(len(self.upper)),
            bounds=Bounds(np.zeros(len(self.upper)), np.array(self.upper)),
            constraints=LinearConstraint(matrix.tocsc(), -np.inf, limits),
            options={"mip_rel_gap": 0.0},
        )
        assert result.status == 0, result.message
        return round(result.fun + goal.get(FIXED, 0.0))


class Stone:
    """The programme of one problem: where pairs are cut, what the stone has on it, and what that adds up to."""

    def __init__(self, problem: Problem) -> None:
        (self.grinder,) = problem.grinders
        self.problem, self.programme = problem, Programme()
        self.layers: Mapping[str, StoneLayer] = {layer.name: layer for layer in problem.layers}
        self.days = range(len(problem.days))
        self.cut: dict[tuple[str, int, int], Terms] = {}
        self.early: dict[tuple[str, int, int], Terms] = {}
        self.at: dict[tuple[str, int], list[tuple[Lot, int]]] = defaultdict(list)
        self.dressings: dict[tuple[str, int], Terms] = {}
        self.on: dict[tuple[str, int], Terms] = {}
        self.left: dict[tuple[str, int], Terms] = {}
        for order, lot in problem.lots:
            self._pairs(order, lot)
        if self.grinder.dressed is not None:
            self.on[self.grinder.dressed.layer, -1] = {FIXED: 1}
            self.left[self.grinder.dressed.layer, -1] = {FIXED: self.grinder.dressed.left}
        for day in self.days:
            self._day(day)

    def _by(self, lot: Lot, step: int, day: int) -> Terms:
        """Pairs that have had a step by the evening of a day; all of them before the first step."""
        if step < 0:
            return {FIXED: lot.pairs}
        cuts = [self.cut.get((lot.name, step, one), {}) for one in range(day + 1)]
        return total(*((1, one) for one in cuts))

    def _pairs(self, order: Order, lot: Lot) -> None:
        keep, last = self.programme.at_most, self.days[-1]
        for step, name in enumerate(lot.layers):
            for day in self.days:
                if self.problem.days[day].day >= order.arrives:
                    self.cut[lot.name, step, day] = self.programme.whole(lot.pairs)
                    self.early[lot.name, step, day] = self.programme.whole(lot.pairs)
                    self.at[name, day].append((lot, step))
                keep(self._by(lot, step, day), self._by(lot, step - 1, day))
            # Nobody begins a pair that is not finished.
            keep(self._by(lot, step - 1, last) if step else {}, self._by(lot, step, last))

    def _waits(self, lot: Lot, step: int, day: int) -> Terms:
        """Pairs that wait for a step in the morning."""
        return total((1, self._by(lot, step - 1, day - 1)), (-1, self._by(lot, step, day - 1)))

    def _day(self, day: int) -> None:
        keep, whole = self.programme.at_most, self.programme.whole
        spent: Terms = {}
        evening: Terms = {}
        dressed = {name: whole(1) for name in self.layers if self.at[name, day]}
        for name, layer in self.layers.items():
            here, life = self.at[name, day], layer.life_pairs
            pairs = total(*((1, self.cut[lot.name, step, day]) for lot, step in here))
            first = total(*((1, self.early[lot.name, step, day]) for lot, step in here))
            for lot, step in here:
                keep(self.early[lot.name, step, day], self.cut[lot.name, step, day])
                keep(self.early[lot.name, step, day], self._waits(lot, step, day))
                # Implied; it makes the linear relaxation strong.
                stone = total((1, dressed[name]), (1, self.on.get((name, day - 1), {})))
                keep(self.cut[lot.name, step, day], total((lot.pairs, stone)))
            keep(first, self.left.get((name, day - 1), {}))
            most = sum(lot.pairs for lot, _step in here)
            dressings = self.dressings[name, day] = whole(most)
            today = total((1, pairs), (-1, first))
            keep(today, total((life, dressings)))
            # Every dressing has a pair of its day.
            keep(dressings, today)
            if here:
                keep(dressings, total((most, dressed[name])))
                keep(dressed[name], dressings)
            self._night(name, day, dressed, total((life, dressings), (-1, today)), first)
            evening = total((1, evening), (1, self.on[name, day]))
            spent = total((1, spent), (layer.dress_minutes, dressings), (layer.run_minutes, pairs))
        keep(evening, {FIXED: 1})
        keep(spent, {FIXED: self.problem.days[day].minutes})

    def _night(self, name: str, day: int, dressed: Mapping[str, Terms], fresh: Terms, first: Terms) -> None:
        """What the stone keeps: the last layer of the day with what its dressings still serve, or what it had."""
        keep, whole, life = self.programme.at_most, self.programme.whole, self.layers[name].life_pairs
        much = 10 * life + sum(lot.pairs for _order, lot in self.problem.lots)
        last, stays = whole(1), whole(1)
        self.on[name, day] = total((1, last), (1, stays))
        left = self.left[name, day] = whole(much)
        keep(last, dressed.get(name, {}))
        keep(stays, self.on.get((name, day - 1), {}))
        for other in dressed.values():
            keep(total((1, stays), (1, other)), {FIXED: 1})
        keep(left, total((much, self.on[name, day])))
        keep(left, total((1, fresh), (much, {FIXED: 1}), (-much, last)))
        keep(left, total((1, {FIXED: life - 1 + much}), (-much, last)))
        before = self.left.get((name, day - 1), {})
        keep(left, total((1, before), (-1, first), (much, {FIXED: 1}), (-much, stays)))
        for lot, step in self.at[name, day]:
            if step + 1 < len(lot.layers):
                # Pairs of the last run need no other layer today, but those of the first run may.
                then = self.cut[lot.name, step + 1, day]
                ready = total((1, self._waits(lot, step + 1, day)), (1, self.early[lot.name, step, day]))
                keep(then, total((1, ready), (lot.pairs, {FIXED: 1}), (-lot.pairs, last)))

    def late(self) -> Terms:
        """Weighted pair-days late."""
        found: Terms = {}
        for order in self.problem.orders:
            due = sum(day.day <= order.due for day in self.problem.days) - 1
            for day in self.days:
                if day >= due:
                    after = self.programme.whole(1)
                    for lot in order.lots:
                        undone = total((1, {FIXED: lot.pairs}), (-1, self._by(lot, len(lot.layers) - 1, day)))
                        self.programme.at_most(undone, total((lot.pairs, after)))
                    days = AFTER_THE_END if day == self.days[-1] else 1
                    found = total((1, found), (order.weight * order.pairs * days, after))
            # For a due day before the list each day of it is late as well.
            found = total((1, found), (order.weight * order.pairs * max(0, -1 - due), {FIXED: 1}))
        return found

    def dressing_minutes(self) -> Terms:
        return total(
            *(
                (self.layers[name].dress_minutes, dressings)
                for (name, _day), dressings in self.dressings.items()
            )
        )


def least(problem: Problem) -> tuple[int, int]:
    """The fewest weighted pair-days late, and with those the fewest dressing minutes."""
    stone = Stone(problem)
    late, minutes = stone.late(), stone.dressing_minutes()
    fewest = stone.programme.least(late)
    stone.programme.at_most(late, {FIXED: fewest})
    return fewest, stone.programme.least(minutes)
