"""Keeping glide notes: pairs of one skier side by side in the snow of a day, and which of the notes count."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from portal.db.glide_notes import GlideNote
from portal.db.grinds import Grind
from portal.db.pairs import Pair
from portal.domain.access import Action, Actor, insist
from portal.domain.audit import Act
from portal.domain.conditions import Conditions, Outcome, mirrored
from portal.domain.errors import NotFound, NotNow
from portal.domain.set_aside import Compared, SetAside, gives_way, judged
from portal.domain.snow_tables import Tables
from portal.domain.timed_runs import TimedRuns
from portal.domain.words import N_, Phrase
from portal.queries import glide_notes as find_notes
from portal.queries import pairs as find_pairs
from portal.services import audit


@dataclass(frozen=True)
class Ran:
    """How a pair ran beside the other one of its outing: by timed runs where there are any, else as it felt."""

    pair_id: int
    felt: Outcome | None = None
    timed: TimedRuns | None = None

    @property
    def outcome(self) -> Outcome:
        """Faster, the same or slower; ``NotNow`` where nothing was said."""
        if self.timed is not None:
            return self.timed.difference.outcome
        if self.felt is None:
            raise NotNow(N_("Say of each pair whether it ran faster, the same or slower."))
        return self.felt


@dataclass(frozen=True)
class Outing:
    """What a skier says of one day: each pair of ``ran`` was skied beside the pair ``beside_id``.

    ``key`` comes from the page, so that what is sent twice is kept once.
    """

    beside_id: int
    ran: tuple[Ran, ...]
    skied_on: date
    conditions: Conditions
    remarks: str = ""
    key: str | None = None


def write(
    session: Session, actor: Actor, outing: Outing, tables: Tables, today: date, now: datetime
) -> list[GlideNote]:
    """Keep a note for each pair that was compared, with the structures that were on the bases that day.

    ``NotFound`` unless all pairs are the person's own; ``NotNow`` for a day to come, for pairs of different kinds of
    skiing, for a pair beside itself, and where it is not known what was on a base. What cannot have been is kept too,
    and set aside; what was felt before is set aside where timed runs of the same pairs count.
    """
    # One that is taken over at this moment is theirs no more, or goes with the notes on it.
    find_pairs.lock(session, [outing.beside_id, *(ran.pair_id for ran in outing.ran)])
    find_notes.lock_writer(session, actor)
    if outing.key and (kept := find_notes.of_outing(session, actor, outing.key)):
        return kept
    bases = _bases(session, actor, outing, today)
    before = [(_as_compared(note), note) for note in find_notes.counted_on(session, actor, outing.skied_on)]
    made = []
    for ran in outing.ran:
        compared = Compared(frozenset({ran.pair_id, outing.beside_id}), outing.conditions, ran.timed)
        aside = judged(compared, [one for one, _note_of in before], tables)
        note = _note(actor, outing, ran, bases, aside, now)
        if aside is None:
            for one, earlier in before:
                if gives_way(one, compared):
                    earlier.set_aside = SetAside.TIMED
            before = [(one, earlier) for one, earlier in before if earlier.set_aside is None]
            before.append((compared, note))
        session.add(note)
        made.append(note)
    session.flush()
    return made


def _bases(session: Session, actor: Actor, outing: Outing, today: date) -> Mapping[int, Grind]:
    """The grind that was on the base of each pair that day, once everything about the pairs holds."""
    beside = _own(session, actor, outing.beside_id)
    pairs = [_own(session, actor, ran.pair_id) for ran in outing.ran]
    ids = [pair.id for pair in pairs]
    if not pairs or beside.id in ids or len(set(ids)) < len(ids):
        raise NotNow(N_("A pair is compared with another one."))
    if any(pair.discipline is not beside.discipline for pair in pairs):
        raise NotNow(N_("Pairs are compared in one kind of skiing."))
    if outing.skied_on > today:
        raise NotNow(N_("That day is still to come."))
    bases = find_notes.on_base(session, [beside.id, *ids], outing.skied_on)
    if not {beside.id, *ids} <= set(bases):
        raise NotNow(N_("It is not known what was on the bases that day."))
    return bases


def _own(session: Session, actor: Actor, pair_id: int) -> Pair:
    pair = find_pairs.one(session, actor, pair_id)
    if pair.owner_id != actor.person_id:
        raise NotFound
    return pair


def _note(
    actor: Actor,
    outing: Outing,
    ran: Ran,
    bases: Mapping[int, Grind],
    aside: SetAside | None,
    now: datetime,
) -> GlideNote:
    day = outing.conditions
    return GlideNote(
        person_id=actor.person_id,
        pair_id=ran.pair_id,
        structure_id=bases[ran.pair_id].structure_id,
        other_pair_id=outing.beside_id,
        other_structure_id=bases[outing.beside_id].structure_id,
        skied_on=outing.skied_on,
        air_c=day.air_c,
        humidity=day.humidity,
        kind=day.kind,
        moisture=day.moisture,
        outcome=ran.outcome,
        timed=ran.timed.to_json() if ran.timed is not None else None,
        remarks=outing.remarks,
        outing=outing.key,
        set_aside=aside,
        set_aside_words="",
        created_at=now,
    )


def _as_compared(note: GlideNote) -> Compared:
    ids = {note.pair_id} | ({note.other_pair_id} if note.other_pair_id is not None else set())
    return Compared(
        frozenset(ids),
        Conditions(note.air_c, note.kind, note.moisture, note.humidity),
        TimedRuns.from_json(note.timed) if note.timed else None,
    )


def delete(session: Session, actor: Actor, note_id: int) -> int:
    """Take a note away for good; gives back the pair it was written for. ``NotFound`` unless they wrote it.

    What was felt counts again where the times that took its place are gone.
    """
    find_notes.lock_writer(session, actor)
    note = find_notes.one(session, actor, note_id)
    pair_id = note.pair_id
    if note.set_aside is None:
        for earlier in find_notes.gave_way_on(session, actor, note.skied_on):
            if gives_way(_as_compared(earlier), _as_compared(note)):
                earlier.set_aside = None
    session.delete(note)
    return pair_id


def let_go(session: Session, pair_id: int) -> None:
    """A pair goes to somebody else: notes on it name only the pair that was beside it, and what they say stays the same."""
    for note in find_notes.on_pair(session, pair_id):
        if note.pair_id == pair_id and note.other_pair_id is not None and note.other_structure_id is not None:
            note.pair_id, note.other_pair_id = note.other_pair_id, note.pair_id
            note.structure_id, note.other_structure_id = note.other_structure_id, note.structure_id
            note.outcome = mirrored(note.outcome)
            note.timed = (
                TimedRuns.from_json(note.timed).mirrored.to_json() if note.timed is not None else None
            )
            # Two of one outing may come to stand on the same pair now.
            note.outing = None
        if note.other_pair_id == pair_id:
            note.other_pair_id = None


def set_aside(session: Session, actor: Actor, note_id: int, words: str, now: datetime) -> GlideNote:
    """The workshop keeps a note and counts it no longer; whoever wrote it reads the ``words``.

    ``NotAllowed`` for others, ``NotNow`` without a reason or where it does not count already.
    """
    insist(actor, Action.JUDGE_NOTE, None)
    note = find_notes.at_the_workshop(session, note_id)
    if not words.strip():
        raise NotNow(N_("Say why the note does not count: whoever wrote it reads it."))
    if note.set_aside is not None:
        raise NotNow(N_("The note does not count already."))
    note.set_aside, note.set_aside_words = SetAside.WORKSHOP, words.strip()
    audit.note(session, actor, Act.NOTE_SET_ASIDE, now, _about(note), words.strip())
    return note


def count_again(session: Session, actor: Actor, note_id: int, now: datetime) -> GlideNote:
    """The workshop has a note counted that was set aside, by itself or by a rule.

    ``NotAllowed`` for others, ``NotNow`` where it counts already or cannot tell anything.
    """
    insist(actor, Action.JUDGE_NOTE, None)
    note = find_notes.at_the_workshop(session, note_id)
    if note.set_aside is None:
        raise NotNow(N_("The note counts already."))
    if not note.set_aside.may_count:
        raise NotNow(
            N_("The times of this note cannot tell which pair was faster, so there is nothing to count.")
        )
    audit.note(session, actor, Act.NOTE_COUNTED, now, _about(note), Phrase(note.set_aside.label))
    note.set_aside, note.set_aside_words = None, ""
    return note


def _about(note: GlideNote) -> Phrase:
    """Which note it is, without saying whose."""
    other = note.other_structure
    return Phrase(
        N_("%(structure)s beside %(other)s, %(day)s"),
        {
            "structure": note.structure.name,
            "other": other.name if other is not None else "–",
            "day": note.skied_on.isoformat(),
        },
    )
