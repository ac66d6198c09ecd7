"""Glide notes: what people of the valley found when they skied two of their pairs side by side."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from random import Random

from sqlalchemy.orm import Session

from demo_seed.bench import moment
from portal.db.grinds import Grind
from portal.db.pairs import Pair
from portal.domain.access import Actor
from portal.domain.answers import Humidity
from portal.domain.conditions import Conditions, Moisture, Outcome
from portal.domain.snow import SnowKind
from portal.domain.snow_tables import Tables
from portal.domain.structures import Structure
from portal.domain.timed_runs import TimedRuns
from portal.domain.today import ranked
from portal.queries import catalogue as find_structures
from portal.queries import glide_notes as find_notes
from portal.queries import pairs as find_pairs
from portal.services import glide_notes
from portal.services.glide_notes import Outing, Ran

# The days that are skied most there: air in °C, snow and track.
DAYS = (
    Conditions(-7, SnowKind.SETTLED, Moisture.DRY, Humidity.ORDINARY),
    Conditions(-4, SnowKind.SETTLED, Moisture.DRY, Humidity.HUMID),
    Conditions(-11, SnowKind.NEW, Moisture.DRY, Humidity.DRY),
    Conditions(1, SnowKind.REFROZEN, Moisture.MOIST, Humidity.HUMID),
    Conditions(3, SnowKind.WET, Moisture.WET, Humidity.HUMID),
)
# How often each of them is met; the first is what lies there from Christmas to the end of February.
OFTEN = (8, 2, 1, 1, 1)
# A slip of the thumb: no track is that wet in such frost, so the note is kept and does not count.
SLIP = Conditions(-9, SnowKind.SETTLED, Moisture.WET, Humidity.UNSURE)
REMARKS = (
    "Three runs each down the long hill, in turn.",
    "Same wax on both, brushed alike.",
    "Hard to tell below the bridge, clear above it.",
)
# So far after a grind a note still speaks of the structure.
FRESH = timedelta(days=45)
OF_THE_DEMO_SKIER, AT_MOST = 5, 6
# How many of them were timed.
TIMED = 0.3


def write(session: Session, rng: Random, skiers: Sequence[Actor], tables: Tables, today: date) -> None:
    """A few notes of the demo's skier and some of everybody who could compare two pairs."""
    for number, skier in enumerate(skiers):
        wanted = OF_THE_DEMO_SKIER if number == 0 else rng.randrange(AT_MOST + 1)
        pairs = find_pairs.of_person(session, skier.person_id)
        twos = [
            (one, other)
            for place, one in enumerate(pairs)
            for other in pairs[place + 1 :]
            if one.discipline is other.discipline
        ]
        bases = find_notes.on_base(session, [pair.id for pair in pairs], today - timedelta(days=1))
        known = [two for two in twos if all(pair.id in bases for pair in two)]
        for step in range(wanted if known else 0):
            _compare(session, rng, skier, known[step % len(known)], bases, tables, today)
        if known and number == 0:
            one, other = known[0]
            skied = today - timedelta(days=1)
            slip = Outing(other.id, (Ran(one.id, Outcome.SAME),), skied, SLIP)
            glide_notes.write(session, skier, slip, tables, today, moment(skied, 18))


def _compare(
    session: Session,
    rng: Random,
    skier: Actor,
    two: tuple[Pair, Pair],
    bases: dict[int, Grind],
    tables: Tables,
    today: date,
) -> None:
    one, other = two
    last = max(bases[one.id].ground_on, bases[other.id].ground_on)
    latest = min(today - timedelta(days=1), last + FRESH)
    skied = last + timedelta(days=rng.randrange((latest - last).days + 1))
    day = rng.choices(DAYS, OFTEN)[0]
    felt = _outcome(rng, day, [find_structures.value(bases[pair.id].structure) for pair in two])
    outing = Outing(
        beside_id=other.id,
        ran=(Ran(one.id, felt, _timed(rng, felt) if rng.random() < TIMED else None),),
        skied_on=skied,
        conditions=day,
        remarks=rng.choice(REMARKS) if rng.random() < 0.5 else "",
    )
    glide_notes.write(session, skier, outing, tables, today, moment(skied, 17))


def _timed(rng: Random, felt: Outcome) -> TimedRuns:
    """Three runs each in turn down the long hill, some 2 per cent apart where one felt faster."""
    apart = {Outcome.FASTER: 1.02, Outcome.SAME: 1.0, Outcome.SLOWER: 0.98}[felt]
    own = [rng.uniform(21.5, 22.5) for _run in range(3)]
    other = [seconds * apart * rng.gauss(1, 0.003) for seconds in own]
    return TimedRuns(tuple(round(one, 2) for one in own), tuple(round(one, 2) for one in other), in_turn=True)


def _outcome(rng: Random, day: Conditions, structures: Sequence[Structure]) -> Outcome:
    """Mostly what the ranges say, with some luck: nobody's arms and wax are the same twice."""
    fits = {one.pair_id: one.fit for one in ranked(day, {day.moisture: 1.0}, list(enumerate(structures)))}
    better = fits[0] - fits[1] + rng.gauss(0, 0.25)
    if abs(better) < 0.08:
        return Outcome.SAME
    return Outcome.FASTER if better > 0 else Outcome.SLOWER
