"""How much base is left on a pair, in whole micrometres, and for how many grinds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from portal.domain.removals import Forecast, forecast
from portal.domain.words import N_


class Place(StrEnum):
    """Where the base is measured."""

    TIP = "tip"
    MIDDLE = "middle"
    TAIL = "tail"

    @property
    def label(self) -> str:
        return {Place.TIP: N_("Tip"), Place.MIDDLE: N_("Middle"), Place.TAIL: N_("Tail")}[self]

    @property
    def spoken(self) -> str:
        """The place within a sentence: "at the tip"."""
        return {Place.TIP: N_("tip"), Place.MIDDLE: N_("middle"), Place.TAIL: N_("tail")}[self]


@dataclass(frozen=True)
class Thickness:
    """The base at three places in whole micrometres; nothing where it was not measured."""

    tip_um: int | None
    middle_um: int | None
    tail_um: int | None

    def at(self, place: Place) -> int | None:
        """The reading at one place."""
        return {Place.TIP: self.tip_um, Place.MIDDLE: self.middle_um, Place.TAIL: self.tail_um}[place]

    @property
    def measured(self) -> dict[Place, int]:
        """The places that have a reading, from tip to tail."""
        return {place: um for place in Place if (um := self.at(place)) is not None}

    @property
    def thinnest(self) -> tuple[Place, int] | None:
        """The place with the least base and its reading; the one nearer the tip when two are equal."""
        readings = self.measured
        return min(readings.items(), key=lambda reading: reading[1]) if readings else None


@dataclass(frozen=True)
class BaseGrind:
    """What one grind did to the base: readings before and after, and what it was expected to take off.

    ``stated_um`` is the removal the structure states, with the flattening added where the base was flattened.
    """

    day: date
    before: Thickness | None
    after: Thickness | None
    stated_um: int

    @property
    def removed_um(self) -> int | None:
        """Mean loss over the places measured before and after, rounded up; nothing when no place was measured twice."""
        if self.before is None or self.after is None:
            return None
        after = self.after.measured
        losses = [um - after[place] for place, um in self.before.measured.items() if place in after]
        return -(-sum(losses) // len(losses)) if losses else None


@dataclass(frozen=True)
class Measured:
    """A measurement without a grind, as when a pair comes in; a grind on the same day came after it."""

    day: date
    thickness: Thickness


@dataclass(frozen=True)
class Reading:
    """The thinnest point of the base as last measured, and how many grinds came after the measurement.

    ``is_beside`` says that it was measured without a grind.
    """

    um: int
    place: Place
    day: date
    grinds_since: int
    is_beside: bool = False


@dataclass(frozen=True)
class BaseLife:
    """What is known of a pair's base; ``reading`` and ``grinds_left`` are empty when it was never measured.

    ``forecast`` is what the next grinds take off; nothing as long as it is not known what they would be.
    """

    grinds: tuple[BaseGrind, ...]
    minimum_um: int
    stated_um: int
    removal_um: int
    reading: Reading | None
    grinds_left: int | None
    forecast: Forecast | None = None

    @property
    def compared(self) -> int:
        """How many grinds of this pair were measured before and after, and so corrected the stated removal."""
        return sum(grind.removed_um is not None for grind in self.grinds)

    @property
    def removal_range_um(self) -> tuple[int, int] | None:
        """What the next grind takes off in 80 of 100 cases, from and to, in whole micrometres."""
        return None if self.forecast is None else self.forecast.range_um()

    @property
    def left_range(self) -> tuple[int, int] | None:
        """How many grinds are left in 80 of 100 cases, from and to; nothing for a base that was never measured."""
        if self.forecast is None or self.reading is None:
            return None
        low, high = self.forecast.grinds_in(self.reading.um - self.minimum_um)
        return max(0, low - self.reading.grinds_since), max(0, high - self.reading.grinds_since)

    def base_range_um(self, more: int) -> tuple[int, int] | None:
        """The thinnest point after so many more grinds in 80 of 100 cases, from and to, in whole micrometres."""
        if self.forecast is None or self.reading is None:
            return None
        return self.forecast.left_um(self.reading.um, self.reading.grinds_since + more)


def grinds_left(thinnest_um: int, minimum_um: int, removal_um: int) -> int:
    """Whole grinds until the minimum: floor((thinnest - minimum) / removal), never below nothing.

    Whole micrometres, because in floating point (0.7 - 0.4) / 0.1 comes out a little below 3 and the floor loses a grind.
    """
    if removal_um <= 0:
        raise ValueError("a grind takes off at least one micrometre")
    return max(0, (thinnest_um - minimum_um) // removal_um)


def would_pass_minimum(thinnest_um: int, minimum_um: int, removal_um: int) -> bool:
    """Whether a grind that takes ``removal_um`` would leave less base than the workshop's minimum."""
    return thinnest_um - removal_um < minimum_um


def forecast_of(stated_um: int, history: Sequence[BaseGrind]) -> Forecast:
    """What grinds that state ``stated_um`` take off on the pair with this history."""
    return forecast(
        stated_um,
        [(removed, grind.stated_um) for grind in history if (removed := grind.removed_um) is not None],
    )


def expected_removal_um(stated_um: int, history: Sequence[BaseGrind]) -> int:
    """What the next grind of this pair is expected to take off, in whole micrometres, rounded up."""
    return forecast_of(stated_um, history).expected_um


def last_reading(grinds: Sequence[BaseGrind], measured: Sequence[Measured] = ()) -> Reading | None:
    """The newest measurement, where a reading before a grind counts that grind as made since; oldest grind first."""
    there = [one for one in measured if one.thickness.thinnest is not None]
    newest = max(reversed(there), key=lambda one: one.day, default=None)
    for since, grind in enumerate(reversed(grinds)):
        if newest is not None and newest.day > grind.day:
            return _reading(newest.thickness, newest.day, since, is_beside=True)
        for thickness, more in ((grind.after, 0), (grind.before, 1)):
            if (found := _reading(thickness, grind.day, since + more)) is not None:
                return found
    return None if newest is None else _reading(newest.thickness, newest.day, len(grinds), is_beside=True)


def _reading(
    thickness: Thickness | None, day: date, since: int, *, is_beside: bool = False
) -> Reading | None:
    if thickness is None or (thinnest := thickness.thinnest) is None:
        return None
    return Reading(thinnest[1], thinnest[0], day, since, is_beside)


def base_life(
    grinds: Sequence[BaseGrind], minimum_um: int, stated_um: int, measured: Sequence[Measured] = ()
) -> BaseLife:
    """The life of a base from the pair's grinds in any order, and from what was measured besides, the oldest first.

    ``stated_um`` is the removal of the structure that is next; grinds made since the last measurement are counted off
    at the expected removal, so an old reading never promises grinds that are already spent.
    """
    ordered = tuple(sorted(grinds, key=lambda grind: grind.day))
    coming = forecast_of(stated_um, ordered)
    removal = coming.expected_um
    reading = last_reading(ordered, measured)
    left = (
        None
        if reading is None
        else grinds_left(reading.um - reading.grinds_since * removal, minimum_um, removal)
    )
    return BaseLife(ordered, minimum_um, stated_um, removal, reading, left, coming)
