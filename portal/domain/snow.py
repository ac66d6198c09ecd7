"""The seven plain kinds of snow that skiers meet, and how wet snow can be."""

from __future__ import annotations

from enum import StrEnum

from portal.domain.words import N_


class SnowKind(StrEnum):
    """Plain words for what lies in the track; the class codes of each stand in ``shared/snow_kinds.json``."""

    NEW = "new"
    SETTLED = "settled"
    MACHINE_MADE = "machine_made"
    SUGARY = "sugary"
    REFROZEN = "refrozen"
    ICY = "icy"
    WET = "wet"

    @property
    def label(self) -> str:
        return KIND_LABELS[self]


KIND_LABELS = {
    SnowKind.NEW: N_("New snow"),
    SnowKind.SETTLED: N_("Settled fine snow"),
    SnowKind.MACHINE_MADE: N_("Machine-made snow"),
    SnowKind.SUGARY: N_("Sugary snow"),
    SnowKind.REFROZEN: N_("Refrozen or old coarse snow"),
    SnowKind.ICY: N_("Glazed or icy track"),
    SnowKind.WET: N_("Wet snow and slush"),
}
