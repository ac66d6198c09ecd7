"""The file in which people take along everything about themselves: its name, its version, and what each part of it is."""

from __future__ import annotations

from collections.abc import Mapping

from portal.domain.words import N_

FORMAT = "rillbook-person"
# Goes up when a reader of an older file would misread a newer one; parts and fields may be added without that.
VERSION = 1
YOU, SOMEBODY_ELSE = "you", "somebody else"

# Each part, by its name in the file, in the order in which people look for things.
PARTS: Mapping[str, str] = {
    "person": N_("Your account"),
    "former_name": N_("Names and telephone numbers that you had before"),
    "login_session": N_("Browsers in which you are signed in"),
    "authenticator": N_("Apps that show codes, without what they reckon them from"),
    "passkey": N_("Passkeys, without the keys"),
    "recovery_code": N_("Recovery codes, without the codes: which are used"),
    "half_sign_in": N_("Sign-ins that wait for the second step"),
    "failed_try": N_("Failed tries to sign in, and letters counted, of the last day"),
    "club_manager": N_("Clubs that you manage"),
    "invitation": N_("Invitations to your address"),
    "pair": N_("Your pairs"),
    "pair_offer": N_("Codes by which somebody takes a pair of yours over, without the codes"),
    "handover": N_("Pairs that you gave away"),
    "check_in": N_("What was found when your pairs came in"),
    "photo": N_("Photos of your pairs, each with the name of its file"),
    "grind": N_("What was ground on your pairs"),
    "rework": N_("Grinds that had something wrong with them"),
    "glide_note": N_("Your glide notes"),
    "snow_answers": N_("Your answers to the snow questions, as they are kept"),
    "booking": N_("Your bookings"),
    "booking_item": N_("The pairs of your bookings"),
    "booking_event": N_("What happened to your bookings, with the bill as it was before"),
    "booking_note": N_("Notes about your bookings, yours and the workshop's"),
    "counter_offer": N_("Counter-offers"),
    "offered_structure": N_("Other structures within counter-offers"),
    "parcel": N_("Parcels"),
    "stop": N_("Why work on your pairs was stopped, and your answers"),
    "run_pair": N_("Steps of the work on your pairs, with what was measured"),
    "handback": N_("How your pairs went back"),
    "payment": N_("Payments and refunds"),
    "payment_tax": N_("The tax within payments"),
    "invoice": N_("Invoices and credit notes"),
    "booking_draft": N_("Bookings that you began and did not send"),
    "outbox_letter": N_("Letters to you"),
    "outbox_enclosure": N_("Files that went with letters, each with the name of its file"),
    "season_letter": N_("Which letters of a season you got"),
    "audit_entry": N_("What you did that is kept under “Who did what”"),
    "bench_note": N_("What you did at the bench"),
    "bench_run": N_("Runs that you began"),
    "stone_dressing": N_("Dressings that you made"),
    "stone_plan": N_("Stone plans that you asked for"),
    "pin": N_("Pairs that you pinned to a day"),
    "season_round": N_("Rounds of the season's letter that you asked for"),
    "stone_state": N_("Stones whose dressing you noted"),
    "own_text": N_("Texts that you reworded"),
}
