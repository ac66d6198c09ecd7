"""Reasons that are given often, so that nobody types them each time: what for, and the ones that come along."""

from __future__ import annotations

from enum import StrEnum

from portal.domain.words import N_


class Use(StrEnum):
    """What a reason is given for."""

    DECLINE = "decline"
    COUNTER = "counter"
    CHANGE = "change"
    STOP = "stop"
    TEST_CUT = "test_cut"
    TAKEN_OUT = "taken_out"
    REWORK = "rework"
    REFUND = "refund"
    CREDIT = "credit"

    @property
    def label(self) -> str:
        return USE_LABELS[self]


USE_LABELS = {
    Use.DECLINE: N_("A request is declined"),
    Use.COUNTER: N_("Something else is offered"),
    Use.CHANGE: N_("A booking is changed by the workshop"),
    Use.STOP: N_("Work on a pair is stopped at check-in"),
    Use.TEST_CUT: N_("A test cut is rejected"),
    Use.TAKEN_OUT: N_("A pair is taken out of a run"),
    Use.REWORK: N_("A pair is ground again"),
    Use.REFUND: N_("Money is given back"),
    Use.CREDIT: N_("An invoice is taken back"),
}

# What the workshop starts with. A key never changes, so that words of its own stay with it.
SHIPPED: dict[Use, dict[str, str]] = {
    Use.DECLINE: {
        "full": N_("The stone is full until the day you need the skis."),
        "thin": N_("There is too little base left for this work."),
        "damaged": N_("The skis need a repair first that we do not do."),
        "kind": N_("We do not grind this kind of ski."),
    },
    Use.COUNTER: {
        "full": N_("The stone is full on that day."),
        "better": N_("Another structure suits the snow you described better."),
        "together": N_("Your pairs can run together on the offered day."),
        "work": N_("The skis need more work than was asked for."),
    },
    Use.CHANGE: {
        "ill": N_("Somebody who works at the stone is ill."),
        "machine": N_("The grinder has to be repaired first."),
        "late": N_("The skis came in later than agreed."),
        "asked": N_("It was asked for by telephone or at the counter."),
    },
    Use.STOP: {
        "thin": N_("The base is too thin for this work."),
        "delaminated": N_("The base has come loose from the ski."),
        "edge": N_("The base is damaged at its edge, and a grind would open it further."),
        "match": N_("The two skis do not belong together."),
    },
    Use.TEST_CUT: {
        "shallow": N_("The pattern is too shallow."),
        "deep": N_("The pattern is too deep."),
        "uneven": N_("The pattern is uneven across the base."),
        "hairs": N_("The cut leaves hairs standing."),
    },
    Use.TAKEN_OUT: {
        "fault": N_("A fault showed while it was ground."),
        "thin": N_("The base is thinner than it was measured."),
        "settings": N_("It needs another pressure than the others."),
        "later": N_("It is not ready for the stone yet."),
    },
    Use.REWORK: {
        "uneven": N_("The structure is uneven."),
        "wrong": N_("It was another structure than agreed."),
        "slow": N_("The skis ran badly."),
        "damage": N_("The base was damaged at the workshop."),
    },
    Use.REFUND: {
        "cancelled": N_("The booking was cancelled."),
        "rework": N_("The work had to be done again."),
        "mistake": N_("Too much was taken."),
    },
    Use.CREDIT: {
        "address": N_("The name or the address was wrong."),
        "changed": N_("The booking was changed."),
        "cancelled": N_("What was billed is not done after all."),
    },
}
