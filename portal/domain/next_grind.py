"""Whether the next grind of a pair is worth it: a judgement, and what it rests on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from portal.domain.base_life import BaseLife, would_pass_minimum
from portal.domain.juniors import season_end
from portal.domain.shares import ABOUT_EQUAL, hundred
from portal.domain.words import N_, Phrase

# Another structure is worth a grind from this many more days on, 0 to 1. Our own choice.
WORTH_GAIN = 0.1
# Bases were measured smoother and slower after about so much skiing and waxing: Sports Engineering 16 (2013) 229-238.
WORN_KM, WORN_WAXINGS = 150, 35
# With less than this above the minimum a first grind wants a word before. Our own choice: a coarse structure takes about as much.
FIRST_GRIND_UM = 40


class Worth(StrEnum):
    """What is said of the next grind."""

    WORTH_IT = "worth_it"
    DEPENDS = "depends"
    NOT_NOW = "not_now"
    WAIT = "wait"
    THINK_TWICE = "think_twice"
    NOT_POSSIBLE = "not_possible"

    @property
    def label(self) -> str:
        return {
            Worth.WORTH_IT: N_("Worth it"),
            Worth.DEPENDS: N_("It depends"),
            Worth.NOT_NOW: N_("Hardly worth it now"),
            Worth.WAIT: N_("Wait for the workshop's answer"),
            Worth.THINK_TWICE: N_("Think twice"),
            Worth.NOT_POSSIBLE: N_("Not possible"),
        }[self]

    @property
    def warns(self) -> bool:
        """Whether somebody who is about to book should read it first."""
        return self not in (Worth.WORTH_IT, Worth.DEPENDS)


@dataclass(frozen=True)
class Suits:
    """How many of the days that the pair is for the structure on the base and the one to come suit, 0 to 1, where that is known.

    ``is_chosen`` says that the one to come was chosen by the skier; else it is the best that the workshop offers.
    """

    now: float | None = None
    then: float | None = None
    is_chosen: bool = False

    @property
    def gain(self) -> float | None:
        """How many more days it would suit; nothing where one of the two is not known."""
        return None if self.now is None or self.then is None else self.then - self.now


@dataclass(frozen=True)
class Judgement:
    """The verdict, and the sentences it rests on."""

    worth: Worth
    reasons: tuple[Phrase, ...]

    @property
    def said(self) -> Phrase:
        """Verdict and reasons as one text."""
        told = self.reasons[0]
        for reason in self.reasons[1:]:
            told = Phrase(N_("%(one)s %(more)s"), {"one": told, "more": reason})
        return Phrase(N_("%(verdict)s. %(reasons)s"), {"verdict": Phrase(self.worth.label), "reasons": told})


def judged(
    life: BaseLife, suits: Suits, ground_on: date | None, today: date, *, is_disputed: bool = False
) -> Judgement:
    """Whether the next grind is worth it. ``ground_on`` is the day of the last one; ``life`` counts with the next one.

    ``is_disputed`` says that its owner has asked to have the last grind made good.
    """
    worth = _worth(life, suits, ground_on, today, is_disputed)
    # How much it was skied decides only where nothing else does.
    wear = _of_wear(ground_on) if worth in (Worth.DEPENDS, Worth.NOT_NOW) else []
    return Judgement(worth, (*_of_structure(suits), *_of_base(life), *wear))


def _worth(life: BaseLife, suits: Suits, ground_on: date | None, today: date, is_disputed: bool) -> Worth:
    gain = suits.gain
    if _passes_minimum(life):
        return Worth.NOT_POSSIBLE
    if is_disputed:
        return Worth.WAIT
    if is_near_minimum(life):
        return Worth.THINK_TWICE
    if gain is not None and gain <= -ABOUT_EQUAL:
        return Worth.THINK_TWICE
    if gain is not None and gain >= WORTH_GAIN:
        return Worth.WORTH_IT
    is_fresh = ground_on is not None and season_end(ground_on) == season_end(today)
    if is_fresh and gain is not None and gain < ABOUT_EQUAL:
        return Worth.NOT_NOW
    return Worth.DEPENDS


def is_near_minimum(life: BaseLife) -> bool:
    """Whether hardly a grind is left, or it is not sure that one is; of a base never ground here, whether there is room for one."""
    if life.grinds_left is None:
        return life.reading is not None and life.reading.um - life.minimum_um < FIRST_GRIND_UM
    return life.grinds_left <= 1 or (life.left_range or (1, 1))[0] == 0


def before_first(life: BaseLife) -> Phrase | None:
    """How far a base that was measured but never ground here is above the minimum; nothing for any other base."""
    if life.reading is None or life.grinds_left is not None:
        return None
    if not is_near_minimum(life):
        return Phrase(N_("Not ground here yet, so grinds left are not counted."))
    room = life.reading.um - life.minimum_um
    if room < 0:
        return Phrase(N_("Thinner than the workshop's minimum: ask the workshop first."))
    mm = f"{room / 1000:.{2 if room % 10 == 0 else 3}f}"
    return Phrase(N_("%(mm)s mm above the workshop's minimum: ask the workshop first."), {"mm": mm})


def _passes_minimum(life: BaseLife) -> bool:
    """Whether the workshop would refuse it: what is stated goes below the minimum from the last reading."""
    reading = life.reading
    return (
        reading is not None
        and life.stated_um > 0
        and would_pass_minimum(reading.um, life.minimum_um, life.stated_um)
    )


def _of_structure(suits: Suits) -> list[Phrase]:
    gain = suits.gain
    if suits.then is None:
        return [
            Phrase(
                N_(
                    "The snow questions are not answered for it, so it is not known whether another structure would suit better."
                )
            )
        ]
    if gain is None:
        return [
            Phrase(
                N_(
                    "Nothing is known of what is on the base now. %(then)s of 100 of the days it is for would be suited."
                ),
                {"then": hundred(suits.then)},
            )
        ]
    days = {"then": hundred(suits.then), "now": hundred(suits.now or 0.0)}
    if abs(gain) < ABOUT_EQUAL:
        text = (
            N_("What you chose suits as many of its days as what is on the base: %(now)s of 100.")
            if suits.is_chosen
            else N_(
                "The structure on the base suits %(now)s of 100 of the days it is for, and no other one more than can be measured."
            )
        )
    elif gain < 0:
        # Only a choice can be worse: the best is at least as good as what is there, or what is there is no longer offered.
        text = (
            N_("What you chose would suit %(then)s instead of %(now)s of 100 of the days it is for.")
            if suits.is_chosen
            else N_(
                "The structure on the base suits %(now)s of 100 of the days it is for; the best on offer would suit %(then)s."
            )
        )
    else:
        text = (
            N_("What you chose would suit %(then)s instead of %(now)s of 100 of the days it is for.")
            if suits.is_chosen
            else N_("Another structure would suit %(then)s instead of %(now)s of 100 of the days it is for.")
        )
    return [Phrase(text, days)]


def _of_base(life: BaseLife) -> list[Phrase]:
    if life.reading is None:
        return [Phrase(N_("The base was never measured, so it is not known how many grinds are left."))]
    if _passes_minimum(life):
        return [Phrase(N_("The grind would take the base below the workshop's minimum."))]
    first = before_first(life)
    if first is not None:
        return [first]
    left, between = life.grinds_left, life.left_range
    if left is None or between is None:
        return []
    if left == 0:
        return [
            Phrase(
                N_(
                    "With what this pair usually loses, another grind would pass the workshop's minimum. The workshop measures it first."
                )
            )
        ]
    return [_left(left, between)]


def _left(left: int, between: tuple[int, int]) -> Phrase:
    low, high = between
    if left == 1:
        text = N_("One grind is left.") if low == high else N_("One grind is left (%(low)s to %(high)s).")
    else:
        text = (
            N_("About %(left)s grinds are left.")
            if low == high
            else N_("About %(left)s (%(low)s to %(high)s) grinds are left.")
        )
    return Phrase(text, {"left": left, "low": low, "high": high})


def base_said(life: BaseLife) -> Phrase:
    """How much base is left, in one sentence, where it has to be short."""
    if life.reading is None:
        return Phrase(N_("Not measured yet."))
    if _passes_minimum(life) or life.grinds_left == 0:
        return Phrase(N_("Hardly any base is left."))
    first = before_first(life) if is_near_minimum(life) else None
    if first is not None:
        return first
    if life.grinds_left is None or life.left_range is None:
        return Phrase(N_("%(mm)s mm measured."), {"mm": f"{life.reading.um / 1000:.2f}"})
    return _left(life.grinds_left, life.left_range)


def _of_wear(ground_on: date | None) -> list[Phrase]:
    if ground_on is None:
        return []
    return [
        Phrase(
            N_(
                "It was ground on %(day)s. After about %(km)s km and %(waxings)s waxings bases were measured smoother and slower, and a grind brought back much of it (Sports Engineering 16, 2013)."
            ),
            {"day": ground_on, "km": WORN_KM, "waxings": WORN_WAXINGS},
        )
    ]
