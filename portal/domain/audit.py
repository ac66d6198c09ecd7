"""What people do that is not part of a booking's history, and by what words it is listed."""

from __future__ import annotations

from enum import StrEnum

from portal.domain.access import StaffRole
from portal.domain.words import N_


class Act(StrEnum):
    """An act that is kept with who did it and when."""

    WORKSHOP_SET = "workshop_set"
    REASON_CHANGED = "reason_changed"
    CARE_CHANGED = "care_changed"
    EXPORTED = "exported"
    PRICE_SET = "price_set"
    PRICE_WITHDRAWN = "price_withdrawn"
    TAX_SET = "tax_set"
    TAX_WITHDRAWN = "tax_withdrawn"
    TIER_SET = "tier_set"
    TERMS_SET = "terms_set"
    PLACE_CHANGED = "place_changed"
    PLACE_RETIRED = "place_retired"
    STAFF_INVITED = "staff_invited"
    INVITED_AGAIN = "invited_again"
    INVITATION_WITHDRAWN = "invitation_withdrawn"
    STAFF_JOINED = "staff_joined"
    MADE_MANAGER = "made_manager"
    MADE_TECHNICIAN = "made_technician"
    STAFF_LEFT = "staff_left"
    FACTOR_REQUIRED = "factor_required"
    FACTOR_NOT_REQUIRED = "factor_not_required"
    FACTOR_RESET = "factor_reset"
    FACTOR_ADDED = "factor_added"
    FACTOR_REMOVED = "factor_removed"
    CLUB_FOUNDED = "club_founded"
    CLUB_INVITED = "club_invited"
    CLUB_JOINED = "club_joined"
    CLUB_LEFT = "club_left"
    CLUB_CHANGED = "club_changed"
    CLUB_AGREED = "club_agreed"
    JUNIOR_FORGOTTEN = "junior_forgotten"
    CLAIM_MADE = "claim_made"
    PAIRS_CLAIMED = "pairs_claimed"
    PAIR_OFFERED = "pair_offered"
    PAIR_HANDED_OVER = "pair_handed_over"
    PAIR_FROZEN = "pair_frozen"
    PAIR_CLEARED = "pair_cleared"
    PAIR_GIVEN_BACK = "pair_given_back"
    PAIR_FOUND = "pair_found"
    FOUND_PAIR_BACK = "found_pair_back"
    TEXT_CHANGED = "text_changed"
    DAYS_CHANGED = "days_changed"
    RULES_SET = "rules_set"
    REWORK_DAYS_SET = "rework_days_set"
    IMPORTED = "imported"
    STRUCTURE_WRITTEN = "structure_written"
    STRUCTURE_RETIRED = "structure_retired"
    STRUCTURE_BROUGHT_BACK = "structure_brought_back"
    FAMILY_WRITTEN = "family_written"
    DIAMOND_WRITTEN = "diamond_written"
    DIAMOND_RETIRED = "diamond_retired"
    DIAMOND_BROUGHT_BACK = "diamond_brought_back"
    VENUE_KEPT = "venue_kept"
    VENUE_RENAMED = "venue_renamed"
    VENUE_REMOVED = "venue_removed"
    PLAN_ACCEPTED = "plan_accepted"
    SEASON_LETTER_SENT = "season_letter_sent"
    INVOICING_SET = "invoicing_set"
    INVOICE_ISSUED = "invoice_issued"
    CREDIT_NOTE_ISSUED = "credit_note_issued"
    NOTE_SET_ASIDE = "note_set_aside"
    NOTE_COUNTED = "note_counted"
    TAKEN_ALONG = "taken_along"
    ACCOUNT_ERASED = "account_erased"
    PAIR_TAKEN_ON = "pair_taken_on"

    @property
    def label(self) -> str:
        return ACT_LABELS[self]


ACT_LABELS = {
    Act.WORKSHOP_SET: N_("Settings of the workshop changed"),
    Act.REASON_CHANGED: N_("Reasons changed"),
    Act.CARE_CHANGED: N_("Care advice changed"),
    Act.EXPORTED: N_("List exported"),
    Act.PRICE_SET: N_("Price set"),
    Act.PRICE_WITHDRAWN: N_("Price withdrawn"),
    Act.TAX_SET: N_("Tax rate set"),
    Act.TAX_WITHDRAWN: N_("Tax rate withdrawn"),
    Act.TIER_SET: N_("Saving of clubs set"),
    Act.TERMS_SET: N_("Express and deposit set"),
    Act.PLACE_CHANGED: N_("Hand-in place changed"),
    Act.PLACE_RETIRED: N_("Hand-in place retired"),
    Act.STAFF_INVITED: N_("Invited to work here"),
    Act.INVITED_AGAIN: N_("Invitation sent again"),
    Act.INVITATION_WITHDRAWN: N_("Invitation withdrawn"),
    Act.STAFF_JOINED: N_("Works here from now on"),
    Act.MADE_MANAGER: N_("Made shop manager"),
    Act.MADE_TECHNICIAN: N_("Made bench technician"),
    Act.STAFF_LEFT: N_("Works here no more"),
    Act.FACTOR_REQUIRED: N_("Second step made a duty"),
    Act.FACTOR_NOT_REQUIRED: N_("Second step left to each"),
    Act.FACTOR_RESET: N_("Second step of a colleague taken away"),
    Act.FACTOR_ADDED: N_("Second step set up"),
    Act.FACTOR_REMOVED: N_("Second step removed"),
    Act.CLUB_FOUNDED: N_("Club founded"),
    Act.CLUB_INVITED: N_("Invited to manage a club"),
    Act.CLUB_JOINED: N_("Manages a club from now on"),
    Act.CLUB_LEFT: N_("Manages a club no more"),
    Act.CLUB_CHANGED: N_("Details of a club changed"),
    Act.CLUB_AGREED: N_("Agreed with a club what it saves"),
    Act.JUNIOR_FORGOTTEN: N_("Junior of a club forgotten"),
    Act.CLAIM_MADE: N_("Code made for the pairs of a junior"),
    Act.PAIRS_CLAIMED: N_("Pairs of a club claimed"),
    Act.PAIR_OFFERED: N_("Code made to hand a pair over"),
    Act.PAIR_HANDED_OVER: N_("Pair taken over"),
    Act.PAIR_FROZEN: N_("Pair frozen: whose it is has to be cleared up"),
    Act.PAIR_CLEARED: N_("Pair free again, as it was"),
    Act.PAIR_GIVEN_BACK: N_("Pair given back to whoever had it before"),
    Act.PAIR_FOUND: N_("Found pair handed in, its owner told"),
    Act.FOUND_PAIR_BACK: N_("Found pair given back to its owner"),
    Act.TEXT_CHANGED: N_("Text reworded"),
    Act.DAYS_CHANGED: N_("Opening days changed"),
    Act.RULES_SET: N_("Rules for requests and changes set"),
    Act.REWORK_DAYS_SET: N_("Time for grinding again changed"),
    Act.IMPORTED: N_("List loaded"),
    Act.STRUCTURE_WRITTEN: N_("Structure written"),
    Act.STRUCTURE_RETIRED: N_("Structure retired"),
    Act.STRUCTURE_BROUGHT_BACK: N_("Structure brought back"),
    Act.FAMILY_WRITTEN: N_("Family written"),
    Act.DIAMOND_WRITTEN: N_("Diamond written down"),
    Act.DIAMOND_RETIRED: N_("Diamond retired"),
    Act.DIAMOND_BROUGHT_BACK: N_("Diamond brought back"),
    Act.VENUE_KEPT: N_("Venue kept"),
    Act.VENUE_RENAMED: N_("Venue renamed"),
    Act.VENUE_REMOVED: N_("Venue removed"),
    Act.PLAN_ACCEPTED: N_("Stone plan accepted"),
    Act.SEASON_LETTER_SENT: N_("Season letter sent"),
    Act.INVOICING_SET: N_("What stands on invoices set"),
    Act.INVOICE_ISSUED: N_("Invoice issued"),
    Act.CREDIT_NOTE_ISSUED: N_("Credit note issued"),
    Act.NOTE_SET_ASIDE: N_("Glide note set aside"),
    Act.NOTE_COUNTED: N_("Glide note counted again"),
    Act.TAKEN_ALONG: N_("Took everything about themselves along"),
    Act.ACCOUNT_ERASED: N_("Account erased"),
    Act.PAIR_TAKEN_ON: N_("Pair of nobody taken on"),
}

# What giving somebody a part at the workshop is listed as.
STAFF_ACTS = {StaffRole.MANAGER: Act.MADE_MANAGER, StaffRole.TECHNICIAN: Act.MADE_TECHNICIAN}
