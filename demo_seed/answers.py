"""Answers to the snow questions: what people of the valley, of the fells and of the coast would say."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from random import Random
from typing import Any

from sqlalchemy.orm import Session

from demo_seed.people import People
from portal.domain.access import Actor
from portal.domain.answers import AirDays, Answers, HowOften, Humidity, Purpose, TrackWet, Weakness
from portal.domain.questions import stored_from
from portal.domain.snow import SnowKind
from portal.queries import pairs as find_pairs
from portal.services import age_classes, snow_answers

OFTEN = (HowOften.NEVER, HowOften.SOMETIMES, HowOften.OFTEN, HowOften.MOSTLY, HowOften.UNSURE)
# (place, cold, ordinary and mild day in °C, air, wet tracks, what each kind of snow weighs)
PLACES: tuple[tuple[str, tuple[float, float, float], Humidity, TrackWet], ...] = (
    ("Hollowmere valley tracks", (-12.0, -5.0, 1.0), Humidity.ORDINARY, TrackWet.SOMETIMES),
    ("High Fell loop", (-20.0, -9.0, -2.0), Humidity.DRY, TrackWet.NEVER),
    ("Saltmarsh coast trails", (-6.0, -1.0, 3.0), Humidity.HUMID, TrackWet.OFTEN),
)


def answer(
    session: Session, rng: Random, people: People, clubs: Sequence[tuple[int, Actor]], now: datetime
) -> None:
    """Finished answers for two of three pairs, for both clubs, and for the youngest of the first one."""
    for number, skier in enumerate(people.skiers):
        for pair in find_pairs.of_person(session, skier.person_id):
            if number == 0 or rng.random() < 0.6:
                said = _said(rng, number % len(PLACES))
                special = rng.choice(sorted(SnowKind)).value if pair.purpose is Purpose.SPECIAL else None
                said["discipline"] = pair.discipline.value
                said["purpose"] = {"purpose": pair.purpose.value, "special_kind": special}
                _keep(session, rng, skier, said, now, pair_id=pair.id)
    for number, (club_id, manager) in enumerate(clubs):
        _keep(session, rng, manager, _said(rng, number), now, club_id=club_id)
    _by_age(session, *clubs[0], now)


def _by_age(session: Session, club_id: int, manager: Actor, now: datetime) -> None:
    """Three classes; the youngest ski by the coast, where the others hardly go."""
    for last_age in (10, 12, 14):
        born = (now.year - last_age - 1, now.year - last_age)
        made = age_classes.add(session, manager, club_id, f"U{last_age + 2}", *born, now)
        session.flush()  # Its answers name it by its number.
        if last_age == 10:
            # Chance of its own, so that nothing else in the world changes by it.
            rng = Random(club_id)  # noqa: S311 - invented answers
            _keep(session, rng, manager, _said(rng, 2), now, club_id=club_id, age_class_id=made.id)


def _said(rng: Random, place: int) -> dict[str, Any]:
    name, (cold, ordinary, mild), air, wet = PLACES[place]
    shift = rng.randrange(-2, 3)
    snow = {kind: rng.choice(OFTEN) for kind in SnowKind}
    snow[rng.choice(sorted(SnowKind))] = HowOften.MOSTLY
    weak = tuple(one for one in Weakness if rng.random() < 0.15)
    return stored_from(
        Answers(
            air_c=AirDays(cold + shift, ordinary + shift, mild + shift),
            humidity=air,
            snow=snow,
            track_wet=wet,
            weak=weak,
            place=name,
        )
    )


def _keep(
    session: Session,
    rng: Random,
    who: Actor,
    said: dict[str, Any],
    now: datetime,
    *,
    pair_id: int | None = None,
    club_id: int | None = None,
    age_class_id: int | None = None,
) -> None:
    # The token guards nothing here: these answers belong to somebody, and only they are shown them.
    token = f"demo-{rng.getrandbits(96):024x}"
    row = snow_answers.begin(
        session, who, token, now, pair_id=pair_id, club_id=club_id, age_class_id=age_class_id
    )
    for number, (question, value) in enumerate(said.items()):
        snow_answers.save(row, question, value, now + timedelta(minutes=number))
    snow_answers.finish(row, now + timedelta(minutes=20))
