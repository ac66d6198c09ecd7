"""The sentence a letter opens with, and what each letter is called; the workshop may put words of its own in its place."""

from __future__ import annotations

from portal.domain.words import N_

# A name never changes, so that words of the workshop's own stay with it.
OPENINGS: dict[str, str] = {
    "requested": N_(
        "your request has reached us. The time on the stone is kept for you from now on, and we will answer soon."
    ),
    "confirmed": N_(
        "your booking is confirmed. Bring the skis by the hand-in day, dry and without wax in thick layers. The calendar entry with this letter holds the day on which they are ready."
    ),
    "declined": N_("we cannot take this request. The reason:"),
    "countered": N_("we cannot do it quite as you asked, but we can offer this:"),
    "refused": N_("you refused our counter-offer, so this booking has ended. You can ask again at any time."),
    "cancelled": N_("your request is cancelled and the time on the stone is free again."),
    "cancelled_confirmed": N_(
        "your booking is cancelled. The calendar entry with this letter takes the day out of your calendar."
    ),
    "checked_in": N_("your skis have arrived and are checked in."),
    "ready": N_("your skis are ground and ready to collect."),
    "ready_by_post": N_(
        "your skis are ground. They come back to you by post, and we write again when the parcel is on its way."
    ),
    "parcel_sent": N_("your skis have left the workshop in a parcel."),
    "handed_back": N_(
        "your skis have been handed back. Their history, with advice on looking after the base, is on the page of each pair."
    ),
    "lapsed_offer": N_(
        "our offer has been without an answer for a while, so the time on the stone is no longer held for you. You can still accept it: it is yours if the time is still free."
    ),
    "lapsed_request": N_(
        "we have not answered your request yet, and the time on the stone is no longer held for you. The request still stands, and we will answer it; the day may have to be another one."
    ),
    "moved_confirmed": N_(
        "your booking has a new day, as you asked. The calendar entry with this letter moves the day in your calendar."
    ),
    "moved_request": N_(
        "your request has a new day, as you asked. The time on the stone is kept for you, and we will answer soon."
    ),
    "moved_by_workshop": N_(
        "we have to move your skis to another day. We are sorry. Write or call us if the new day does not suit you."
    ),
    "taken_out": N_(
        "one pair is taken out, and its time on the stone is free again. These pairs remain, and this is the new price:"
    ),
    "taken_out_by_workshop": N_(
        "we have taken one pair out of your booking, and its time on the stone is free again. These pairs remain, and this is the new price:"
    ),
    "added": N_(
        "one pair more is in it, and the time on the stone is found for it. These are the pairs now, and this is the new price:"
    ),
    "added_by_workshop": N_(
        "we have added a pair that came with your skis, so that it is ready with the others. Write or call us if it should not be ground. These are the pairs now, and this is the new price:"
    ),
    "swapped": N_(
        "a pair is changed, as you asked. These are the pairs now with what is done to each, and this is the price:"
    ),
    "cancelled_by_workshop": N_(
        "we have to cancel your booking. We are sorry. If the day stood in your calendar, the entry with this letter takes it out."
    ),
    "rework_made": N_(
        "a pair of yours is ground again, at no charge. This is a booking of its own, and it is confirmed."
    ),
    "crate_unpacked": N_("we have unpacked your crate. This is what was in it."),
    "part_ready": N_(
        "what is here of your order is ground and ready to collect. The pairs that are not here yet are still awaited."
    ),
    "rework_refused": N_(
        "you wrote that something is wrong with a grind. We looked at it, and we do not grind the pair again. Write or call us if you want to talk about it."
    ),
}

# What can stand in a letter of any kind.
PLACES = ("name", "who", "reference", "hand_in", "day", "workshop")


def subject_slot(kind: str) -> str:
    """The key of the subject of a kind of letter."""
    return f"letter.{kind}.subject"


def opening_slot(name: str) -> str:
    """The key of an opening, by its name in ``OPENINGS``."""
    return f"letter.{name}.opening"


def closing_slot(kind: str) -> str:
    """The key of what a kind of letter says before it is signed; nothing of it is shipped."""
    return f"letter.{kind}.closing"


# What letters are called in lists, by their kind.
TITLES: dict[str, str] = {
    "requested": N_("Request received"),
    "confirmed": N_("Booking confirmed"),
    "declined": N_("Request declined"),
    "countered": N_("Counter-offer"),
    "refused": N_("Counter-offer refused"),
    "cancelled": N_("Request cancelled"),
    "cancelled_confirmed": N_("Booking cancelled"),
    "checked_in": N_("Skis checked in"),
    "ready": N_("Skis ready"),
    "parcel_sent": N_("Skis sent back by post"),
    "handed_back": N_("Skis handed back"),
    "lapsed": N_("Time no longer held"),
    "moved": N_("New day, asked for by the skier"),
    "moved_by_workshop": N_("New day, chosen by the workshop"),
    "taken_out": N_("One pair taken out"),
    "taken_out_by_workshop": N_("One pair taken out by the workshop"),
    "added": N_("One pair added"),
    "added_by_workshop": N_("One pair added by the workshop"),
    "swapped": N_("A pair changed"),
    "cancelled_by_workshop": N_("Booking cancelled by the workshop"),
    "split": N_("Pairs with a booking of their own"),
    "stopped": N_("Work on a pair stopped"),
    "stop_answered": N_("How it goes on with a stopped pair"),
    "reminded": N_("Reminder that skis wait"),
    "rework_made": N_("Pair ground again"),
    "rework_refused": N_("Pair not ground again"),
    "crate_unpacked": N_("Crate of a club unpacked"),
    "part_ready": N_("Part of a club's order ready"),
}

# Openings of letters that open in one of two ways: the kind of letter, and when it opens so.
VARIANTS: dict[str, tuple[str, str]] = {
    "ready_by_post": ("ready", N_("%(letter)s: opening, when they go back by post")),
    "lapsed_offer": ("lapsed", N_("%(letter)s: opening, when an offer had no answer")),
    "lapsed_request": ("lapsed", N_("%(letter)s: opening, when a request had no answer")),
    "moved_confirmed": ("moved", N_("%(letter)s: opening, for a booking")),
    "moved_request": ("moved", N_("%(letter)s: opening, for a request")),
}


def of_kind(kind: str) -> dict[str, str]:
    """The openings of a kind of letter: name -> title, with a place for what the letter is called."""
    usual = {kind: N_("%(letter)s: opening")} if kind in OPENINGS else {}
    return usual | {name: title for name, (of, title) in VARIANTS.items() if of == kind}
