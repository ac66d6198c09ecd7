"""How a booking stands, how each of its pairs stands, and every move between."""

from __future__ import annotations

from enum import StrEnum

from portal.domain.errors import NotNow
from portal.domain.words import N_, Phrase


class Status(StrEnum):
    """What skier and workshop have agreed."""

    REQUESTED = "requested"
    COUNTERED = "countered"
    CONFIRMED = "confirmed"
    DECLINED = "declined"
    CANCELLED = "cancelled"
    COMPLETED = "completed"

    @property
    def label(self) -> str:
        return STATUS_LABELS[self]

    @property
    def is_open(self) -> bool:
        """Whether anything can still happen."""
        return bool(STATUS_MOVES[self])

    @property
    def holds_capacity(self) -> bool:
        """Whether minutes of the stone are kept for it."""
        return self not in {Status.DECLINED, Status.CANCELLED}


class Stage(StrEnum):
    """Where one pair of a booking is."""

    AWAITED = "awaited"
    CHECKED_IN = "checked_in"
    # Nobody grinds it until its owner or the workshop has answered what is to be done.
    STOPPED = "stopped"
    GROUND = "ground"
    # It goes back as it came.
    UNGROUND = "unground"
    HANDED_BACK = "handed_back"

    @property
    def label(self) -> str:
        return STAGE_LABELS[self]

    @property
    def is_waiting(self) -> bool:
        """Whether nothing is left to do but to collect it."""
        return self in {Stage.GROUND, Stage.UNGROUND}


# The one table of moves. A booking is completed when its last pair is handed back.
STATUS_MOVES: dict[Status, frozenset[Status]] = {
    Status.REQUESTED: frozenset({Status.CONFIRMED, Status.COUNTERED, Status.DECLINED, Status.CANCELLED}),
    Status.COUNTERED: frozenset({Status.CONFIRMED, Status.COUNTERED, Status.CANCELLED}),
    Status.CONFIRMED: frozenset({Status.CANCELLED, Status.COMPLETED}),
    Status.DECLINED: frozenset(),
    Status.CANCELLED: frozenset(),
    Status.COMPLETED: frozenset(),
}

STAGE_MOVES: dict[Stage, frozenset[Stage]] = {
    Stage.AWAITED: frozenset({Stage.CHECKED_IN}),
    Stage.CHECKED_IN: frozenset({Stage.GROUND, Stage.STOPPED}),
    Stage.STOPPED: frozenset({Stage.CHECKED_IN, Stage.UNGROUND}),
    Stage.GROUND: frozenset({Stage.HANDED_BACK}),
    Stage.UNGROUND: frozenset({Stage.HANDED_BACK}),
    Stage.HANDED_BACK: frozenset(),
}

# What the bench does next with a pair.
NEXT_STAGES: dict[Stage, Stage] = {
    Stage.AWAITED: Stage.CHECKED_IN,
    Stage.CHECKED_IN: Stage.GROUND,
    Stage.GROUND: Stage.HANDED_BACK,
    Stage.UNGROUND: Stage.HANDED_BACK,
}

STATUS_LABELS = {
    Status.REQUESTED: N_("Waiting for the workshop"),
    Status.COUNTERED: N_("Counter-offer waiting for an answer"),
    Status.CONFIRMED: N_("Confirmed"),
    Status.DECLINED: N_("Declined"),
    Status.CANCELLED: N_("Cancelled"),
    Status.COMPLETED: N_("Completed"),
}

STAGE_LABELS = {
    Stage.AWAITED: N_("Not handed in yet"),
    Stage.CHECKED_IN: N_("At the workshop"),
    Stage.STOPPED: N_("Stopped, waits for an answer"),
    Stage.GROUND: N_("Ground, ready to collect"),
    Stage.UNGROUND: N_("Not ground, ready to collect"),
    Stage.HANDED_BACK: N_("Handed back"),
}


def move(now: Status, to: Status) -> Status:
    """``to``, or ``NotNow`` when a booking that stands at ``now`` cannot go there."""
    if to not in STATUS_MOVES[now]:
        raise NotNow(
            Phrase(
                N_("This booking stands at “%(now)s”, so it cannot become “%(to)s”."),
                {"now": Phrase(now.label), "to": Phrase(to.label)},
            )
        )
    return to


def next_stage(now: Stage) -> Stage | None:
    """What is next for a pair when all goes well; nothing once it is handed back, or while an answer is waited for."""
    return NEXT_STAGES.get(now)


def advance(now: Stage, to: Stage) -> Stage:
    """``to``, or ``NotNow`` when a pair that stands at ``now`` cannot go there."""
    if to not in STAGE_MOVES[now]:
        raise NotNow(
            Phrase(
                N_("This pair stands at “%(now)s”, so it cannot become “%(to)s”."),
                {"now": Phrase(now.label), "to": Phrase(to.label)},
            )
        )
    return to


class Event(StrEnum):
    """What can happen to a booking; kept with who and when."""

    REQUESTED = "requested"
    CONFIRMED = "confirmed"
    COUNTERED = "countered"
    ACCEPTED = "accepted"
    REFUSED = "refused"
    DECLINED = "declined"
    CANCELLED = "cancelled"
    CHECKED_IN = "checked_in"
    GROUND = "ground"
    UNDONE = "undone"
    HANDED_BACK = "handed_back"
    LAPSED = "lapsed"
    MOVED = "moved"
    TAKEN_OUT = "taken_out"
    ADDED = "added"
    SWAPPED = "swapped"
    OTHER_WORK = "other_work"
    PAID = "paid"
    GIVEN_BACK = "given_back"
    PARCEL_IN = "parcel_in"
    PARCEL_OUT = "parcel_out"
    TAKEN_AT_DESK = "taken_at_desk"
    SPLIT = "split"
    SPLIT_FROM = "split_from"
    CORRECTED = "corrected"
    STOPPED = "stopped"
    LIGHTER = "lighter"
    TAKEN_BACK = "taken_back"
    GOES_ON = "goes_on"
    REMINDED = "reminded"
    REWORK_ASKED = "rework_asked"
    REWORK_MADE = "rework_made"
    REWORK_REFUSED = "rework_refused"
    REWORKS = "reworks"
    CRATE_UNPACKED = "crate_unpacked"

    @property
    def label(self) -> str:
        return EVENT_LABELS[self]


EVENT_LABELS = {
    Event.REQUESTED: N_("Request sent"),
    Event.CONFIRMED: N_("Confirmed by the workshop"),
    Event.COUNTERED: N_("Counter-offer made"),
    Event.ACCEPTED: N_("Counter-offer accepted"),
    Event.REFUSED: N_("Counter-offer refused"),
    Event.DECLINED: N_("Declined by the workshop"),
    Event.CANCELLED: N_("Cancelled"),
    Event.CHECKED_IN: N_("Pair checked in"),
    Event.GROUND: N_("Grind recorded"),
    Event.UNDONE: N_("Record of the grind undone"),
    Event.HANDED_BACK: N_("Pair handed back"),
    Event.LAPSED: N_("Time on the stone no longer held"),
    Event.MOVED: N_("Moved to another day"),
    Event.TAKEN_OUT: N_("Pair taken out"),
    Event.ADDED: N_("Pair added"),
    Event.SWAPPED: N_("Another pair in its place"),
    Event.OTHER_WORK: N_("Other work on a pair"),
    Event.PAID: N_("Paid"),
    Event.GIVEN_BACK: N_("Money given back"),
    Event.PARCEL_IN: N_("Parcel sent to the workshop"),
    Event.PARCEL_OUT: N_("Parcel sent back"),
    Event.TAKEN_AT_DESK: N_("Booked at the workshop and confirmed"),
    Event.SPLIT: N_("Some pairs became a booking of their own"),
    Event.SPLIT_FROM: N_("Parted from another booking"),
    Event.CORRECTED: N_("Check-in corrected"),
    Event.STOPPED: N_("Work on a pair stopped"),
    Event.LIGHTER: N_("Stopped pair gets lighter work"),
    Event.TAKEN_BACK: N_("Stopped pair is taken back unground"),
    Event.GOES_ON: N_("Work on a stopped pair goes on"),
    Event.REMINDED: N_("Reminded that skis wait"),
    Event.REWORK_ASKED: N_("Something is wrong with a grind"),
    Event.REWORK_MADE: N_("The pair is ground again in another booking"),
    Event.REWORK_REFUSED: N_("The pair is not ground again"),
    Event.REWORKS: N_("Made to grind a pair again"),
    Event.CRATE_UNPACKED: N_("Crate unpacked"),
}

# Without letters and digits that look or sound alike.
REFERENCE_LETTERS = "ACDEFHJKMNPRTUVWXY347"
REFERENCE_LENGTH = 7
# How many there are; a random number below it makes one.
REFERENCES = len(REFERENCE_LETTERS) ** REFERENCE_LENGTH


def reference_of(number: int) -> str:
    """A booking's reference, easy to read aloud, from a random number below ``REFERENCES``."""
    letters = []
    for _ in range(REFERENCE_LENGTH):
        number, rest = divmod(number, len(REFERENCE_LETTERS))
        letters.append(REFERENCE_LETTERS[rest])
    return "".join(letters[:3]) + "-" + "".join(letters[3:])


def references_in(scanned: str) -> tuple[str, ...]:
    """The references that were meant by what was scanned or typed; the address of an order is the same as its reference."""
    last = scanned.strip().rstrip("/").rpartition("/")[2]
    bare = "".join(one for one in last.upper() if one.isalnum())
    return (bare, f"{bare[:3]}-{bare[3:]}")
