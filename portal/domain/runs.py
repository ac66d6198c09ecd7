"""A run: pairs ground on one dressing. How its dressing, its pairs and the whole run stand, and what is measured of a pair."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from portal.domain.answers import Discipline
from portal.domain.pairs import Grip
from portal.domain.pressure import ZONES
from portal.domain.words import N_, Phrase

# (tip, middle, tail) in whole micrometres; a point that was not measured is empty.
Points = tuple[int | None, int | None, int | None]
NOT_MEASURED: Points = (None, None, None)
# What one step may take off a base: more than that is a slip of the finger.
REMOVED_UM = (0, 500)


class Cut(StrEnum):
    """How a dressing stands: nobody records a pair on one whose test cut is not signed off."""

    WAITING = "waiting"
    SIGNED_OFF = "signed_off"
    REJECTED = "rejected"

    @property
    def label(self) -> str:
        return {
            Cut.WAITING: N_("Test cut not looked at yet"),
            Cut.SIGNED_OFF: N_("Test cut signed off"),
            Cut.REJECTED: N_("Test cut rejected"),
        }[self]


class PairState(StrEnum):
    """How a pair stands in one run."""

    WAITING = "waiting"
    DONE = "done"
    TAKEN_OUT = "taken_out"

    @property
    def label(self) -> str:
        return {
            PairState.WAITING: N_("To be ground"),
            PairState.DONE: N_("Done"),
            PairState.TAKEN_OUT: N_("Taken out"),
        }[self]


class RunState(StrEnum):
    """What a run waits for."""

    TO_DRESS = "to_dress"
    TEST_CUT = "test_cut"
    AGAIN = "again"
    ON_STONE = "on_stone"
    THROUGH = "through"

    @property
    def label(self) -> str:
        return {
            RunState.TO_DRESS: N_("To be dressed"),
            RunState.TEST_CUT: N_("Test cut to be looked at"),
            RunState.AGAIN: N_("To be dressed again"),
            RunState.ON_STONE: N_("On the stone"),
            RunState.THROUGH: N_("Through"),
        }[self]


class BenchAct(StrEnum):
    """What people do with a run; kept with who and when."""

    BEGUN = "begun"
    DRESSED = "dressed"
    WENT_ON = "went_on"
    SIGNED_OFF = "signed_off"
    REJECTED = "rejected"
    DONE = "done"
    TAKEN_OUT = "taken_out"
    PUT_BACK = "put_back"
    UNDONE = "undone"
    ADDED = "added"

    @property
    def label(self) -> str:
        return ACT_LABELS[self]


ACT_LABELS = {
    BenchAct.BEGUN: N_("Run begun"),
    BenchAct.DRESSED: N_("Stone dressed"),
    BenchAct.WENT_ON: N_("Went on with the dressing on the stone"),
    BenchAct.SIGNED_OFF: N_("Test cut signed off"),
    BenchAct.REJECTED: N_("Test cut rejected"),
    BenchAct.DONE: N_("Pair done"),
    BenchAct.TAKEN_OUT: N_("Pair taken out"),
    BenchAct.PUT_BACK: N_("Pair put back"),
    BenchAct.UNDONE: N_("Pair undone"),
    BenchAct.ADDED: N_("Pair added"),
}


def stands(cuts: Sequence[Cut], pairs: Sequence[PairState]) -> RunState:
    """What a run waits for, from its dressings in their order and its pairs; through only when a pair is done or taken out."""
    if pairs and PairState.WAITING not in pairs:
        return RunState.THROUGH
    if not cuts:
        return RunState.TO_DRESS
    return {
        Cut.WAITING: RunState.TEST_CUT,
        Cut.REJECTED: RunState.AGAIN,
        Cut.SIGNED_OFF: RunState.ON_STONE,
    }[cuts[-1]]


@dataclass(frozen=True)
class Measured:
    """What was measured of a pair on one dressing: thickness and removal in whole µm, wheel force of each zone in N."""

    before_um: Points = NOT_MEASURED
    after_um: Points = NOT_MEASURED
    removed_um: Points = NOT_MEASURED
    pressure_n: tuple[int | None, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """The plain form that ``from_json`` reads back."""
        return {name: list(points) for name, points in vars(self).items() if any_known(points)}

    @classmethod
    def from_json(cls, data: Mapping[str, Any] | None) -> Measured:
        """Read the plain form; what is not in it was not measured."""
        return cls(**{name: tuple(points) for name, points in (data or {}).items()})

    @property
    def settled(self) -> tuple[Points, Points]:
        """Thickness before and after; where one of them is missing, it follows from the other and what was removed."""
        before, after = [], []
        for one, other, off in zip(self.before_um, self.after_um, self.removed_um, strict=True):
            before.append(other + off if one is None and other is not None and off is not None else one)
            after.append(one - off if other is None and one is not None and off is not None else other)
        return (before[0], before[1], before[2]), (after[0], after[1], after[2])

    @property
    def is_known(self) -> bool:
        return bool(self.to_json())


def any_known(points: Sequence[int | None]) -> bool:
    """Whether anything was measured at all."""
    return any(one is not None for one in points)


def agrees(before: int | None, after: int | None, removed: int | None) -> bool:
    """Whether three readings of one point in µm can be true together; with fewer than three they can, if base only goes."""
    if before is None or after is None:
        return True
    return after <= before if removed is None else before - after == removed


def over_steps(steps: Sequence[Measured]) -> tuple[Points, Points]:
    """Thickness before the first and after the last of the steps of a pair, as far as it was measured."""
    before, after = NOT_MEASURED, NOT_MEASURED
    for one in steps:
        first, last = one.settled
        before = first if not any_known(before) else before
        after = last if any_known(last) else after
    return before, after


def keep_clear(discipline: Discipline, grip: Grip | None, kick_zone_cm: int | None) -> tuple[Phrase, ...]:
    """What of a ski the stone must not touch, in sentences; nothing for a ski that is not kicked."""
    if discipline is not Discipline.CLASSIC:
        return ()
    what = {
        Grip.WAX: N_("The stone must not touch the kick zone."),
        Grip.SKIN: N_("The stone must not touch the skin."),
        Grip.SCALES: N_("The stone must not touch the scales."),
        None: N_(
            "What holds this ski when it is kicked is not known: look at it before it goes on the stone."
        ),
    }[grip]
    if kick_zone_cm is None:
        where = Phrase(N_("How long the kick zone is was not written down: measure it first."))
    else:
        where = Phrase(N_("The kick zone is %(cm)s cm long."), {"cm": kick_zone_cm})
    return Phrase(what), where


def zones_given(pressure_n: Sequence[int | None]) -> tuple[int | None, ...]:
    """The wheel force of each zone from tip to tail in N, nothing where none was written down."""
    filled = [*pressure_n, *[None] * ZONES][:ZONES]
    return tuple(filled) if any_known(filled) else ()
