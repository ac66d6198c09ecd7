"""The plan that people already work from: where its work stands, and what it costs to move it.

Pairs of a lot are as good as one another. Of a lot's pairs that stood on a slot, as many stayed as stand there now.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from portal.domain.planning.problem import Problem

# (lot, number of the layer)
Key = tuple[str, int]
# Minutes that one step of a piece costs on a slot that is not named, and on those that are.
Charge = tuple[float, Mapping[int, float]]
# Costs are whole numbers: hundredths of a minute.
HUNDREDTHS = 100


@dataclass(frozen=True)
class Before:
    """Pairs by slot of each lot and layer; ``charge`` is what moving a pair costs, in hundredths of a minute.

    ``gone`` counts pairs and layers that lots no longer have: those did not move.
    """

    pairs: Mapping[Key, Mapping[int, int]]
    gone: int
    charge: int


def before_of(problem: Problem, number: Mapping[str, int]) -> Before:
    """What of the plan before still has its lot, layer, day and grinder; ``number`` are the numbers of the layers."""
    lots = {lot.name: lot for _order, lot in problem.lots}
    days = {day.day: at for at, day in enumerate(problem.days)}
    grinders = {grinder.name: at for at, grinder in enumerate(problem.grinders)}
    pairs: dict[Key, dict[int, int]] = {}
    for one in problem.before:
        known = one.lot in lots and one.layer in lots[one.lot].layers
        if known and one.day in days and one.grinder in grinders:
            slot = days[one.day] * len(grinders) + grinders[one.grinder]
            stood = pairs.setdefault((one.lot, number[one.layer]), {})
            stood[slot] = stood.get(slot, 0) + one.pairs
    gone = sum(max(0, sum(stood.values()) - lots[lot].pairs) for (lot, _layer), stood in pairs.items())
    return Before(pairs, gone, round(HUNDREDTHS * problem.move_minutes))


class Moves:
    """Counts what has moved while work is put on slots and taken off; ``moved`` are pairs and layers."""

    def __init__(self, before: Before) -> None:
        self.charge = before.charge
        self._missing = {key: dict(stood) for key, stood in before.pairs.items()}
        self.moved = sum(sum(stood.values()) for stood in before.pairs.values()) - before.gone

    def change(self, lot: str, layer: int, slot: int, pairs: int) -> None:
        """So many pairs of a lot get a layer on this slot, or no longer where the number is below zero."""
        missing = self._missing.get((lot, layer))
        if missing is not None and slot in missing:
            here = missing[slot]
            missing[slot] = here - pairs
            self.moved += max(0, here - pairs) - max(0, here)

    def charges(self, lot: str, layers: Sequence[int], pairs: int) -> tuple[Charge, ...] | None:
        """What each step of a piece costs by slot, in minutes; None for a lot that stood nowhere."""
        if not self.charge or not any((lot, layer) in self._missing for layer in layers):
            return None
        each, made = self.charge / HUNDREDTHS, []
        for layer in layers:
            missing = self._missing.get((lot, layer), {})
            there = {slot: each * max(0, pairs - count) for slot, count in missing.items() if count > 0}
            made.append((each * pairs if missing else 0.0, there))
        return tuple(made)
