"""From the bookings to a problem for the stone plan.

A pair's minutes on a layer may differ from another's, by its extras and its structure: pairs with the same work are a lot,
and each lot brings its own. The plan is written onto the ledger when it is taken, which reckons no dressing kept overnight,
so its days have to hold their work without one. Where the ledger has a pair is where it stands before: the ledger is a plan
that keeps all promises, and a new one is looked for from there.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from portal.domain.planning.lots import LotOf, Lots, PairOf, Places, grinder_name
from portal.domain.planning.problem import (
    Day,
    Dressed,
    Frozen,
    Grinder,
    Lot,
    Order,
    Problem,
    StoneLayer,
)
from portal.domain.planning.promise import Place
from portal.domain.planning.routes import Work


@dataclass(frozen=True)
class OpenDay:
    """A day to plan on: minutes that are still to be used of each grinder, and the dressings as the ledger reckons them."""

    day: date
    minutes: tuple[int, ...]
    dress_minutes: int
    life_pairs: int


@dataclass(frozen=True)
class PairToGrind:
    """One pair of a booking that has to be ground.

    ``places`` are where the ledger has each step of ``work``, nothing where it has none; ``is_known`` says that people
    already work from these. A pair that ``is_here`` can be ground at once, others from the day after hand-in on.
    """

    item: int
    booking: int
    reference: str
    work: Work
    places: tuple[Place, ...]
    hand_in: date
    due: date
    weight: int = 1
    is_here: bool = False
    steps_done: int = 0
    is_known: bool = False
    pin: Place | None = None

    @property
    def left(self) -> Work:
        """The steps that are still to be done."""
        return self.work[self.steps_done :]

    @property
    def stands(self) -> tuple[Place, ...]:
        """Where the ledger has those."""
        return self.places[self.steps_done :] if len(self.places) == len(self.work) else ()


@dataclass(frozen=True)
class Stone:
    """What the stone of a grinder, numbered from 0, is dressed for, and the pairs that still serves."""

    grinder: int
    layer: str
    left: int


@dataclass(frozen=True)
class FromBookings:
    """The problem, the pairs behind each of its lots, and the booking items that it does not do justice to.

    ``loose`` have a pin that cannot be kept; ``left_out`` have no day that is long enough after they arrive.
    """

    problem: Problem
    lots: Lots
    loose: tuple[int, ...] = ()
    left_out: tuple[int, ...] = ()


def problem_from(
    days: Sequence[OpenDay],
    pairs: Sequence[PairToGrind],
    stones: Iterable[Stone] = (),
    *,
    today: date,
    buffer_days: int = 0,
    more: Iterable[Work] = (),
) -> FromBookings | None:
    """The problem of grinding these pairs on these days, or None when there is no day or nothing to grind.

    Pairs of one booking that arrive together are an order, and those of them with the same work left a lot. What is
    pinned, and what people have on their sheet for today, is frozen as far as it still fits. The layers of the works in
    ``more`` are known too, for orders that are put in later. A grinder that does not run on a day has no minutes there.
    """
    open_days = sorted((one for one in days if any(one.minutes)), key=lambda one: one.day)
    pairs = [one for one in pairs if one.left]
    if not open_days or not pairs:
        return None
    count = max(len(one.minutes) for one in open_days)
    has = {one.day: (*one.minutes, *[0] * (count - len(one.minutes))) for one in open_days}
    layers = _layers(open_days, [*(one.left for one in pairs), *more])
    kept = [one for one in pairs if _has_a_day(one, layers, open_days, today)]
    if not kept:
        return None
    fixed, loose = _fixed(kept, layers, has, today)
    orders, lots, layers_of = _orders(kept, fixed, today)
    problem = Problem(
        days=tuple(Day.of_each(day, minutes) for day, minutes in has.items()),
        grinders=_grinders(stones, count, layers),
        layers=tuple(layers.values()),
        orders=orders,
        frozen=_standing(lots, layers_of, lambda one: one.fixed),
        buffer_days=buffer_days,
        before=_standing(lots, layers_of, lambda one: one.before),
        whole_days=True,
    )
    out = {one.item for one in pairs} - {one.item for one in kept}
    return FromBookings(problem, lots, tuple(loose), tuple(sorted(out)))


def arrives(pair: PairToGrind, today: date) -> date:
    """The first day on which it can be ground: at once when it is here, else the day after it is handed in."""
    return today if pair.is_here else max(pair.hand_in, today) + timedelta(days=1)


def _layers(days: Sequence[OpenDay], works: Iterable[Work]) -> dict[str, StoneLayer]:
    """Each layer with the dearest dressing that a day reckons; pairs bring minutes of their own, the most stand here."""
    run: dict[str, int] = {}
    for work in works:
        for step in work:
            run[step.layer] = max(run.get(step.layer, 0), step.minutes)
    dress = max(one.dress_minutes for one in days)
    life = min(one.life_pairs for one in days)
    return {name: StoneLayer(name, dress, minutes, life) for name, minutes in sorted(run.items())}


def _has_a_day(
    pair: PairToGrind, layers: Mapping[str, StoneLayer], days: Sequence[OpenDay], today: date
) -> bool:
    need = max(layers[step.layer].dress_minutes + step.minutes for step in pair.left)
    return any(one.day >= arrives(pair, today) and max(one.minutes) >= need for one in days)


def _grinders(stones: Iterable[Stone], count: int, layers: Mapping[str, StoneLayer]) -> tuple[Grinder, ...]:
    on = {one.grinder: Dressed(one.layer, one.left) for one in stones if one.layer in layers and one.left > 0}
    return tuple(Grinder(grinder_name(number), on.get(number)) for number in range(count))


# --- what stays where it is ---


def _fixed(
    pairs: Sequence[PairToGrind],
    layers: Mapping[str, StoneLayer],
    has: Mapping[date, Sequence[int]],
    today: date,
) -> tuple[dict[int, Places], list[int]]:
    """Where the steps of each pair have to be, and the pairs whose pin cannot be kept.

    Pins come first, then today's sheet in the order of the pairs, each as far as it fits the minutes of its day.
    """
    room = _Room(layers, has)
    fixed: dict[int, Places] = {}
    loose: list[int] = []
    for pair in pairs:
        if pair.pin is None:
            continue
        stays = (pair.pin,) * len(pair.left)
        if pair.pin.day >= arrives(pair, today) and room.take(pair.left, stays):
            fixed[pair.item] = stays
        else:
            loose.append(pair.item)
    for pair in pairs:
        if not (pair.is_known and pair.is_here) or pair.item in fixed:
            continue
        on_sheet = [place for place in pair.stands if place.day == today]
        if on_sheet and pair.stands[0].day == today and room.take(pair.left, on_sheet):
            fixed[pair.item] = (*on_sheet, *[None] * (len(pair.left) - len(on_sheet)))
    return fixed, loose


class _Room:
    """Minutes of the days with what is frozen on them, no dressing kept overnight."""

    def __init__(self, layers: Mapping[str, StoneLayer], minutes: Mapping[date, Sequence[int]]) -> None:
        """``minutes`` of the grinders by day."""
        self.layers, self.minutes = layers, minutes
        self.pairs: dict[Place, Counter[str]] = {}
        self.spent: Counter[Place] = Counter()

    def take(self, work: Work, places: Sequence[Place]) -> bool:
        """Put the first steps of a pair on these places, if there is room for all of them."""
        if not all(0 <= one.grinder < len(self.minutes.get(one.day, ())) for one in places):
            return False
        self._put(work, places, 1)
        if all(self._used(place) <= self.minutes[place.day][place.grinder] for place in places):
            return True
        self._put(work, places, -1)
        return False

    def _put(self, work: Work, places: Sequence[Place], by: int) -> None:
        for step, place in zip(work, places, strict=False):
            self.pairs.setdefault(place, Counter())[step.layer] += by
            self.spent[place] += by * step.minutes

    def _used(self, place: Place) -> int:
        return self.spent[place] + sum(
            self.layers[name].dress_minutes * -(-count // self.layers[name].life_pairs)
            for name, count in self.pairs[place].items()
        )


# --- orders and lots ---


def _orders(
    pairs: Sequence[PairToGrind], fixed: Mapping[int, Places], today: date
) -> tuple[tuple[Order, ...], dict[str, LotOf], dict[str, tuple[str, ...]]]:
    by_order: dict[tuple[int, date], list[PairToGrind]] = {}
    for pair in sorted(pairs, key=lambda one: (one.booking, one.item)):
        by_order.setdefault((pair.booking, arrives(pair, today)), []).append(pair)
    parts = Counter(booking for booking, _day in by_order)
    orders: list[Order] = []
    lots: dict[str, LotOf] = {}
    layers_of: dict[str, tuple[str, ...]] = {}
    for (booking, day), members in sorted(by_order.items()):
        reference = members[0].reference
        # A booking of which a part is here and the rest is not is two orders: each can be worked on from its own day on.
        name = reference if parts[booking] == 1 else f"{reference} {day.isoformat()}"
        by_work: dict[tuple[Work, int], list[PairToGrind]] = {}
        for pair in members:
            by_work.setdefault((pair.left, pair.steps_done), []).append(pair)
        made = []
        for number, ((work, done), same) in enumerate(by_work.items(), 1):
            lot = f"{name}/{number}"
            layers = tuple(step.layer for step in work)
            made.append(Lot(lot, len(same), layers, tuple(step.minutes for step in work)))
            layers_of[lot] = layers
            lots[lot] = LotOf(booking, done, tuple(_pair_of(one, fixed) for one in same))
        orders.append(Order(name, day, members[0].due, tuple(made), members[0].weight))
    return tuple(orders), lots, layers_of


def _pair_of(pair: PairToGrind, fixed: Mapping[int, Places]) -> PairOf:
    nowhere: Places = (None,) * len(pair.left)
    return PairOf(
        pair.item,
        fixed.get(pair.item, nowhere),
        pair.stands or nowhere,
    )


def _standing(
    lots: Lots, layers_of: Mapping[str, tuple[str, ...]], where: Callable[[PairOf], Places]
) -> tuple[Frozen, ...]:
    counted: Counter[tuple[str, str, Place]] = Counter()
    for name, lot in lots.items():
        for pair in lot.pairs:
            for layer, place in zip(layers_of[name], where(pair), strict=True):
                if place is not None:
                    counted[name, layer, place] += 1
    return tuple(
        Frozen(name, layer, place.day, grinder_name(place.grinder), count)
        for (name, layer, place), count in counted.items()
    )
