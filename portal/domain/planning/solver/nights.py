"""The same programme with all that the stone keeps overnight, pair by pair: every plan that can be worked, and no other."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence

from portal.domain.planning.solver.days import Cut, Expression, Literal, Place, Question, sum_of, weighted
from portal.domain.planning.solver.evenings import EveningModel


class NightModel(EveningModel):
    """Plans of any kind."""

    is_exact = True

    def __init__(self, question: Question, is_stopped: Callable[[], bool]) -> None:
        # Pairs that are first in the morning, of each lot and in all; those that the stone still serves in the evening.
        self.early: dict[Cut, Literal] = {}
        self.first: dict[Place, Literal] = {}
        self.left: dict[Place, Expression] = {}
        # Dressings more than needed.
        self.sharp: dict[Place, Literal] = {}
        super().__init__(question, is_stopped)

    def _stone(self) -> None:
        super()._stone()
        pieces = self.pieces
        for grinder, stone in enumerate(pieces.dressed):
            if stone is not None:
                self.left[grinder - pieces.grinders, stone[0]] = stone[1]
        for slot, layer in self.on:
            if slot >= 0:
                self._night(slot, layer)
        for (slot, layer), dressings in self.dressings.items():
            life, today = pieces.life[layer], self.pairs[slot, layer] - self.first.get((slot, layer), 0)
            self.cp.add(today <= life * dressings)
            # Nobody dresses in the evening for the pairs of tomorrow: each dressing has a pair of today.
            self.cp.add(today >= life * dressings - (life - 1) * self.dressed[slot, layer])
            if (slot, layer) in self.sharp:
                self.cp.add(today >= dressings + self.sharp[slot, layer])

    def _night(self, slot: int, layer: int) -> None:
        """What the stone carries into the slot is used first, and what it carries out of it."""
        self._go_on()
        before, life, most = (
            slot - self.pieces.grinders,
            self.pieces.life[layer],
            self._most_left(slot, layer),
        )
        first: Expression = 0
        if (slot, layer) in self.carried:
            first = self.first[slot, layer] = self.cp.new_int_var(0, most, f"f{slot}.{layer}")
            self.cp.add(first <= self.left[before, layer])
            self.cp.add(first <= most * self.carried[slot, layer])
            self._early(slot, layer, first)
        remains = self.left[slot, layer] = self.cp.new_int_var(0, most, f"l{slot}.{layer}")
        self.cp.add(remains <= most * self.on[slot, layer])
        last, keep = self.last.get((slot, layer)), self.keep.get((slot, layer))
        if last is not None:
            sharp = self._sharp(slot, layer, last)
            self.cp.add(remains <= life - 1).only_enforce_if(last)
            self.cp.add(
                remains <= life * self.dressings[slot, layer] + life * sharp - self.pairs[slot, layer] + first
            ).only_enforce_if(last)
            self._last_goes_nowhere(slot, layer, last)
        if keep is not None:
            self.cp.add(remains <= self.left[before, layer] - first).only_enforce_if(keep)

    def _sharp(self, slot: int, layer: int, last: Literal) -> Expression:
        """Whether the last layer is dressed for once more than it needs, for the sake of the next day."""
        pairs = sum(self.flows[number].pairs for number, _step in self.here[slot, layer])
        if min(pairs, self.pieces.life[layer]) < 2:
            return 0
        sharp = self.sharp[slot, layer] = self.cp.new_bool_var(f"x{slot}.{layer}")
        self.cp.add_implication(sharp, last)
        return sharp

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
        self.cp.add(sum_of(several) <= first)
        self.cp.add(first <= sum_of([*single, *several]))

    def _last_goes_nowhere(self, slot: int, layer: int, last: Literal) -> None:
        """Pairs of the last run of a day need no other layer on it, but those of the first run may."""
        for number, step in self.here[slot, layer]:
            then = self.cut.get((number, step + 1, slot))
            if then is not None:
                early = self.early.get((number, step, slot), 0)
                self.cp.add(then <= self.waited[number, step + 1, slot] + early).only_enforce_if(last)

    def _each_dressing(self) -> Iterable[tuple[Place, Literal]]:
        return itertools.chain(self.dressings.items(), self.sharp.items())

    def _minutes(self) -> None:
        super()._minutes()
        if self.pieces.problem.whole_days:
            for slot in self.slots:
                here = [layer for layer in self.layers if (slot, layer) in self.dressings]
                self._whole_day(slot, here, self._runs(slot))

    def _whole_day(self, slot: int, layers: Sequence[int], runs: Expression) -> None:
        """The day has the minutes of its runs and of all the dressings they need when no stone brings one along."""
        alone = []
        for layer in layers:
            pairs, life = self.pairs[slot, layer], self.pieces.life[layer]
            most = -(-sum(self.flows[number].pairs for number, _step in self.here[slot, layer]) // life)
            dressings = self.cp.new_int_var(0, most, f"a{slot}.{layer}")
            self.cp.add(life * dressings >= pairs)
            alone.append((self.pieces.dress[layer], dressings))
        self.cp.add(runs + weighted(alone) <= self.pieces.capacity[slot])
