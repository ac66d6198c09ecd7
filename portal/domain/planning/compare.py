"""Two plans of nearly the same work side by side: what moved, the dressings, and what is late in the one and the other."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from portal.domain.planning.problem import Plan, Run


@dataclass(frozen=True, order=True)
class Slot:
    """A grinder on a day."""

    day: date
    grinder: str


@dataclass(frozen=True)
class Move:
    """Pairs of a lot that get a layer elsewhere; ``was`` or ``now`` is empty for work that only the other plan has."""

    lot: str
    layer: str
    pairs: int
    was: Slot | None
    now: Slot | None


@dataclass(frozen=True)
class LayerDressings:
    """How often the stone is dressed for a layer."""

    layer: str
    before: int
    after: int


@dataclass(frozen=True)
class Lateness:
    """Working days that an order is late; 0 where it is in time or not in the plan."""

    order: str
    before: int
    after: int


@dataclass(frozen=True)
class Totals:
    """What a plan adds up to."""

    dressings: int
    dressing_minutes: int
    late_pair_days: int
    late_orders: int


@dataclass(frozen=True)
class Comparison:
    """From the plan before to the one after; pairs are counted once for each layer they get.

    ``late`` has every order that is late in either plan, ``dressings`` every layer that either dresses for.
    """

    moves: tuple[Move, ...]
    stays: int
    dressings: tuple[LayerDressings, ...]
    late: tuple[Lateness, ...]
    before: Totals
    after: Totals

    @property
    def moved(self) -> int:
        """Pairs and layers that both plans have, on another day or grinder."""
        return sum(one.pairs for one in self.moves if one.was is not None and one.now is not None)

    @property
    def to_another_day(self) -> int:
        """Those of them that change the day."""
        return sum(
            one.pairs
            for one in self.moves
            if one.was is not None and one.now is not None and one.was.day != one.now.day
        )

    @property
    def dropped(self) -> int:
        """Pairs and layers that only the plan before has."""
        return sum(one.pairs for one in self.moves if one.now is None)

    @property
    def added(self) -> int:
        """Pairs and layers that only the plan after has."""
        return sum(one.pairs for one in self.moves if one.was is None)

    @property
    def becomes_late(self) -> tuple[Lateness, ...]:
        """Orders that were in time, or not there, and are late now."""
        return tuple(one for one in self.late if not one.before)

    @property
    def no_longer_late(self) -> tuple[Lateness, ...]:
        """Orders that were late and are in time now, or not there."""
        return tuple(one for one in self.late if not one.after)

    @property
    def extra_dressing_minutes(self) -> int:
        """Dressing minutes that the plan after has more; below zero where it saves some."""
        return self.after.dressing_minutes - self.before.dressing_minutes


def compare(before: Plan, after: Plan) -> Comparison:
    """What changes from ``before`` to ``after``; both call the same things by the same names."""
    was, now = _places(before.runs), _places(after.runs)
    moves: list[Move] = []
    stays = 0
    for key in dict.fromkeys((*was, *now)):
        old, new = was.get(key, Counter()), now.get(key, Counter())
        stays += (old & new).total()
        moves += _moves(*key, old - new, new - old)
    return Comparison(
        moves=tuple(moves),
        stays=stays,
        dressings=_dressings(before.runs, after.runs),
        late=_late(before, after),
        before=_totals(before),
        after=_totals(after),
    )


def _places(runs: Iterable[Run]) -> dict[tuple[str, str], Counter[Slot]]:
    """Pairs of (lot, layer) on each slot."""
    found: dict[tuple[str, str], Counter[Slot]] = {}
    for run in runs:
        for lot, pairs in run.lots:
            found.setdefault((lot, run.layer), Counter())[Slot(run.day, run.grinder)] += pairs
    return found


def _moves(lot: str, layer: str, old: Counter[Slot], new: Counter[Slot]) -> Iterable[Move]:
    """Pairs of a lot are alike: those that keep their day come first, then the earliest from before go to the earliest now."""
    made: Counter[tuple[Slot | None, Slot | None]] = Counter()
    for same_day in (True, False):
        for was in sorted(old):
            for now in sorted(new):
                pairs = min(old[was], new[now])
                if pairs and (was.day == now.day or not same_day):
                    made[was, now] += pairs
                    old[was] -= pairs
                    new[now] -= pairs
    for slot in sorted(old):
        made[slot, None] += old[slot]
    for slot in sorted(new):
        made[None, slot] += new[slot]
    return [Move(lot, layer, pairs, was, now) for (was, now), pairs in made.items() if pairs]


def _dressings(before: Iterable[Run], after: Iterable[Run]) -> tuple[LayerDressings, ...]:
    many: tuple[Counter[str], Counter[str]] = (Counter(), Counter())
    for counted, runs in zip(many, (before, after), strict=True):
        for run in runs:
            counted[run.layer] += run.dressings
    return tuple(
        LayerDressings(layer, many[0][layer], many[1][layer]) for layer in dict.fromkeys((*many[0], *many[1]))
    )


def _late(before: Plan, after: Plan) -> tuple[Lateness, ...]:
    was, now = ({one.order: one.days for one in plan.late} for plan in (before, after))
    return tuple(
        Lateness(order, was.get(order, 0), now.get(order, 0)) for order in dict.fromkeys((*was, *now))
    )


def _totals(plan: Plan) -> Totals:
    return Totals(plan.dressings, plan.dressing_minutes, plan.late_pair_days, len(plan.late))
