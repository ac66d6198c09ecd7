"""What people do that is not part of a booking's history, and by what words it is listed."""

from __future__ import annotations

from enum import StrEnum

from portal.domain.words import N_


class Act(StrEnum):
    """An act that is kept with who did it and when."""

    WORKSHOP_SET = "workshop_set"
    REASON_CHANGED = "reason_changed"
    EXPORTED = "exported"
    IMPORTED = "imported"

    @property
    def label(self) -> str:
        return ACT_LABELS[self]


ACT_LABELS = {
    Act.WORKSHOP_SET: N_("Settings of the workshop changed"),
    Act.REASON_CHANGED: N_("Reasons changed"),
    Act.EXPORTED: N_("List exported"),
    Act.IMPORTED: N_("List loaded"),
}
