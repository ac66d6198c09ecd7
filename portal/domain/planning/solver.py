"""The same problem for CP-SAT: what no plan can be below, and often a better plan. The only module that loads OR-Tools.

The model is the day ledger as an integer programme, with what the stone keeps overnight. It counts pairs of each lot by layer
and slot, so that every way to split a lot is in it. Its unit is the run of one dressing and its clock the day; the order
within a day needs no variables, because the layers of all lots follow one order.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from ortools.sat.python import cp_model

from portal.domain.planning.flows import Flow, Paths, counts_of, flows_of, paths_of
from portal.domain.planning.moves import HUNDREDTHS
from portal.domain.planning.pieces import MOST_PAIRS, Pieces
from portal.domain.planning.search import Found

# With two cores, proofs come from cores of contradictions and from the search on linear relaxations; the mixture that
# two workers get by default hardly moves the bound. Found by trying.
WORKERS, SUBSOLVERS = 3, ("core", "lb_tree_search")

Literal = cp_model.IntVar
Expression = cp_model.LinearExpr | int
# (flow, step, slot), (flow, step, day), (slot, layer)
Cut = tuple[int, int, int]
Wait = tuple[int, int, int]
Place = tuple[int, int]


def _sum(terms: Iterable[Expression]) -> cp_model.LinearExpr:
    listed = list(terms)
    return cp_model.LinearExpr.weighted_sum(listed, [1] * len(listed))


def _weighted(terms: Iterable[tuple[int, Expression]]) -> cp_model.LinearExpr:
    """The sum of (weight, expression)."""
    listed = list(terms)
    return cp_model.LinearExpr.weighted_sum(
        [expression for _weight, expression in listed], [weight for weight, _expression in listed]
    )


@dataclass(frozen=True)
class Solved:
    """``paths`` are better than what was known, or None; no plan is below ``bound``.

    It counts weighted pair-days, or the cost in hundredths of a minute.
    """

    paths: Paths | None
    bound: int


class Stopped(Exception):
    """Somebody said stop while the model was being made."""


class Solver:
    """One problem; ``stop`` ends what is running, from another thread."""

    def __init__(self, pieces: Pieces, seed: int = 1) -> None:
        self.pieces, self.seed = pieces, seed
        self._running: cp_model.CpSolver | None = None
        self._stopped = False
        # What was found and not yet taken, from whatever thread.
        self.newest: Paths | None = None

    def stop(self) -> None:
        self._stopped = True
        if self._running is not None:
            self._running.stop_search()

    def take_newest(self) -> Paths | None:
        newest, self.newest = self.newest, None
        return newest

    def least_late(self, known: Found, seconds: float) -> Solved:
        """Fewer weighted pair-days late than ``known``, and their bound; dressings count only as minutes."""
        model = self._model(known)
        return self._solve(model, model.lateness(self.pieces.late), known.score.late, seconds)

    def least_past(self, known: Found, seconds: float) -> Solved:
        """Fewer weighted pair-days into the buffer, where no order is finished after its last day."""
        model = self._model(known, settled=True)
        return self._solve(model, model.lateness(self.pieces.past), known.score.past, seconds)

    def least_past_of_all(self, known: Found, seconds: float) -> Solved:
        """The same for every plan that is no later in all, whichever orders are the late ones."""
        model = self._model(known)
        model.cp.add(model.lateness(self.pieces.late) <= known.score.late)
        return self._solve(model, model.lateness(self.pieces.past), known.score.past, seconds)

    def least_cost(self, known: Found, seconds: float) -> Solved:
        """Fewer dressings and moves than ``known``, where no order is finished after its last day."""
        model = self._model(known, settled=True, together=True)
        return self._solve(model, model.cost(), known.score.cost, seconds)

    def least_cost_of_whole_lots(self, known: Found, seconds: float) -> Solved:
        """The same where small lots are not split, which is soon decided; its bound says nothing of other plans."""
        model = self._model(known, settled=True, whole=True)
        return replace(self._solve(model, model.cost(), known.score.cost, seconds), bound=0)

    def least_cost_of_all(self, known: Found, seconds: float) -> Solved:
        """The same for every plan that is no later in all, whichever orders are the late ones."""
        model = self._model(known)
        model.cp.add(model.lateness(self.pieces.late) <= known.score.late)
        model.cp.add(model.lateness(self.pieces.past) <= known.score.past)
        return self._solve(model, model.cost(), known.score.cost, seconds)

    def _model(
        self, known: Found, *, settled: bool = False, together: bool = False, whole: bool = False
    ) -> _Model:
        return _Model(
            self.pieces,
            known,
            settled=settled,
            together=together,
            whole=whole,
            is_stopped=lambda: self._stopped,
        )

    def _solve(self, model: _Model, goal: Expression, value: int, seconds: float) -> Solved:
        """Less than the ``value`` of what is known."""
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = WORKERS
        solver.parameters.subsolvers.extend(SUBSOLVERS)
        solver.parameters.max_time_in_seconds = max(0.01, seconds)
        solver.parameters.random_seed = self.seed
        model.cp.minimize(goal)
        model.cp.add(goal <= value - 1)
        self._running = solver
        if self._stopped:
            return Solved(None, 0)
        status = solver.solve(model.cp, _Noted(self, model))
        self._running = None
        if status == cp_model.INFEASIBLE:
            # Nothing is better than what was known, so that is the best there is.
            return Solved(None, value)
        if status == cp_model.OPTIMAL:
            return Solved(model.paths(solver.value), round(solver.objective_value))
        bound = max(0, math.ceil(solver.best_objective_bound - 1e-6))
        if status == cp_model.FEASIBLE:
            return Solved(model.paths(solver.value), bound)
        # What is looked for is below what is known, so the bound cannot be above that.
        return Solved(None, min(bound, value))


class _Noted(cp_model.CpSolverSolutionCallback):
    """Hands on each solution when it is found."""

    def __init__(self, solver: Solver, model: _Model) -> None:
        super().__init__()
        self.solver, self.model = solver, model

    def on_solution_callback(self) -> None:
        self.solver.newest = self.model.paths(self.value)


class _Model:
    def __init__(
        self,
        pieces: Pieces,
        known: Found,
        *,
        together: bool,
        settled: bool,
        whole: bool,
        is_stopped: Callable[[], bool],
    ) -> None:
        self.pieces, self.is_stopped, self.settled, self.whole = pieces, is_stopped, settled, whole
        self.cp = cp_model.CpModel()
        self.slots = range(pieces.days * pieces.grinders)
        self.layers = range(len(pieces.layers))
        self.known, self.known_done = counts_of(pieces, known.placed)
        self.flows = flows_of(pieces, together=together)
        # Pairs cut, those of them that waited for it overnight, and those that are first in the morning.
        self.cut: dict[Cut, Literal] = {}
        self.is_cut: dict[Cut, Literal] = {}
        self.waited: dict[Cut, Expression] = {}
        self.early: dict[Cut, Literal] = {}
        # Pairs that have had a step, and wait for the next one in the evening.
        self.waits: dict[Wait, Literal] = {}
        self.here: dict[Place, list[tuple[int, int]]] = defaultdict(list)
        for number, flow in enumerate(self.flows):
            self._flow(number, flow)
        self.pairs = {
            (slot, layer): _sum(self.cut[number, step, slot] for number, step in steps)
            for (slot, layer), steps in self.here.items()
        }
        self.dressings: dict[Place, Literal] = {}
        self.dressed: dict[Place, Literal] = {}
        # Dressings more than needed.
        self.sharp: dict[Place, Literal] = {}
        self.first: dict[Place, Literal] = {}
        self._after: dict[tuple[int, int], Literal] = {}
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
                if slot in held or self.pieces.capacity[slot] >= flow.run[step]:
                    name = f"c{number}.{step}.{slot}"
                    new = self.cp.new_int_var(held.get(slot, 0), flow.pairs, name)
                    self.cp.add_hint(new, sum(self.known[lot, step, slot] for lot, _pairs in flow.lots))
                    self.cut[number, step, slot] = new
                    self.is_cut[number, step, slot] = self._is_cut(flow, new)
                    self.here[slot, layer].append((number, step))
            mine = _sum(
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
        if self.whole and flow.pairs <= MOST_PAIRS and not any(flow.frozen):
            self.cp.add(cut == flow.pairs * is_cut)
        else:
            self.cp.add(cut <= flow.pairs * is_cut)
            self.cp.add(cut >= is_cut)
        return is_cut

    def _slots_of(self, flow: Flow) -> range:
        return range(flow.first * self.pieces.grinders, (flow.last + 1) * self.pieces.grinders)

    def _done(self, number: int, flow: Flow) -> Expression:
        """Pairs that get all their layers; at least as many as now, where it is settled which orders are late."""
        if self.settled:
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
            waits = self.cp.new_int_var(0, flow.pairs, f"w{number}.{step}.{day}")
            self.cp.add(waits == before + _sum(had) - _sum(cuts.values()))
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
                self.cp.add(_sum(old) <= before)
            self.waits[number, step, day] = waits
            before = waits

    # --- the stone ---

    def _stone(self) -> None:
        pieces = self.pieces
        for (slot, layer), steps in sorted(self.here.items()):
            pairs = sum(self.flows[number].pairs for number, _step in steps)
            most = -(-pairs // pieces.life[layer])
            dressings = self.cp.new_int_var(0, most, f"n{slot}.{layer}")
            dressed = dressings if most == 1 else self.cp.new_bool_var(f"u{slot}.{layer}")
            if most > 1:
                self.cp.add(dressings >= dressed)
                self.cp.add(dressings <= most * dressed)
            self.dressings[slot, layer], self.dressed[slot, layer] = dressings, dressed
        on: dict[Place, Expression] = {}
        left: dict[Place, Expression] = {}
        for grinder, stone in enumerate(pieces.dressed):
            if stone is not None:
                on[grinder - pieces.grinders, stone[0]] = 1
                left[grinder - pieces.grinders, stone[0]] = stone[1]
        for slot in self.slots:
            self._night(slot, on, left)
        self.on = on
        for (slot, layer), dressings in self.dressings.items():
            carried = on.get((slot - pieces.grinders, layer), 0)
            life, today = pieces.life[layer], self.pairs[slot, layer] - self.first.get((slot, layer), 0)
            self.cp.add(today <= life * dressings)
            # Nobody dresses in the evening for the pairs of tomorrow: each dressing has a pair of today.
            self.cp.add(today >= life * dressings - (life - 1) * self.dressed[slot, layer])
            if (slot, layer) in self.sharp:
                self.cp.add(today >= dressings + self.sharp[slot, layer])
            for number, step in self.here[slot, layer]:
                # Implied, and what makes the linear relaxation strong.
                most = self.flows[number].pairs
                self.cp.add(self.cut[number, step, slot] <= most * self.dressed[slot, layer] + most * carried)
                self.cp.add(self.is_cut[number, step, slot] <= self.dressed[slot, layer] + carried)

    def _night(self, slot: int, on: dict[Place, Expression], left: dict[Place, Expression]) -> None:
        """What the stone carries into the slot is used first, and what it carries out of it."""
        self._go_on()
        pieces, before = self.pieces, slot - self.pieces.grinders
        here = [layer for layer in self.layers if (slot, layer) in self.dressings]
        carried_in = [layer for layer in self.layers if (before, layer) in on]
        evening = []
        for layer in sorted({*here, *carried_in}):
            life = pieces.life[layer]
            carried = (before, layer) in on
            name = f"{slot}.{layer}"
            # At least one pair was cut since the stone was dressed, if that was not before the first day.
            most = max(life - 1, self._left_before(slot, layer))
            first: Expression = 0
            if layer in here and carried:
                first = self.first[slot, layer] = self.cp.new_int_var(0, most, f"f{name}")
                self.cp.add(first <= left[before, layer])
                self._early(slot, layer, first)
            stays = self.cp.new_bool_var(f"on{name}")
            remains = self.cp.new_int_var(0, most, f"l{name}")
            self.cp.add(remains <= most * stays)
            ways = []
            if layer in here:
                last = self.cp.new_bool_var(f"last{name}")
                ways.append(last)
                self.cp.add_implication(last, self.dressed[slot, layer])
                sharp = self._sharp(slot, layer, last)
                self.cp.add(remains <= life - 1).only_enforce_if(last)
                self.cp.add(
                    remains
                    <= life * self.dressings[slot, layer] + life * sharp - self.pairs[slot, layer] + first
                ).only_enforce_if(last)
                self._last_goes_nowhere(slot, layer, last)
            if carried:
                keep = self.cp.new_bool_var(f"keep{name}")
                ways.append(keep)
                self.cp.add(keep <= on[before, layer])
                for other in here:
                    self.cp.add_implication(keep, ~self.dressed[slot, other])
                self.cp.add(remains <= left[before, layer] - first).only_enforce_if(keep)
            self.cp.add(_sum(ways) == stays)
            on[slot, layer], left[slot, layer] = stays, remains
            evening.append(stays)
        self.cp.add_at_most_one(evening)

    def _sharp(self, slot: int, layer: int, last: Literal) -> Expression:
        """Whether the last layer is dressed for once more than it needs, for the sake of the next day."""
        pairs = sum(self.flows[number].pairs for number, _step in self.here[slot, layer])
        if min(pairs, self.pieces.life[layer]) < 2:
            return 0
        sharp = self.sharp[slot, layer] = self.cp.new_bool_var(f"x{slot}.{layer}")
        self.cp.add_implication(sharp, last)
        return sharp

    def _left_before(self, slot: int, layer: int) -> int:
        """Pairs that the stone of a slot serves before the first day, if it is dressed for this layer."""
        stone = self.pieces.dressed[slot % self.pieces.grinders]
        return stone[1] if stone is not None and stone[0] == layer else 0

    def _early(self, slot: int, layer: int, first: Literal) -> None:
        """Pairs of each lot that are first in the morning: they wait for the layer since the days before."""
        single, several = [], []
        for number, step in self.here[slot, layer]:
            cut = self.cut[number, step, slot]
            if len(self.flows[number].route) == 1:
                # Any of them may be.
                single.append(cut)
                continue
            early = self.cp.new_int_var(0, self.flows[number].pairs, f"e{number}.{step}.{slot}")
            self.cp.add(early <= cut)
            if step:
                self.cp.add(early <= self.waited[number, step, slot])
            self.early[number, step, slot] = early
            several.append(early)
        self.cp.add(_sum(several) <= first)
        self.cp.add(first <= _sum([*single, *several]))

    def _last_goes_nowhere(self, slot: int, layer: int, last: Literal) -> None:
        """Pairs of the last run of a day need no other layer on it, but those of the first run may."""
        for number, step in self.here[slot, layer]:
            then = self.cut.get((number, step + 1, slot))
            if then is not None:
                early = self.early.get((number, step, slot), 0)
                self.cp.add(then <= self.waited[number, step + 1, slot] + early).only_enforce_if(last)

    # --- days ---

    def _minutes(self) -> None:
        pieces = self.pieces
        for slot in self.slots:
            here = [layer for layer in self.layers if (slot, layer) in self.dressings]
            dressings = _weighted(
                (pieces.dress[layer], each[slot, layer])
                for layer in here
                for each in (self.dressings, self.sharp)
                if (slot, layer) in each
            )
            runs = _weighted(
                (self.flows[number].run[step], self.cut[number, step, slot])
                for layer in here
                for number, step in self.here[slot, layer]
            )
            self.cp.add(dressings + runs <= pieces.capacity[slot])
            if pieces.problem.whole_days:
                self._whole_day(slot, here, runs)

    def _whole_day(self, slot: int, layers: Sequence[int], runs: Expression) -> None:
        """The day has the minutes of its runs and of all the dressings they need when no stone brings one along."""
        alone = []
        for layer in layers:
            pairs, life = self.pairs[slot, layer], self.pieces.life[layer]
            most = -(-sum(self.flows[number].pairs for number, _step in self.here[slot, layer]) // life)
            dressings = self.cp.new_int_var(0, most, f"a{slot}.{layer}")
            self.cp.add(life * dressings >= pairs)
            alone.append((self.pieces.dress[layer], dressings))
        self.cp.add(runs + _weighted(alone) <= self.pieces.capacity[slot])

    def _needs(self) -> None:
        """Implied: what has to be cut within some days needs its dressings within them."""
        grinders = self.pieces.grinders
        windows: dict[int, dict[tuple[int, int], int]] = defaultdict(lambda: defaultdict(int))
        for flow in self.flows:
            if self.settled and all(self.known_done[lot] == pairs for lot, pairs in flow.lots):
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
                    night = range((first - 1) * grinders, first * grinders)
                    dressings = [
                        each for slot in days if (each := self.dressings.get((slot, layer))) is not None
                    ]
                    carried = [
                        (
                            max(1, -(-self._left_before(slot, layer) // self.pieces.life[layer])),
                            self.on[slot, layer],
                        )
                        for slot in night
                        if (slot, layer) in self.on
                    ]
                    if needed:
                        self.cp.add(_sum(dressings) + _weighted(carried) >= needed)

    # --- what is asked for ---

    def cost(self) -> cp_model.LinearExpr:
        """Dressing minutes and what is charged for moved work, in hundredths of a minute."""
        dressings = [
            (HUNDREDTHS * self.pieces.dress[layer], dressings)
            for each in (self.dressings, self.sharp)
            for (_slot, layer), dressings in each.items()
        ]
        before = self.pieces.before
        if not before.charge:
            return _weighted(dressings)
        stayed = [(-before.charge, stays) for stays in self._stayed()]
        most = sum(sum(stood.values()) for stood in before.pairs.values()) - before.gone
        return _weighted(dressings + stayed) + before.charge * most

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
        return _weighted(terms) + constant

    def _is_after(self, order: int, day: int) -> Literal:
        """Whether an order is finished after a day, or not at all."""
        if (order, day) not in self._after:
            self._after[order, day] = after = self.cp.new_bool_var(f"a{order}.{day}")
            for number, flow in enumerate(self.flows):
                if flow.order == order:
                    last = len(flow.route) - 1
                    slots = range((day + 1) * self.pieces.grinders)
                    done = [cut for slot in slots if (cut := self.cut.get((number, last, slot))) is not None]
                    self.cp.add(_sum(done) >= flow.pairs - flow.pairs * after)
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
