"""The shape that goes with each standing, on the pages of every audience; status is never told by colour."""

from __future__ import annotations

from portal.domain.bookings import Stage, Status

STATUS_SHAPES = {
    Status.REQUESTED: "open",
    Status.COUNTERED: "turn",
    Status.CONFIRMED: "full",
    Status.DECLINED: "cross",
    Status.CANCELLED: "cross",
    Status.COMPLETED: "tick",
}
STAGE_SHAPES = {
    Stage.AWAITED: "open",
    Stage.CHECKED_IN: "half",
    Stage.STOPPED: "turn",
    Stage.GROUND: "full",
    Stage.UNGROUND: "cross",
    Stage.HANDED_BACK: "tick",
}
