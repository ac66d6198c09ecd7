"""How a stone plan stands, from asking to working by it, and when one is due by itself."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from enum import StrEnum
from zoneinfo import ZoneInfo

from portal.domain.words import N_

# What a worker may think about a plan, in seconds, and how many days early orders can be wanted.
PLAN_SECONDS = (1, 600)
BUFFER_DAYS = (0, 10)
# How much a booking's days late weigh; race work weighs more.
WEIGHTS = (1, 10)
ORDINARY_WEIGHT, RACE_WEIGHT = 1, 3
# A worker that has not been heard of for so long is gone.
GONE_AFTER = timedelta(seconds=30)
# A plan that its worker did not live to see the end of so often is given up.
MOST_TRIES = 3
# Bookings have to rest for so long before a plan is made of them by itself, and at night one is made in any case.
QUIET = timedelta(minutes=3)
NIGHT = time(3)
# Plans that nobody took are forgotten after a while, those that were worked by are kept.
KEEP = timedelta(days=30)


class Status(StrEnum):
    """Where a plan is on its way."""

    WAITING = "waiting"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
    CANCELLED = "cancelled"

    @property
    def label(self) -> str:
        return STATUS_LABELS[self]

    @property
    def is_over(self) -> bool:
        """Whether no worker will touch it any more."""
        return self in {Status.DONE, Status.FAILED, Status.CANCELLED}


STATUS_LABELS = {
    Status.WAITING: N_("Waiting to be planned"),
    Status.RUNNING: N_("Being planned"),
    Status.DONE: N_("Ready"),
    Status.FAILED: N_("Failed"),
    Status.CANCELLED: N_("Called off"),
}


@dataclass(frozen=True)
class Lately:
    """When something of the bookings that a plan hangs on changed last, and when the last plan was asked for."""

    changed_at: datetime | None
    planned_at: datetime | None


def is_due(lately: Lately, now: datetime, zone: ZoneInfo) -> bool:
    """Whether the worker asks for a plan by itself: bookings changed and rest now, or a night has passed without one."""
    planned, changed = lately.planned_at, lately.changed_at
    if planned is not None and planned > now - QUIET:
        return False
    if changed is not None and (planned is None or planned < changed):
        return changed <= now - QUIET
    return planned is None or planned < _last_night(now, zone)


def _last_night(now: datetime, zone: ZoneInfo) -> datetime:
    here = now.astimezone(zone)
    night = datetime.combine(here.date(), NIGHT, tzinfo=zone)
    # Moments are compared in their own zone, so a night on which clocks change is right too.
    return night if here >= night else datetime.combine(here.date() - timedelta(days=1), NIGHT, tzinfo=zone)
