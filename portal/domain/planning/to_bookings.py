"""From a stone plan back to the bookings: which pair gets which step on which day and grinder.

Pairs of a lot are as good as one another for the plan, but not for the people who work from it: what is fixed stays where
it is, and a pair keeps its place in the plan before wherever that is still a place of its lot.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date

from portal.domain.planning.lots import Lots, PairOf, Places, grinder_number
from portal.domain.planning.problem import Problem, Run
from portal.domain.planning.promise import Place


def places_of(problem: Problem, runs: Iterable[Run], lots: Lots) -> dict[int, Places]:
    """The place of each step that is left, by booking item; None from the first step on that the plan has no place for."""
    cut: dict[tuple[str, str], Counter[Place]] = {}
    for run in runs:
        place = Place(run.day, grinder_number(run.grinder))
        for name, pairs in run.lots:
            cut.setdefault((name, run.layer), Counter())[place] += pairs
    found: dict[int, Places] = {}
    for _order, lot in problem.lots:
        # An order that was only supposed has nobody's pairs.
        if lot.name in lots:
            steps = [cut.get((lot.name, layer), Counter()) for layer in lot.layers]
            found.update(_share(lots[lot.name].pairs, steps))
    return found


def can_follow(place: Place, after: Place) -> bool:
    """Whether a step may be at ``after`` when the one before it is at ``place``: on a later day, or on the same grinder."""
    return after == place or after.day > place.day


def _share(pairs: Sequence[PairOf], steps: Sequence[Counter[Place]]) -> dict[int, Places]:
    """Share the places of each step among the pairs, one step after the other.

    Whatever pair is where, the next step can be shared again: that hangs on the places of the step, not on the pairs. A
    pair whose steps are all fixed on one place may be taken out of this, since whoever came from there or goes there can
    take its neighbour's way instead.
    """
    made: dict[int, list[Place | None]] = {one.item: [] for one in pairs}
    for at, places in enumerate(steps):
        left = Counter(places)
        for one in pairs:
            fixed = one.fixed[at]
            if fixed is not None:
                made[one.item].append(fixed)
                left[fixed] -= 1
        open_pairs = [one for one in pairs if one.fixed[at] is None]
        before = [made[one.item][at - 1] if at else Place(date.min) for one in open_pairs]
        wished = [one.before[at] for one in open_pairs]
        for one, place in zip(open_pairs, _matched(before, wished, sorted_places(left)), strict=True):
            made[one.item].append(place)
    return {item: tuple(places) for item, places in made.items()}


def sorted_places(counted: Counter[Place]) -> list[Place]:
    """Each as often as it is counted, in the order of days and grinders."""
    return [
        place
        for place in sorted(counted, key=lambda one: (one.day, one.grinder))
        for _ in range(counted[place])
    ]


def _matched(
    before: Sequence[Place | None], wished: Sequence[Place | None], places: Sequence[Place]
) -> list[Place | None]:
    """A place for as many pairs as can have one, wishes first; a way of changes finds one for the others (Kuhn 1955)."""
    holder: list[int | None] = [None] * len(places)
    for pair, wish in enumerate(wished):
        for at, place in enumerate(places):
            if place == wish and holder[at] is None and _may(before[pair], place):
                holder[at] = pair
                break

    def find(pair: int, seen: set[int]) -> bool:
        may = [at for at, place in enumerate(places) if at not in seen and _may(before[pair], place)]
        seen.update(may)
        # One that nobody has moves nobody.
        free = next((at for at in may if holder[at] is None), None)
        if free is not None:
            holder[free] = pair
            return True
        for at in may:
            other = holder[at]
            if other is not None and find(other, seen):
                holder[at] = pair
                return True
        return False

    for pair in range(len(before)):
        if pair not in holder:
            find(pair, set())
    found: list[Place | None] = [None] * len(before)
    for at, holding in enumerate(holder):
        if holding is not None:
            found[holding] = places[at]
    return found


def _may(before: Place | None, place: Place) -> bool:
    return before is not None and can_follow(before, place)
