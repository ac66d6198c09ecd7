"""What would change the advice: the smallest other answer to one question that makes another family win."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Protocol

from portal.domain.answers import (
    COLDEST_C,
    WARMEST_C,
    AirDays,
    Answers,
    HowOften,
    Humidity,
    TrackWet,
    is_in_order,
)
from portal.domain.snow import SnowKind
from portal.domain.words import N_, Phrase

# Farther than this, in whole °C, nobody is off by mistake.
FARTHEST_C = 10
# A step of frequency, humidity or track counts as large as so many °C. Our own choice.
STEP_IN_C = 3.0
# No more than so many changes are told, at most one for each question.
TOLD = 3
OFTEN = (HowOften.NEVER, HowOften.SOMETIMES, HowOften.OFTEN, HowOften.MOSTLY)
HUMIDITIES = (Humidity.DRY, Humidity.ORDINARY, Humidity.HUMID)
TRACKS = (TrackWet.NEVER, TrackWet.SOMETIMES, TrackWet.OFTEN)
DAYS = {"cold": N_("cold day"), "ordinary": N_("ordinary day"), "mild": N_("mild day")}


class Named(Protocol):
    """What a change says of a family."""

    @property
    def name(self) -> str: ...


@dataclass(frozen=True)
class Change:
    """One other answer; ``size`` is how large a change that is, in °C or what counts as so many."""

    question: str
    size: float
    answers: Answers
    supposed: Phrase

    def told(self, family: Named) -> Phrase:
        """The sentence for the page."""
        return Phrase(
            N_("%(supposed)s, %(family)s would fit better."),
            {"supposed": self.supposed, "family": Phrase(family.name)},
        )


def possible(answers: Answers) -> list[Change]:
    """Every other answer to one question that is near enough to be meant, the smallest change first."""
    found = [*_air(answers), *_snow(answers), *_humidity(answers), *_track(answers)]
    return sorted(found, key=lambda change: change.size)


def _air(answers: Answers) -> Iterator[Change]:
    days = answers.air_c
    for name, label in DAYS.items():
        given: float | None = getattr(days, name)
        if given is None:
            continue
        for by in range(1, FARTHEST_C + 1):
            for degrees, text in (
                (-by, N_("If your %(day)s were %(degrees)s °C colder")),
                (by, N_("If your %(day)s were %(degrees)s °C milder")),
            ):
                moved: AirDays = replace(days, **{name: given + degrees})
                if is_in_order(moved) and COLDEST_C <= given + degrees <= WARMEST_C:
                    supposed = Phrase(text, {"day": Phrase(label), "degrees": by})
                    yield Change("air", by, replace(answers, air_c=moved), supposed)


def _snow(answers: Answers) -> Iterator[Change]:
    for kind in SnowKind:
        given = answers.often(kind)
        for often in OFTEN:
            if often is given:
                continue
            snow = {**answers.snow, kind: often}
            if all(snow.get(one) is HowOften.NEVER for one in SnowKind):
                continue
            steps = 1 if given is HowOften.UNSURE else abs(OFTEN.index(often) - OFTEN.index(given))
            supposed = Phrase(
                N_("If “%(kind)s” were answered “%(often)s” instead of “%(given)s”"),
                {
                    "kind": Phrase(kind.label),
                    "often": Phrase(often.label),
                    "given": Phrase(given.label),
                },
            )
            yield Change("snow", steps * STEP_IN_C, replace(answers, snow=snow), supposed)


def _humidity(answers: Answers) -> Iterator[Change]:
    given = answers.humidity
    for one in HUMIDITIES:
        if one is not given:
            steps = 1 if given not in HUMIDITIES else abs(HUMIDITIES.index(one) - HUMIDITIES.index(given))
            supposed = Phrase(
                N_("If your air were “%(humidity)s”"),
                {"humidity": Phrase(one.label)},
            )
            yield Change("humidity", steps * STEP_IN_C, replace(answers, humidity=one), supposed)


def _track(answers: Answers) -> Iterator[Change]:
    given = answers.track_wet
    for one in TRACKS:
        if one is not given:
            steps = 1 if given not in TRACKS else abs(TRACKS.index(one) - TRACKS.index(given))
            supposed = Phrase(N_("If the track went wet “%(often)s”"), {"often": Phrase(one.label)})
            yield Change("track_wet", steps * STEP_IN_C, replace(answers, track_wet=one), supposed)
