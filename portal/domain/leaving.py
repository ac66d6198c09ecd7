"""What is in the way of erasing an account."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from portal.domain.words import N_, Phrase


class Way(StrEnum):
    """Where somebody does what is asked of them first."""

    WORK = "work"
    CLUB = "club"
    BOOKING = "booking"
    PAIR = "pair"
    # A pair that is not theirs any more.
    GIVEN = "given"


@dataclass(frozen=True)
class Obstacle:
    """One thing that has to be done first: what, and the number of what it is about."""

    way: Way
    words: Phrase
    number: int


def works_here() -> Phrase:
    """For somebody with a part at the workshop."""
    return Phrase(N_("You work here. Leave the workshop first."))


def manages_alone(club: str) -> Phrase:
    """For the only manager of a club."""
    return Phrase(
        N_("Nobody but you manages %(club)s. Hand it over first: whoever you hand it to gets a letter."),
        {"club": club},
    )


def is_open(reference: str) -> Phrase:
    """For a booking that is not over."""
    return Phrase(
        N_("Booking %(reference)s is open. Cancel it, or wait until your skis are back with you."),
        {"reference": reference},
    )


def to_pay(reference: str) -> Phrase:
    """For a booking that is over and not paid."""
    return Phrase(
        N_("Booking %(reference)s is not paid in full. Pay it, or ask the workshop."),
        {"reference": reference},
    )


def to_give_back(reference: str) -> Phrase:
    """For a booking with money to give back."""
    return Phrase(
        N_("The workshop owes you money for booking %(reference)s. Let them give it back first."),
        {"reference": reference},
    )


def is_ordered(title: str) -> Phrase:
    """For a pair in an open order of a club."""
    return Phrase(
        N_("Your pair %(pair)s is in an open order of a club. Wait until it is handed back."), {"pair": title}
    )


def is_in_dispute(title: str) -> Phrase:
    """For a pair of which the workshop is clearing up whose it is."""
    return Phrase(
        N_("The workshop is clearing up whose the pair %(pair)s is. Wait until that is settled, or ask."),
        {"pair": title},
    )


def is_in_dispute_since_given(title: str) -> Phrase:
    """For a pair that they gave away, of which the workshop is clearing up whose it is."""
    return Phrase(
        N_(
            "You gave the pair %(pair)s away, and the workshop is clearing up whose it is: it may come back to you."
            " Wait until that is settled, or ask the workshop."
        ),
        {"pair": title},
    )
