"""Keeping glide notes: two pairs of one skier side by side in the snow of a day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from portal.db.glide_notes import GlideNote
from portal.domain.access import Actor
from portal.domain.conditions import Conditions, Outcome, mirrored
from portal.domain.errors import NotFound, NotNow
from portal.domain.words import N_
from portal.queries import glide_notes as find_notes
from portal.queries import pairs as find_pairs


@dataclass(frozen=True)
class GlideFacts:
    """What a skier says of one day: ``pair_id`` ran ``outcome`` beside ``other_id``."""

    pair_id: int
    other_id: int
    skied_on: date
    conditions: Conditions
    outcome: Outcome
    remarks: str = ""


def add(session: Session, actor: Actor, facts: GlideFacts, today: date, now: datetime) -> GlideNote:
    """Keep a note, with the structures that were on both bases that day.

    ``NotFound`` unless both pairs are the person's own; ``NotNow`` for a day to come, for pairs of different kinds of
    skiing, for a pair beside itself, and where it is not known what was on a base.
    """
    pair, other = (find_pairs.one(session, actor, number) for number in (facts.pair_id, facts.other_id))
    if pair.owner_id != actor.person_id or other.owner_id != actor.person_id:
        raise NotFound
    if pair.id == other.id:
        raise NotNow(N_("A pair is compared with another one."))
    if pair.discipline is not other.discipline:
        raise NotNow(N_("Two pairs are compared in one kind of skiing."))
    if facts.skied_on > today:
        raise NotNow(N_("That day is still to come."))
    bases = find_notes.on_base(session, [pair.id, other.id], facts.skied_on)
    if pair.id not in bases or other.id not in bases:
        raise NotNow(N_("It is not known what was on the bases that day."))
    note = GlideNote(
        person_id=actor.person_id,
        pair_id=pair.id,
        structure_id=bases[pair.id].structure_id,
        other_pair_id=other.id,
        other_structure_id=bases[other.id].structure_id,
        skied_on=facts.skied_on,
        air_c=facts.conditions.air_c,
        humidity=facts.conditions.humidity,
        kind=facts.conditions.kind,
        moisture=facts.conditions.moisture,
        outcome=facts.outcome,
        remarks=facts.remarks,
        created_at=now,
    )
    session.add(note)
    return note


def delete(session: Session, actor: Actor, note_id: int) -> int:
    """Take a note away for good; gives back the pair it was written for. ``NotFound`` unless they wrote it."""
    note = find_notes.one(session, actor, note_id)
    pair_id = note.pair_id
    session.delete(note)
    return pair_id


def let_go(session: Session, pair_id: int) -> None:
    """A pair goes to somebody else: notes on it name only the pair that was beside it, and what they say stays the same."""
    for note in find_notes.on_pair(session, pair_id):
        if note.pair_id == pair_id and note.other_pair_id is not None and note.other_structure_id is not None:
            note.pair_id, note.other_pair_id = note.other_pair_id, note.pair_id
            note.structure_id, note.other_structure_id = note.other_structure_id, note.structure_id
            note.outcome = mirrored(note.outcome)
        if note.other_pair_id == pair_id:
            note.other_pair_id = None
