"""The same programme where the stone keeps its dressing overnight, as far as it takes to say what no plan is below.

A dressing that is carried over serves as many pairs here as a new one does, less the one it was dressed for; that makes more
plans possible than there are, and the programme small. In the literature: set-up carry-over, linked lot sizes (Suerie and
Stadtler 2003, Management Science 49).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from portal.domain.planning.solver.days import (
    DayModel,
    Expression,
    Literal,
    Place,
    Question,
    sum_of,
    weighted,
)


class EveningModel(DayModel):
    """All plans, and some that cannot be worked: for bounds, and for guesses."""

    is_exact = False

    def __init__(self, question: Question, is_stopped: Callable[[], bool]) -> None:
        # Whether the stone is dressed for a layer in the evening: that of the last run of the day, or what it brought along.
        self.on: dict[Place, Expression] = {}
        self.last: dict[Place, Literal] = {}
        self.keep: dict[Place, Literal] = {}
        # Whether pairs are first in the morning, on the dressing of the evening before.
        self.carried: dict[Place, Literal] = {}
        super().__init__(question, is_stopped)

    def _stone(self) -> None:
        for grinder, stone in enumerate(self.pieces.dressed):
            if stone is not None:
                self.on[grinder - self.pieces.grinders, stone[0]] = 1
        for slot in self.slots:
            self._evening(slot)
        for (slot, layer), dressings in self.dressings.items():
            carried = self.carried.get((slot, layer), 0)
            most = self._most_left(slot, layer)
            self.cp.add(self.pairs[slot, layer] <= self.pieces.life[layer] * dressings + most * carried)
            self._only_where(slot, layer, self.dressed[slot, layer] + carried)
            self._first_and_last(slot, layer, carried)

    def _evening(self, slot: int) -> None:
        self._go_on()
        before = slot - self.pieces.grinders
        here = [layer for layer in self.layers if (slot, layer) in self.dressings]
        brought = [layer for layer in self.layers if (before, layer) in self.on]
        evening, kept = [], []
        for layer in sorted({*here, *brought}):
            name, ways = f"{slot}.{layer}", []
            if layer in here:
                last = self.last[slot, layer] = self.cp.new_bool_var(f"last{name}")
                self.cp.add_implication(last, self.dressed[slot, layer])
                ways.append(last)
            if layer in brought:
                keep = self.keep[slot, layer] = self.cp.new_bool_var(f"keep{name}")
                self.cp.add(keep <= self.on[before, layer])
                kept.append((layer, keep))
                ways.append(keep)
                if layer in here:
                    carried = self.carried[slot, layer] = self.cp.new_bool_var(f"first{name}")
                    self.cp.add(carried <= self.on[before, layer])
            stays = self.cp.new_bool_var(f"on{name}")
            self.cp.add(sum_of(ways) == stays)
            self.on[slot, layer] = stays
            evening.append(stays)
        self.cp.add_at_most_one(evening)
        if kept and here:
            self._idle(slot, here, kept)

    def _idle(self, slot: int, here: Iterable[int], kept: list[tuple[int, Literal]]) -> None:
        """Whoever keeps the dressing of the morning all day long dresses for nothing."""
        idle = self.cp.new_bool_var(f"idle{slot}")
        self.cp.add(sum_of(keep for _layer, keep in kept) <= idle)
        for layer in here:
            self.cp.add_implication(idle, ~self.dressed[slot, layer])
        # Implied: the day then has the minutes of what that dressing serves, and no more.
        capacity, unused = self.pieces.capacity[slot], []
        for layer, keep in kept:
            longest = max(
                (self.flows[number].run[step] for number, step in self.here.get((slot, layer), ())), default=0
            )
            unused.append((max(0, capacity - longest * self._most_left(slot, layer)), keep))
        dressings = weighted((self.pieces.dress[layer], self.dressings[slot, layer]) for layer in here)
        self.cp.add(dressings + self._runs(slot) + weighted(unused) <= capacity)

    def _most_left(self, slot: int, layer: int) -> int:
        """Pairs that a carried dressing serves at most: one was cut since the stone was dressed, if that was not before
        the first day."""
        return max(self.pieces.life[layer] - 1, self._left_before(slot, layer))

    def _left_before(self, slot: int, layer: int) -> int:
        """Pairs that the stone of a slot serves before the first day, if it is dressed for this layer."""
        stone = self.pieces.dressed[slot % self.pieces.grinders]
        return stone[1] if stone is not None and stone[0] == layer else 0

    def _first_and_last(self, slot: int, layer: int, carried: Expression) -> None:
        """Implied: the pairs of the first run waited for it, and those of the last need no other layer on the day."""
        dressed, last = self.dressed[slot, layer], self.last[slot, layer]
        for number, step in self.here[slot, layer]:
            most, cut = self.flows[number].pairs, self.cut[number, step, slot]
            if step:
                self.cp.add(cut <= self.waited[number, step, slot] + most * dressed)
            then = self.cut.get((number, step + 1, slot))
            if then is not None:
                waited = self.waited[number, step + 1, slot]
                self.cp.add(then <= waited + most * (dressed - last + carried))

    def _carried_into(self, day: int, layer: int) -> Iterable[tuple[int, Expression]]:
        life = self.pieces.life[layer]
        for slot in range((day - 1) * self.pieces.grinders, day * self.pieces.grinders):
            if (slot, layer) in self.on:
                yield max(1, -(-self._left_before(slot, layer) // life)), self.on[slot, layer]
