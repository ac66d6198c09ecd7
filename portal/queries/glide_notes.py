"""What skiers wrote of two pairs side by side, and what all of it together says of the structures."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date
from typing import Any

from sqlalchemy import BigInteger, Integer, String, and_, case, cast, func, or_, select, type_coerce
from sqlalchemy.orm import Session, joinedload

from portal.db.catalogue import Structure
from portal.db.glide_notes import ALIKE, GlideNote
from portal.db.grinds import Grind
from portal.db.people import Person
from portal.domain.access import Actor
from portal.domain.conditions import Moisture, Outcome
from portal.domain.errors import NotFound
from portal.domain.evidence import Evidence, Note, counted
from portal.domain.set_aside import SetAside
from portal.domain.snow import SnowKind

LISTED_AT_MOST = 200
# What of a stated structure makes its surface. A version that differs in anything else is the same on the snow.
SURFACE = ("lay", "void_ml_m2", "plateau", "layers")
KINDS: dict[str, SnowKind] = {one.value: one for one in SnowKind}
MOISTURES: dict[str, Moisture] = {one.value: one for one in Moisture}
OUTCOMES: dict[str, Outcome] = {one.value: one for one in Outcome}
_WHOLE = (
    joinedload(GlideNote.structure),
    joinedload(GlideNote.other_structure),
    joinedload(GlideNote.pair),
    joinedload(GlideNote.other_pair),
)


def one(session: Session, actor: Actor, note_id: int) -> GlideNote:
    """The note with its pairs and structures; ``NotFound`` unless this person wrote it."""
    note = session.scalars(select(GlideNote).options(*_WHOLE).where(GlideNote.id == note_id)).one_or_none()
    if note is None or note.person_id != actor.person_id:
        raise NotFound
    return note


def of_pair(session: Session, actor: Actor, pair_id: int) -> list[GlideNote]:
    """What this person wrote of a pair, from either side, the latest day first."""
    rows = (
        select(GlideNote)
        .options(*_WHOLE)
        .where(
            GlideNote.person_id == actor.person_id,
            or_(GlideNote.pair_id == pair_id, GlideNote.other_pair_id == pair_id),
        )
        .order_by(GlideNote.skied_on.desc(), GlideNote.id.desc())
        .limit(LISTED_AT_MOST)
    )
    return list(session.scalars(rows))


def on_pair(session: Session, pair_id: int) -> list[GlideNote]:
    """What anybody wrote of a pair, from either side: for what happens to it when the pair goes to somebody else."""
    rows = select(GlideNote).where(or_(GlideNote.pair_id == pair_id, GlideNote.other_pair_id == pair_id))
    return list(session.scalars(rows))


def latest_of_pairs(session: Session, actor: Actor, pair_ids: Collection[int]) -> dict[int, GlideNote]:
    """The last note that this person wrote of each pair, from either side, by itself; pairs without one are left out."""
    rows = (
        select(GlideNote)
        .where(
            GlideNote.person_id == actor.person_id,
            or_(GlideNote.pair_id.in_(pair_ids), GlideNote.other_pair_id.in_(pair_ids)),
        )
        .order_by(GlideNote.skied_on.desc(), GlideNote.id.desc())
    )
    found: dict[int, GlideNote] = {}
    for note in session.scalars(rows):
        for pair_id in (note.pair_id, note.other_pair_id):
            if pair_id in pair_ids and pair_id is not None:
                found.setdefault(pair_id, note)
    return found


def on_base(session: Session, pair_ids: Collection[int], day: date) -> dict[int, Grind]:
    """The last grind of each pair on or before a day, with its structure; pairs without one are left out."""
    rows = (
        select(Grind)
        .options(joinedload(Grind.structure).joinedload(Structure.family))
        .where(Grind.pair_id.in_(pair_ids), Grind.ground_on <= day)
        .order_by(Grind.ground_on, Grind.id)
    )
    return {grind.pair_id: grind for grind in session.scalars(rows)}


def evidence(session: Session) -> Evidence:
    """What all notes that count say of the structures that can be booked, by their keys.

    A note counts for a structure as long as the version that was skied has the surface of the one that can be booked.
    """
    columns = [getattr(GlideNote, name) for name in ALIKE]
    # Many thousand rows: as they are kept, since each would be made into members of three enums otherwise.
    plain = [type_coerce(one, Integer if one.key.endswith("_id") else String) for one in columns]
    rows: Sequence[Any] = session.execute(
        select(*plain, func.count())
        .where(GlideNote.set_aside.is_(None), GlideNote.other_structure_id.is_not(None))
        .group_by(*columns)
    ).all()
    names = _names(session, {row[0] for row in rows} | {row[1] for row in rows})
    return counted(
        Note(person_id, names[own], names[beside], KINDS[kind], MOISTURES[moisture], OUTCOMES[outcome], times)
        for own, beside, kind, moisture, person_id, outcome, times in rows
    )


def evidence_mark(session: Session) -> tuple[Any, ...]:
    """Stands for the notes that count and for the structures as they are: as long as it is the same, so is the evidence.

    A note never changes but by being set aside, so sums of their numbers tell which of them count; when they were
    written tells a new note from a deleted one whose number it got.
    """
    number, own, beside = (
        cast(column, BigInteger)
        for column in (GlideNote.id, GlideNote.structure_id, GlideNote.other_structure_id)
    )
    notes = session.execute(
        select(
            func.count(),
            func.sum(number),
            func.sum(number * number),
            func.sum(number * own),
            func.sum(number * beside),
            func.max(GlideNote.created_at),
        ).where(GlideNote.set_aside.is_(None), GlideNote.other_structure_id.is_not(None))
    ).one()
    row = cast(Structure.id, BigInteger)
    structures = session.execute(
        select(
            func.max(Structure.id),
            func.sum(case((Structure.current, row), else_=0)),
            func.sum(case((Structure.current, row * row), else_=0)),
        )
    ).one()
    return (*notes, *structures)


def lock_writer(session: Session, actor: Actor) -> None:
    """Let one note after another of this person be judged, so that each knows of those before it."""
    session.execute(select(Person.id).where(Person.id == actor.person_id).with_for_update())


def of_outing(session: Session, actor: Actor, outing: str) -> list[GlideNote]:
    """What this person wrote at once, in the order in which it was written."""
    rows = select(GlideNote).where(GlideNote.person_id == actor.person_id, GlideNote.outing == outing)
    return list(session.scalars(rows.order_by(GlideNote.id)))


def counted_on(session: Session, actor: Actor, day: date) -> list[GlideNote]:
    """What this person wrote of a day and what counts, the last one first."""
    rows = select(GlideNote).where(
        GlideNote.person_id == actor.person_id, GlideNote.skied_on == day, GlideNote.set_aside.is_(None)
    )
    return list(session.scalars(rows.order_by(GlideNote.id.desc())))


def gave_way_on(session: Session, actor: Actor, day: date) -> list[GlideNote]:
    """What this person felt on a day and timed runs took the place of."""
    rows = select(GlideNote).where(
        GlideNote.person_id == actor.person_id,
        GlideNote.skied_on == day,
        GlideNote.set_aside == SetAside.TIMED,
    )
    return list(session.scalars(rows))


def behind(session: Session, structure: str, kind: SnowKind, moisture: Moisture) -> list[GlideNote]:
    """The notes on a structure beside others, by its key, in a class of snow, the latest day first.

    Those set aside are among them, and those on an older version whose surface is still the same.
    """
    ids = [
        number
        for number, name in _names(
            session, session.scalars(select(Structure.id).where(Structure.key == structure)).all()
        ).items()
        if name == structure
    ]
    rows = (
        select(GlideNote)
        .options(joinedload(GlideNote.structure), joinedload(GlideNote.other_structure))
        .where(
            or_(
                and_(GlideNote.structure_id.in_(ids), GlideNote.other_structure_id.not_in(ids)),
                and_(GlideNote.structure_id.not_in(ids), GlideNote.other_structure_id.in_(ids)),
            ),
            GlideNote.kind == kind,
            GlideNote.moisture == moisture,
        )
        .order_by(GlideNote.skied_on.desc(), GlideNote.id.desc())
        .limit(LISTED_AT_MOST)
    )
    return list(session.scalars(rows))


def at_the_workshop(session: Session, note_id: int) -> GlideNote:
    """The note with both structures, whoever wrote it; ``NotFound`` where it names one structure only."""
    note = session.scalars(
        select(GlideNote)
        .options(joinedload(GlideNote.structure), joinedload(GlideNote.other_structure))
        .where(GlideNote.id == note_id, GlideNote.other_structure_id.is_not(None))
    ).one_or_none()
    if note is None:
        raise NotFound
    return note


def _names(session: Session, ids: Collection[int]) -> dict[int, str]:
    """What each version counts as: the key of the structure, or a name of its own when its surface is another."""
    if not ids:
        return {}
    skied = session.scalars(select(Structure).where(Structure.id.in_(ids))).all()
    keys = {row.key for row in skied}
    now = {
        row.key: row
        for row in session.scalars(select(Structure).where(Structure.current, Structure.key.in_(keys)))
    }
    return {
        row.id: row.key
        if row.key in now and _surface(row.stated) == _surface(now[row.key].stated)
        else f"{row.key} {row.version}"
        for row in skied
    }


def _surface(stated: dict[str, Any]) -> list[Any]:
    return [stated.get(name) for name in SURFACE]
