"""The letter of a season: people agree to it and stop it, the workshop sends it once a year, the worker writes it bit by bit."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import insert
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from portal.db.people import Person
from portal.db.season_letters import SeasonLetter, SeasonRound
from portal.domain.access import Actor
from portal.domain.audit import Act
from portal.domain.errors import NotAllowed, NotNow
from portal.domain.next_grind import base_said
from portal.domain.season_letter import due_of, season_of
from portal.domain.words import N_, Phrase
from portal.mail import outbox, season_letters
from portal.mail.outbox import Letter
from portal.mail.season_letters import PairLine
from portal.queries import bookings as find_bookings
from portal.queries import grinds as find_grinds
from portal.queries import own_texts as find_own_texts
from portal.queries import people as find_people
from portal.queries import season_letters as find_season_letters
from portal.queries import workshop as find_workshop
from portal.queries.season_letters import Counts
from portal.services import audit, base_lives, holds
from portal.services.notices import recipients

CHUNK = 200


def choose(session: Session, actor: Actor, wanted: bool, now: datetime) -> None:
    """A person wants the letter, or does not; the day on which they agreed is kept, and stays when they agree again."""
    person = find_people.one(session, actor.person_id)
    person.season_letter_since = (person.season_letter_since or now) if wanted else None


def stop(session: Session, token: str) -> bool:
    """Whoever got this letter gets none any more; tells whether the link is one of ours. Stopping twice is the same as once."""
    person = find_season_letters.by_token(session, token)
    if person is None:
        return False
    person.season_letter_since = None
    return True


@dataclass(frozen=True)
class Outlook:
    """What sending the letters of a season would do now: to how many, and on how many something is due."""

    season: int
    counts: Counts
    to_write: int
    with_due: int
    last: SeasonRound | None


def outlook(session: Session, now: datetime) -> Outlook:
    """The numbers for whoever decides about sending, read a part at a time."""
    season = _season(session, now)
    to_write = with_due = after = 0
    while people := find_season_letters.to_write_to(session, season, now, CHUNK, after=after):
        told = lines_of(session, people, season)
        to_write += len(people)
        with_due += sum(any(line.due for line in told[person.id]) for person in people)
        after = people[-1].id
    return Outlook(
        season,
        find_season_letters.counts(session, season, now),
        to_write,
        with_due,
        find_season_letters.last_round(session),
    )


def preview(session: Session, now: datetime, after: int = 0) -> tuple[int, Letter] | None:
    """A letter as the next person after this number would get it, with that number; nothing where nobody is left.

    Nothing of it is kept, and its link stops nothing.
    """
    season = _season(session, now)
    people = find_season_letters.to_write_to(session, season, now, 1, after=after)
    made = _letters(session, people, season, lambda: "example")
    return (people[0].id, made[0][1]) if made else None


def send(session: Session, actor: Actor, now: datetime) -> None:
    """Ask for the letters of this season; the worker writes them. ``NotNow`` while it is at it, and where nobody is left."""
    if not actor.is_manager:
        raise NotAllowed
    season = _season(session, now)
    if not find_season_letters.to_write_to(session, season, now, 1):
        raise NotNow(N_("Nobody is left to write to this season. Nobody gets the letter twice."))
    if find_season_letters.open_round(session) is not None:
        raise NotNow(BEING_WRITTEN)
    try:
        with session.begin_nested():
            session.add(SeasonRound(season=season, asked_at=now, asked_by_id=actor.person_id))
    except IntegrityError:
        raise NotNow(BEING_WRITTEN) from None
    audit.note(session, actor, Act.SEASON_LETTER_SENT, now, Phrase(N_("Season %(year)s"), {"year": season}))


BEING_WRITTEN = N_("The letters are being written already. Look again in a minute.")


def write_some(session: Session, now: datetime, token: Callable[[], str]) -> bool:
    """Write the next letters of the open round, at most ``CHUNK``; tells whether there may be more.

    The round is locked, so that two workers write one after the other, and each sees what the other has written.
    """
    being_sent = find_season_letters.open_round(session, to_write=True)
    if being_sent is None or being_sent.finished_at is not None:
        return False
    people = find_season_letters.to_write_to(session, being_sent.season, now, CHUNK, to_write=True)
    if not people:
        being_sent.finished_at = now
        return False
    made = _letters(session, people, being_sent.season, token)
    shared = {"season": being_sent.season, "written_at": now}
    session.execute(
        insert(SeasonLetter), [{"person_id": number, "token": key, **shared} for number, _letter, key in made]
    )
    outbox.put_all(session, [letter for _number, letter, _key in made], now)
    being_sent.written += len(people)
    return True


def lines_of(session: Session, people: Sequence[Person], season: int) -> dict[int, list[PairLine]]:
    """What there is to say of the pairs of each person, in a few statements for all of them."""
    workshop = find_workshop.the(session)
    pairs = find_season_letters.pairs_of(session, [person.id for person in people])
    ids = [pair.id for owned in pairs.values() for pair in owned]
    grinds, measured = find_season_letters.grinds_of(session, ids), find_grinds.measured_besides(session, ids)
    booked = set(find_bookings.open_with_pair(session, ids))
    found: dict[int, list[PairLine]] = {person.id: [] for person in people}
    for owner_id, owned in pairs.items():
        for pair in owned:
            made = grinds.get(pair.id, [])
            life = base_lives.life(workshop, made, measured.get(pair.id, []))
            last = made[0] if made else None
            ground_on = last.ground_on if last is not None else None
            due = due_of(life, ground_on, season)
            found[owner_id].append(
                PairLine(
                    pair.title,
                    last.structure.name if last is not None else "",
                    ground_on,
                    base_said(life),
                    None if pair.id in booked or due is None else due.words(ground_on),
                    pair.id in booked,
                )
            )
    return found


def _letters(
    session: Session, people: Sequence[Person], season: int, token: Callable[[], str]
) -> list[tuple[int, Letter, str]]:
    workshop, own = find_workshop.the(session), find_own_texts.current(session)
    told = lines_of(session, people, season)
    made = []
    for person, recipient in zip(people, recipients(people, own), strict=True):
        key = token()
        agreed_at = person.season_letter_since or person.created_at
        letter = season_letters.letter(workshop, recipient, told[person.id], agreed_at, key, own)
        made.append((person.id, letter, key))
    return made


def _season(session: Session, now: datetime) -> int:
    return season_of(holds.day_at(find_workshop.the(session), now))
