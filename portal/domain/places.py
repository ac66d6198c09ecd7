"""Places where skis are handed in: when each takes them, and when they reach the workshop."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from enum import StrEnum

from portal.domain.words import N_

COUNTER_KEY = "counter"
EVERY_DAY = frozenset(range(7))


class PlaceKind(StrEnum):
    """How skis get from there to the workshop."""

    COUNTER = "counter"
    CLUB = "club"
    VAN = "van"
    POST = "post"

    @property
    def label(self) -> str:
        return {
            PlaceKind.COUNTER: N_("Counter of the workshop"),
            PlaceKind.CLUB: N_("Place of a club"),
            PlaceKind.VAN: N_("Van round"),
            PlaceKind.POST: N_("By post"),
        }[self]


@dataclass(frozen=True)
class HandIn:
    """When a place takes skis. ``weekdays`` count from 0 for Monday; the cut-off is a time of the workshop's clock on the
    hand-in day, or ``cut_off_days`` before it; ``travel_days`` pass until the skis are at the workshop."""

    kind: PlaceKind = PlaceKind.COUNTER
    weekdays: frozenset[int] = EVERY_DAY
    cut_off: time | None = None
    cut_off_days: int = 0
    travel_days: int = 0

    @property
    def needs_open_workshop(self) -> bool:
        """The counter takes skis only while the workshop is open."""
        return self.kind is PlaceKind.COUNTER

    @property
    def returns_by_post(self) -> bool:
        """Skis that come in a parcel go home in one."""
        return self.kind is PlaceKind.POST

    def arrival(self, day: date) -> date:
        """The day on which skis handed in on ``day`` have made their way, be the workshop open then or not."""
        return day + timedelta(days=self.travel_days)

    def takes(self, day: date, local: datetime) -> bool:
        """Whether skis can still be handed in on ``day`` when it is ``local`` by the workshop's clock."""
        if day.weekday() not in self.weekdays or day < local.date():
            return False
        closes = day - timedelta(days=self.cut_off_days)
        if self.cut_off is None:
            return local.date() <= closes
        return local.replace(tzinfo=None) <= datetime.combine(closes, self.cut_off)


def hand_in_days(place: HandIn, open_days: Iterable[date], local: datetime, last_arrival: date) -> list[date]:
    """The days on which skis can be handed in there so that they arrive by ``last_arrival``."""
    if place.needs_open_workshop:
        days: Iterable[date] = sorted(set(open_days))
    else:
        span = (last_arrival - local.date()).days
        days = (local.date() + timedelta(days=ahead) for ahead in range(max(0, span) + 1))
    return [day for day in days if place.takes(day, local) and place.arrival(day) <= last_arrival]
