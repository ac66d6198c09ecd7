"""The stone plan as an integer programme: every day on its own, with a dressing for each layer that is cut on it.

It counts pairs of each lot by layer and slot, so that every way to split a lot is in it. Its unit is the run of one dressing
and its clock the day; the order within a day needs no variables, because the layers of all lots follow one order. In the
literature: big-bucket lot sizing in the facility-location form (Krarup and Bilde 1977), whose relaxation is strong.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass

from ortools.sat.python import cp_model

from portal.domain.planning.flows import Flow, Paths, counts_of, flows_of, paths_of
from portal.domain.planning.moves import HUNDREDTHS
from portal.domain.planning.pieces import Pieces
from portal.domain.planning.search import Found

Literal = cp_model.IntVar
Expression = cp_model.LinearExpr | int
# (flow, step, slot), (slot, layer)
Cut = tuple[int, int, int]
Place = tuple[int, int]


class Stopped(Exception):
    """Somebody said stop while the model was being made."""


def sum_of(terms: Iterable[Expression]) -> cp_model.LinearExpr:
    """The sum of expressions, of which there may be none."""
    listed = list(terms)
    return cp_model.LinearExpr.weighted_sum(listed, [1] * len(listed))


def weighted(terms: Iterable[tuple[int, Expression]]) -> cp_model.LinearExpr:
    """The sum of (weight, expression)."""
    listed = list(terms)
    return cp_model.LinearExpr.weighted_sum(
        [expression for _weight, expression in listed], [weight for weight, _expression in listed]
    )


@dataclass(frozen=True)
class Question:
    """Which plans are asked for, and the one that is ``known``.

    ``settled``: no order is finished later than the last day of its pieces, and none is left undone that is done in ``known``.
    ``together``: lots of different orders are told apart only where they must be. ``days``: what is cut on these days may be
    cut on others of them, and everything else stands where it is in ``known``; ``orders``: only what belongs to these.
    """

    pieces: Pieces
    known: Found
    settled: bool = False
    together: bool = False
    days: Collection[int] | None = None
    orders: Collection[int] | None = None


class DayModel:
    """Plans whose days need no dressing from the day before."""

    # Whether what it finds is a plan.
    is_exact = True

    def __init__(self, question: Question, is_stopped: Callable[[], bool]) -> None:
        pieces = self.pieces = question.pieces
        self.question, self.is_stopped = question, is_stopped
        self.cp = cp_model.CpModel()
        self.slots = range(pieces.days * pieces.grinders)
        self.layers = range(len(pieces.layers))
        self.known, self.known_done = counts_of(pieces, question.known.placed)
        self.flows = flows_of(pieces, together=question.together)
        # Pairs cut, and those of them that waited for it overnight.
        self.cut: dict[Cut, Literal] = {}
        self.is_cut: dict[Cut, Literal] = {}
        self.waited: dict[Cut, Expression] = {}
        self.here: dict[Place, list[tuple[int, int]]] = defaultdict(list)
        for number, flow in enumerate(self.flows):
            self._flow(number, flow)
        self.pairs = {
            (slot, layer): sum_of(self.cut[number, step, slot] for number, step in steps)
            for (slot, layer), steps in self.here.items()
        }
        self.dressings: dict[Place, Literal] = {}
        self.dressed: dict[Place, Literal] = {}
        self._after: dict[tuple[int, int], Literal] = {}
        self._dress()
        self._stone()
        self._minutes()
        self._needs()

    def _go_on(self) -> None:
        if self.is_stopped():
            raise Stopped

    # --- pairs ---

    def _flow(self, number: int, flow: Flow) -> None:
        self._go_on()
        done = self._done(number, flow)
        for step, layer in enumerate(flow.route):
            held = flow.frozen[step]
            slots = {*self._slots_of(flow), *held}
            for slot in sorted(slots):
                now = sum(self.known[lot, step, slot] for lot, _pairs in flow.lots)
                least, most = held.get(slot, 0), flow.pairs
                if not self._is_free(flow, slot):
                    least = most = now
                if most and (slot in held or self.pieces.capacity[slot] >= flow.run[step]):
                    new = self.cp.new_int_var(least, most, f"c{number}.{step}.{slot}")
                    self.cp.add_hint(new, now)
                    self.cut[number, step, slot] = new
                    self.is_cut[number, step, slot] = self._is_cut(flow, new)
                    self.here[slot, layer].append((number, step))
            mine = sum_of(
                cut for slot in sorted(slots) if (cut := self.cut.get((number, step, slot))) is not None
            )
            frozen = sum(held.values())
            if frozen and not isinstance(done, int):
                # What is frozen stays, of pairs that will not be done as well.
                self.cp.add_max_equality(mine, [done, frozen])
            else:
                self.cp.add(mine == done)
            if isinstance(done, int):
                # Implied, for proofs that do not count.
                self.cp.add_bool_or(
                    each
                    for slot in sorted(slots)
                    if (each := self.is_cut.get((number, step, slot))) is not None
                )
            if step:
                self._follow(number, step, flow)

    def _is_cut(self, flow: Flow, cut: Literal) -> Literal:
        """Whether any pair of a flow is cut on a slot."""
        if flow.pairs == 1:
            return cut
        is_cut = self.cp.new_bool_var(f"i{cut.name}")
        self.cp.add(cut <= flow.pairs * is_cut)
        self.cp.add(cut >= is_cut)
        return is_cut

    def _is_free(self, flow: Flow, slot: int) -> bool:
        days, orders = self.question.days, self.question.orders
        return (days is None or slot // self.pieces.grinders in days) and (
            orders is None or flow.order in orders
        )

    def _slots_of(self, flow: Flow) -> range:
        return range(flow.first * self.pieces.grinders, (flow.last + 1) * self.pieces.grinders)

    def _done(self, number: int, flow: Flow) -> Expression:
        """Pairs that get all their layers; at least as many as now, where it is settled which orders are late."""
        if self.question.settled:
            least = sum(self.known_done[lot] for lot, _pairs in flow.lots)
            if least == flow.pairs:
                return least
        else:
            least = 0
        return self.cp.new_int_var(least, flow.pairs, f"d{number}")

    def _follow(self, number: int, step: int, flow: Flow) -> None:
        """A layer comes after the one before it: on a later day, or on the same day and grinder."""
        grinders = self.pieces.grinders
        before: Expression = 0
        held = [slot // grinders for step in flow.frozen for slot in step]
        for day in range(min([flow.first, *held]), max([flow.last, *held]) + 1):
            slots = range(day * grinders, (day + 1) * grinders)
            had = [cut for slot in slots if (cut := self.cut.get((number, step - 1, slot))) is not None]
            cuts = {slot: cut for slot in slots if (cut := self.cut.get((number, step, slot))) is not None}
            # Pairs that have had the step before, and wait for this one in the evening.
            waits = self.cp.new_int_var(0, flow.pairs, f"w{number}.{step}.{day}")
            self.cp.add(waits == before + sum_of(had) - sum_of(cuts.values()))
            if grinders == 1:
                for slot in cuts:
                    self.waited[number, step, slot] = before
            else:
                old = []
                for slot, cut in cuts.items():
                    waited = self.cp.new_int_var(0, flow.pairs, f"y{number}.{step}.{slot}")
                    self.cp.add(cut <= waited + self.cut.get((number, step - 1, slot), 0))
                    self.cp.add(waited <= cut)
                    self.waited[number, step, slot] = waited
                    old.append(waited)
                self.cp.add(sum_of(old) <= before)
            before = waits

    # --- the stone ---

    def _dress(self) -> None:
        for (slot, layer), steps in sorted(self.here.items()):
            pairs = sum(self.flows[number].pairs for number, _step in steps)
            most = -(-pairs // self.pieces.life[layer])
            dressings = self.cp.new_int_var(0, most, f"n{slot}.{layer}")
            dressed = dressings if most == 1 else self.cp.new_bool_var(f"u{slot}.{layer}")
            if most > 1:
                self.cp.add(dressings >= dressed)
                self.cp.add(dressings <= most * dressed)
            self.dressings[slot, layer], self.dressed[slot, layer] = dressings, dressed

    def _stone(self) -> None:
        """What the dressings serve."""
        for (slot, layer), dressings in self.dressings.items():
            self.cp.add(self.pairs[slot, layer] <= self.pieces.life[layer] * dressings)
            self._only_where(slot, layer, self.dressed[slot, layer])

    def _only_where(self, slot: int, layer: int, dressed: Expression) -> None:
        """Pairs are cut only where the stone is dressed for them: implied, and what makes the linear relaxation strong."""
        for number, step in self.here[slot, layer]:
            self.cp.add(self.cut[number, step, slot] <= self.flows[number].pairs * dressed)
            self.cp.add(self.is_cut[number, step, slot] <= dressed)

    def _each_dressing(self) -> Iterable[tuple[Place, Literal]]:
        return self.dressings.items()

    def _carried_into(self, _day: int, _layer: int) -> Iterable[tuple[int, Expression]]:
        """Dressings that the stones bring into the morning of a day, each (at most so many, whether)."""
        return ()

    # --- days ---

    def _minutes(self) -> None:
        pieces = self.pieces
        spent: dict[int, list[tuple[int, Expression]]] = defaultdict(list)
        for (slot, layer), dressings in self._each_dressing():
            spent[slot].append((pieces.dress[layer], dressings))
        for slot in self.slots:
            self.cp.add(weighted(spent[slot]) + self._runs(slot) <= pieces.capacity[slot])

    def _runs(self, slot: int) -> cp_model.LinearExpr:
        """The run minutes of a slot."""
        return weighted(
            (self.flows[number].run[step], self.cut[number, step, slot])
            for layer in self.layers
            for number, step in self.here.get((slot, layer), ())
        )

    def _needs(self) -> None:
        """Implied: what has to be cut within some days needs its dressings within them."""
        grinders = self.pieces.grinders
        windows: dict[int, dict[tuple[int, int], int]] = defaultdict(lambda: defaultdict(int))
        for flow in self.flows:
            if self.question.settled and all(self.known_done[lot] == pairs for lot, pairs in flow.lots):
                for layer, held in zip(flow.route, flow.frozen, strict=True):
                    windows[layer][flow.first, flow.last] += flow.pairs - sum(held.values())
                    for slot, pairs in held.items():
                        windows[layer][slot // grinders, slot // grinders] += pairs
        for layer, pairs_in in windows.items():
            self._go_on()
            for first in sorted({low for low, _high in pairs_in}):
                for last in sorted({high for _low, high in pairs_in if high >= first}):
                    pairs = sum(
                        count for (low, high), count in pairs_in.items() if low >= first and high <= last
                    )
                    needed = -(-pairs // self.pieces.life[layer])
                    days = range(first * grinders, (last + 1) * grinders)
                    dressings = [
                        each for slot in days if (each := self.dressings.get((slot, layer))) is not None
                    ]
                    if needed:
                        carried = weighted(self._carried_into(first, layer))
                        self.cp.add(sum_of(dressings) + carried >= needed)

    # --- what is asked for ---

    def cost(self) -> cp_model.LinearExpr:
        """Dressing minutes and what is charged for moved work, in hundredths of a minute."""
        dressings = [
            (HUNDREDTHS * self.pieces.dress[layer], dressings)
            for (_slot, layer), dressings in self._each_dressing()
        ]
        before = self.pieces.before
        if not before.charge:
            return weighted(dressings)
        stayed = [(-before.charge, stays) for stays in self._stayed()]
        most = sum(sum(stood.values()) for stood in before.pairs.values()) - before.gone
        return weighted(dressings + stayed) + before.charge * most

    def _stayed(self) -> Iterable[Expression]:
        """Of each lot, layer and slot of the plan before, how many of the pairs stand there."""
        for number, flow in enumerate(self.flows):
            for step, stood in enumerate(flow.stood):
                for slot, pairs in stood.items():
                    cut = self.cut.get((number, step, slot))
                    if cut is not None:
                        stays = self.cp.new_int_var(0, pairs, f"s{number}.{step}.{slot}")
                        self.cp.add(stays <= cut)
                        yield stays

    def lateness(self, late: tuple[tuple[int, ...], ...]) -> cp_model.LinearExpr:
        """Weighted pair-days of all orders, with the days that each is ``late`` when finished on a day."""
        pieces, terms, constant = self.pieces, [], 0
        for order, days in enumerate(late):
            weight, base = pieces.weights[order], days[max(0, pieces.held_until[order])]
            constant += weight * base
            for day in range(pieces.days):
                # What it costs more to be finished after this day than by it.
                step = max(days[day + 1], base) - max(days[day], base)
                if step:
                    terms.append((weight * step, self._is_after(order, day)))
        return weighted(terms) + constant

    def _is_after(self, order: int, day: int) -> Literal:
        """Whether an order is finished after a day, or not at all."""
        if (order, day) not in self._after:
            self._after[order, day] = after = self.cp.new_bool_var(f"a{order}.{day}")
            for number, flow in enumerate(self.flows):
                if flow.order == order:
                    last = len(flow.route) - 1
                    slots = range((day + 1) * self.pieces.grinders)
                    done = [cut for slot in slots if (cut := self.cut.get((number, last, slot))) is not None]
                    self.cp.add(sum_of(done) >= flow.pairs - flow.pairs * after)
        return self._after[order, day]

    def paths(self, value: Callable[[Expression], int]) -> Paths:
        found: dict[str, list[tuple[int, tuple[int, ...]]]] = {}
        for number, flow in enumerate(self.flows):
            counts, waited = {}, {}
            for (step, slot), cut in self._cuts_of(number, flow):
                counts[step, slot] = value(cut)
                if step:
                    waited[step, slot] = value(self.waited[number, step, slot])
            found |= paths_of(flow, self.pieces.grinders, counts, waited)
        return found

    def _cuts_of(self, number: int, flow: Flow) -> Iterable[tuple[tuple[int, int], Literal]]:
        for step in range(len(flow.route)):
            for slot in self.slots:
                cut = self.cut.get((number, step, slot))
                if cut is not None:
                    yield (step, slot), cut
