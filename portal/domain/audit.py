"""What people do that is not part of a booking's history, and by what words it is listed."""

from __future__ import annotations

from enum import StrEnum

from portal.domain.words import N_


class Act(StrEnum):
    """An act that is kept with who did it and when."""

    WORKSHOP_SET = "workshop_set"
    REASON_CHANGED = "reason_changed"
    EXPORTED = "exported"
    PRICE_SET = "price_set"
    PRICE_WITHDRAWN = "price_withdrawn"
    TAX_SET = "tax_set"
    TAX_WITHDRAWN = "tax_withdrawn"
    TIER_SET = "tier_set"
    TERMS_SET = "terms_set"
    PLACE_CHANGED = "place_changed"
    PLACE_RETIRED = "place_retired"

    @property
    def label(self) -> str:
        return ACT_LABELS[self]


ACT_LABELS = {
    Act.WORKSHOP_SET: N_("Settings of the workshop changed"),
    Act.REASON_CHANGED: N_("Reasons changed"),
    Act.EXPORTED: N_("List exported"),
    Act.PRICE_SET: N_("Price set"),
    Act.PRICE_WITHDRAWN: N_("Price withdrawn"),
    Act.TAX_SET: N_("Tax rate set"),
    Act.TAX_WITHDRAWN: N_("Tax rate withdrawn"),
    Act.TIER_SET: N_("Saving of clubs set"),
    Act.TERMS_SET: N_("Express and deposit set"),
    Act.PLACE_CHANGED: N_("Hand-in place changed"),
    Act.PLACE_RETIRED: N_("Hand-in place retired"),
}
