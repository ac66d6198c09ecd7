"""The same problem for CP-SAT: what no plan can be below, and often a better plan. The only module that loads OR-Tools.

The model is the day ledger as an integer programme, with what the stone keeps overnight. Its unit is the run of one dressing
and its clock the day; the order within a day needs no variables, because the layers of all lots follow one order.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from ortools.sat.python import cp_model

from portal.domain.planning.moves import HUNDREDTHS
from portal.domain.planning.pieces import Piece, Pieces
from portal.domain.planning.search import Found, Placed

# With two cores, proofs come from cores of contradictions and from the search on linear relaxations; the mixture that
# two workers get by default hardly moves the bound. Found by trying.
WORKERS, SUBSOLVERS = 3, ("core", "lb_tree_search")

Literal = cp_model.IntVar
Expression = cp_model.LinearExpr | int
Step = tuple[int, int]
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
    """``placed`` is better than what was known, or None; ``bound`` holds for every plan of these pieces.

    It counts weighted pair-days, or the cost in hundredths of a minute.
    """

    placed: Placed | None
    bound: int


class Solver:
    """One problem; ``stop`` ends a running ``least_cost`` or ``least_late`` from another thread."""

    def __init__(self, pieces: Pieces, seed: int = 1) -> None:
        self.pieces, self.seed = pieces, seed
        self._running: cp_model.CpSolver | None = None
        self._stopped = False
        self._newest: Placed | None = None

    def stop(self) -> None:
        self._stopped = True
        if self._running is not None:
            self._running.stop_search()

    def newest(self) -> Placed | None:
        """What was found since this was asked the last time, from whatever thread."""
        newest, self._newest = self._newest, None
        return newest

    def found(self, placed: Placed) -> None:
        self._newest = placed

    def least_late(self, known: Found, seconds: float) -> Solved:
        """Fewer weighted pair-days late than ``known``, and their bound; dressings count only as minutes."""
        model = _Model(self.pieces)
        late = model.lateness()
        model.cp.minimize(late)
        model.cp.add(late <= known.score.late - 1)
        model.hint(known.placed)
        return self._solve(model, seconds, known.score.late)

    def least_cost(self, known: Found, seconds: float) -> Solved:
        """Fewer dressings and moves than ``known``, and their bound; what has a place there has one in every plan."""
        model = _Model(self.pieces, must=known.placed)
        cost = model.cost()
        model.cp.minimize(cost)
        model.cp.add(cost <= known.score.cost - 1)
        model.hint(known.placed)
        return self._solve(model, seconds, known.score.cost)

    def _solve(self, model: _Model, seconds: float, known: int) -> Solved:
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = WORKERS
        solver.parameters.subsolvers.extend(SUBSOLVERS)
        solver.parameters.max_time_in_seconds = max(0.01, seconds)
        solver.parameters.random_seed = self.seed
        self._running = solver
        if self._stopped:
            return Solved(None, 0)
        status = solver.solve(model.cp, _Noted(self, model))
        self._running = None
        if status == cp_model.INFEASIBLE:
            # Nothing is better than what was known, so that is the best there is.
            return Solved(None, known)
        if status == cp_model.OPTIMAL:
            return Solved(model.placed(solver), round(solver.objective_value))
        bound = max(0, math.ceil(solver.best_objective_bound - 1e-6))
        if status == cp_model.FEASIBLE:
            return Solved(model.placed(solver), bound)
        # What is looked for is below what is known, so the bound cannot be above that.
        return Solved(None, min(bound, known))


class _Noted(cp_model.CpSolverSolutionCallback):
    """Hands on each solution when it is found."""

    def __init__(self, solver: Solver, model: _Model) -> None:
        super().__init__()
        self.solver, self.model = solver, model

    def on_solution_callback(self) -> None:
        self.solver.found(self.model.placed(self))


class _Model:
    def __init__(self, pieces: Pieces, must: Collection[int] = ()) -> None:
        self.pieces = pieces
        self.cp = cp_model.CpModel()
        self.slots = range(pieces.days * pieces.grinders)
        self.layers = range(len(pieces.layers))
        self.numbers = [number for number, piece in enumerate(pieces.pieces) if piece.layers]
        # (piece, open step) -> slot -> whether it is cut there.
        self.cut: dict[Step, dict[int, Literal]] = {}
        # Optional pieces: those that may stay undone.
        self.undone: dict[int, Literal] = {}
        # By slot and layer: (piece, open step, whether) of everything that could be cut there.
        self.steps: dict[Place, list[tuple[int, int, Literal]]] = defaultdict(list)
        # Pairs of frozen work by slot and layer, those of them whose layer before is frozen on the same slot, and where some
        # go on to another layer on it.
        self.held: dict[int, dict[int, int]] = defaultdict(lambda: defaultdict(int))
        self.held_on_held: dict[Place, int] = defaultdict(int)
        self.held_goes_on: set[Place] = set()
        for piece in pieces.pieces:
            self._hold(piece)
        for number in self.numbers:
            self._place(number, optional=number not in must)
        self._boths: dict[tuple[int, int, int], Literal] = {}
        self.pairs = {
            place: _weighted((pieces.pieces[number].pairs, literal) for number, _step, literal in steps)
            + self.held[place[0]][place[1]]
            for place, steps in self.steps.items()
        }
        for slot, layers in self.held.items():
            for layer, count in layers.items():
                if (slot, layer) not in self.pairs:
                    self.pairs[slot, layer] = _weighted(()) + count
        self.dressings: dict[Place, Literal] = {}
        self.dressed: dict[Place, Literal] = {}
        self.first: dict[Place, Literal] = {}
        self._stone()
        self._minutes()
        self._cuts()

    # --- pieces ---

    def _hold(self, piece: Piece) -> None:
        """Count the frozen work of a piece."""
        for step, (layer, slot) in enumerate(zip(piece.route, piece.fixed, strict=True)):
            if slot is None:
                continue
            self.held[slot][layer] += piece.pairs
            if step and piece.fixed[step - 1] == slot:
                self.held_on_held[slot, layer] += piece.pairs
            if slot in piece.fixed[step + 1 :]:
                self.held_goes_on.add((slot, layer))

    def _place(self, number: int, *, optional: bool) -> None:
        piece, grinders = self.pieces.pieces[number], self.pieces.grinders
        steps = len(piece.layers)
        for step in range(steps):
            low, high = piece.window[step]
            where = {
                slot: self.cp.new_bool_var(f"c{number}.{step}.{slot}")
                for slot in range(low * grinders, (high + 1) * grinders)
                if self._could_fit(piece.layers[step], slot)
            }
            self.cut[number, step] = where
            for slot, literal in where.items():
                self.steps[slot, piece.layers[step]].append((number, step, literal))
        undone = self.cp.new_bool_var(f"o{number}") if optional else None
        if undone is not None:
            self.undone[number] = undone
        for step in range(steps):
            literals = list(self.cut[number, step].values())
            self.cp.add_exactly_one([*literals, undone] if undone is not None else literals)
            if step:
                self._follow(number, step)

    def _could_fit(self, layer: int, slot: int) -> bool:
        return self.pieces.capacity[slot] >= self.pieces.run[layer]

    def _follow(self, number: int, step: int) -> None:
        """A layer comes after the one before it: on a later day, or on the same day and grinder."""
        before, after, grinders = self.cut[number, step - 1], self.cut[number, step], self.pieces.grinders
        if grinders == 1:
            for slot in sorted(after):
                self.cp.add(
                    _sum(literal for one, literal in after.items() if one <= slot)
                    <= _sum(literal for one, literal in before.items() if one <= slot)
                )
            return
        for slot, literal in after.items():
            day = slot // grinders
            ready = [one for where, one in before.items() if where // grinders < day or where == slot]
            self.cp.add_bool_or([*ready, ~literal])

    # --- the stone ---

    def _stone(self) -> None:
        pieces = self.pieces
        for slot in self.slots:
            for layer in self.layers:
                pairs = self._most_pairs(slot, layer)
                if not pairs:
                    continue
                dressings = self.cp.new_int_var(0, -(-pairs // pieces.life[layer]), f"n{slot}.{layer}")
                dressed = self.cp.new_bool_var(f"u{slot}.{layer}")
                self.cp.add(dressings >= dressed)
                self.cp.add(dressings <= -(-pairs // pieces.life[layer]) * dressed)
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
            first = self.first.get((slot, layer), 0)
            life, today = pieces.life[layer], self.pairs[slot, layer] - first
            self.cp.add(today <= life * dressings)
            # Nobody dresses in the evening for the pairs of tomorrow: each dressing has a pair of today.
            self.cp.add(today >= life * dressings - (life - 1) * self.dressed[slot, layer])
            for _number, _step, literal in self.steps.get((slot, layer), ()):
                # Implied, and what makes the linear relaxation strong.
                self.cp.add(literal <= self.dressed[slot, layer] + carried)

    def _most_pairs(self, slot: int, layer: int) -> int:
        return self.held[slot][layer] + sum(
            self.pieces.pieces[number].pairs for number, _step, _literal in self.steps.get((slot, layer), ())
        )

    def _night(self, slot: int, on: dict[Place, Expression], left: dict[Place, Expression]) -> None:
        """What the stone carries into the slot is used first, and what it carries out of it."""
        pieces, before = self.pieces, slot - self.pieces.grinders
        here = [layer for layer in self.layers if (slot, layer) in self.dressings]
        carried_in = [layer for layer in self.layers if (before, layer) in on]
        evening = []
        for layer in sorted({*here, *carried_in}):
            life = pieces.life[layer]
            carried = (before, layer) in on
            name = f"{slot}.{layer}"
            first: Expression = 0
            if layer in here and carried:
                first = self.first[slot, layer] = self.cp.new_int_var(0, life, f"f{name}")
                self.cp.add(first <= left[before, layer])
                self.cp.add(first <= self._early(slot, layer))
            stays = self.cp.new_bool_var(f"on{name}")
            remains = self.cp.new_int_var(0, life, f"l{name}")
            self.cp.add(remains <= life * stays)
            ways = []
            if layer in here:
                last = self.cp.new_bool_var(f"last{name}")
                ways.append(last)
                self.cp.add_implication(last, self.dressed[slot, layer])
                self.cp.add(
                    remains <= life * self.dressings[slot, layer] - self.pairs[slot, layer] + first
                ).only_enforce_if(last)
                self._last_goes_nowhere(slot, layer, last, first)
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

    def _both(self, number: int, step: int, slot: int) -> Literal | None:
        """Whether an open step and the one after it are cut on the same slot."""
        first, then = (
            self.cut.get((number, step), {}).get(slot),
            self.cut.get((number, step + 1), {}).get(slot),
        )
        if first is None or then is None:
            return None
        key = (number, step, slot)
        if key not in self._boths:
            both = self.cp.new_bool_var(f"b{number}.{step}.{slot}")
            self.cp.add_bool_or([~first, ~then, both])
            self.cp.add_implication(both, first)
            self.cp.add_implication(both, then)
            self._boths[key] = both
        return self._boths[key]

    def _early(self, slot: int, layer: int) -> cp_model.LinearExpr:
        """Pairs that wait for the layer since the days before."""
        pieces, fresh = self.pieces.pieces, []
        for number, step, _literal in self.steps.get((slot, layer), ()):
            both = self._both(number, step - 1, slot) if step else None
            if both is not None:
                fresh.append((pieces[number].pairs, both))
        return self.pairs[slot, layer] - _weighted(fresh) - self.held_on_held.get((slot, layer), 0)

    def _last_goes_nowhere(self, slot: int, layer: int, last: Literal, first: Expression) -> None:
        """Pairs of the last run of a day need no other layer on it, but those of the first run may."""
        goes_on = []
        for number, step, _literal in self.steps.get((slot, layer), ()):
            both = self._both(number, step, slot)
            if both is None:
                continue
            goes_on.append((self.pieces.pieces[number].pairs, both))
            before = self._both(number, step - 1, slot) if step else None
            if before is not None:
                self.cp.add_bool_or([~last, ~before, ~both])
        self.cp.add(_weighted(goes_on) <= first).only_enforce_if(last)
        if (slot, layer) in self.held_goes_on:
            self.cp.add(last == 0)

    # --- days ---

    def _minutes(self) -> None:
        pieces = self.pieces
        for slot in self.slots:
            here = [layer for layer in self.layers if (slot, layer) in self.dressings]
            held = sum(
                pieces.run[layer] * count + pieces.dress[layer] * -(-count // pieces.life[layer])
                for layer, count in self.held[slot].items()
            )
            dressings = _weighted((pieces.dress[layer], self.dressings[slot, layer]) for layer in here)
            spent = dressings + _weighted((pieces.run[layer], self.pairs[slot, layer]) for layer in here)
            # Frozen work that is more than the day has stays; nothing comes on top of it.
            self.cp.add(spent <= max(pieces.capacity[slot], held))

    def _cuts(self) -> None:
        """Implied: what has to be cut within some days needs its dressings within them."""
        pieces, grinders = self.pieces, self.pieces.grinders
        by_layer: dict[int, list[tuple[int, int, int]]] = defaultdict(list)
        for (number, step), where in self.cut.items():
            if where and number not in self.undone:
                piece = pieces.pieces[number]
                by_layer[piece.layers[step]].append(
                    (min(where) // grinders, max(where) // grinders, piece.pairs)
                )
        for slot, layers in self.held.items():
            for layer, count in layers.items():
                by_layer[layer].append((slot // grinders, slot // grinders, count))
        for layer, windows in by_layer.items():
            for first in sorted({low for low, _high, _pairs in windows}):
                for last in sorted({high for _low, high, _pairs in windows if high >= first}):
                    pairs = sum(count for low, high, count in windows if low >= first and high <= last)
                    needed = -(-pairs // pieces.life[layer])
                    if not needed:
                        continue
                    terms = [
                        self.dressings[slot, layer]
                        for slot in range(first * grinders, (last + 1) * grinders)
                        if (slot, layer) in self.dressings
                    ]
                    carried = [
                        self.on[slot, layer]
                        for slot in range((first - 1) * grinders, first * grinders)
                        if (slot, layer) in self.on
                    ]
                    self.cp.add(_sum([*terms, *carried]) >= needed)

    # --- what is asked for ---

    def cost(self) -> cp_model.LinearExpr:
        """Dressing minutes and what is charged for moved work, in hundredths of a minute."""
        dressings = [
            (HUNDREDTHS * self.pieces.dress[layer], dressings)
            for (_slot, layer), dressings in self.dressings.items()
        ]
        before = self.pieces.before
        if not before.charge:
            return _weighted(dressings)
        stayed = [(-before.charge, stays) for stays in self._stayed()]
        most = sum(sum(stood.values()) for stood in before.pairs.values()) - before.gone
        return _weighted(dressings + stayed) + before.charge * most

    def _stayed(self) -> Iterable[Expression]:
        """Of each lot, layer and slot of the plan before, how many of the pairs stand there."""
        here: dict[tuple[str, int, int], list[tuple[int, Expression]]] = defaultdict(list)
        for number, piece in enumerate(self.pieces.pieces):
            open_step = 0
            for layer, slot in zip(piece.route, piece.fixed, strict=True):
                if slot is not None:
                    here[piece.lot, layer, slot].append((piece.pairs, 1))
                    continue
                for where, literal in self.cut[number, open_step].items():
                    here[piece.lot, layer, where].append((piece.pairs, literal))
                open_step += 1
        for (lot, layer), stood in self.pieces.before.pairs.items():
            for slot, pairs in stood.items():
                stays = self.cp.new_int_var(0, pairs, f"s{lot}.{layer}.{slot}")
                self.cp.add(stays <= _weighted(here[lot, layer, slot]))
                yield stays

    def lateness(self) -> cp_model.LinearExpr:
        """Weighted pair-days late of all orders."""
        pieces, grinders = self.pieces, self.pieces.grinders
        terms, constant = [], 0
        for order, mine in enumerate(pieces.open_of):
            late, weight = pieces.late[order], pieces.weights[order]
            base = late[max(0, pieces.held_until[order])]
            constant += weight * base
            if not mine:
                continue
            for day in range(pieces.days):
                # What it costs more to be finished after this day than by it.
                step = max(late[day + 1], base) - max(late[day], base)
                if not step:
                    continue
                after = self.cp.new_bool_var(f"after{order}.{day}")
                terms.append((weight * step, after))
                for number in mine:
                    last_step = len(pieces.pieces[number].layers) - 1
                    done = [
                        literal
                        for slot, literal in self.cut[number, last_step].items()
                        if slot // grinders <= day
                    ]
                    self.cp.add_bool_or([*done, after])
        return _weighted(terms) + constant

    def hint(self, placed: Placed) -> None:
        for (number, step), where in self.cut.items():
            for slot, literal in where.items():
                self.cp.add_hint(literal, number in placed and placed[number][step] == slot)

    def placed(self, solver: cp_model.CpSolver | _Noted) -> Placed:
        found: dict[int, tuple[int, ...]] = {}
        for number in self.numbers:
            if number in self.undone and solver.boolean_value(self.undone[number]):
                continue
            found[number] = tuple(
                next(
                    slot for slot, literal in self.cut[number, step].items() if solver.boolean_value(literal)
                )
                for step in range(len(self.pieces.pieces[number].layers))
            )
        return found
