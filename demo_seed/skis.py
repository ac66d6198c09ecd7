"""Pairs of skis: invented makers and models, as people have them."""

from __future__ import annotations

from datetime import date
from random import Random

from portal.domain.answers import Discipline, Purpose
from portal.domain.pairs import BaseColour, Grip
from portal.services.pairs import PairFacts

MAKERS = {
    "Fennmark": ("Heron", "Dipper", "Tern"),
    "Birkholt": ("Rime", "Drift", "Glaze"),
    "Tarnvale": ("Otter", "Marten", "Stoat"),
    "Skarlund": ("Lodestar", "Northing"),
    "Ostermoor": ("Quill", "Feather", "Down"),
}
MARKS = (
    "Red tape at the tail",
    "Number 7",
    "Blue dot",
    "Two stripes",
    "Initials on the tip",
    "Yellow sticker",
)
GRIPS = (Grip.WAX, Grip.WAX, Grip.SKIN, Grip.SKIN, Grip.SCALES)
PURPOSES = (Purpose.ALL_ROUND, Purpose.ALL_ROUND, Purpose.ALL_ROUND, Purpose.RACE, Purpose.SPECIAL)


def adult(rng: Random, today: date, discipline: Discipline) -> PairFacts:
    """A grown-up's pair; now and then something about it is not known."""
    is_classic = discipline is Discipline.CLASSIC
    length = rng.randrange(192, 208, 5) if is_classic else rng.randrange(177, 193, 5)
    return _facts(rng, today, discipline, length, rng.randrange(55, 95), rng.choice(PURPOSES))


def junior(rng: Random, today: date, discipline: Discipline, birth_year: int) -> PairFacts:
    """A young skier's pair, long and stiff as the age goes."""
    age = max(7, today.year - birth_year)
    length = min(190, 110 + 6 * (age - 5) + (8 if discipline is Discipline.CLASSIC else 0))
    purpose = Purpose.RACE if rng.random() < 0.3 else Purpose.ALL_ROUND
    return _facts(rng, today, discipline, length, max(15, 5 * age - 18), purpose)


def _facts(
    rng: Random, today: date, discipline: Discipline, length: int, stiffness: int, purpose: Purpose
) -> PairFacts:
    maker = rng.choice(sorted(MAKERS))
    is_classic = discipline is Discipline.CLASSIC
    return PairFacts(
        maker=maker,
        model=rng.choice(MAKERS[maker]),
        discipline=discipline,
        purpose=purpose,
        length_cm=length,
        year=today.year - rng.randrange(1, 9) if rng.random() < 0.85 else None,
        mark=rng.choice(MARKS) if rng.random() < 0.6 else "",
        base=rng.choice((BaseColour.DARK, BaseColour.DARK, BaseColour.CLEAR)) if rng.random() < 0.9 else None,
        stiffness_kg=stiffness if rng.random() < 0.6 else None,
        grip=rng.choice(GRIPS) if is_classic else None,
        kick_zone_cm=rng.randrange(50, 75, 5) if is_classic and rng.random() < 0.5 else None,
    )
