"""What skiers wrote of two pairs side by side, and what all of it together says of the structures."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from typing import Any

from sqlalchemy import or_, select
from sqlalchemy.orm import Session, joinedload

from portal.db.catalogue import Structure
from portal.db.glide_notes import GlideNote
from portal.db.grinds import Grind
from portal.domain.access import Actor
from portal.domain.errors import NotFound
from portal.domain.evidence import Evidence, Note, counted

LISTED_AT_MOST = 200
# What of a stated structure makes its surface. A version that differs in anything else is the same on the snow.
SURFACE = ("lay", "void_ml_m2", "plateau", "layers")
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
    """What all notes say of the structures that can be booked, by their keys.

    A note counts for a structure as long as the version that was skied has the surface of the one that can be booked.
    """
    rows = session.execute(
        select(
            GlideNote.person_id,
            GlideNote.kind,
            GlideNote.moisture,
            GlideNote.outcome,
            GlideNote.structure_id,
            GlideNote.other_structure_id,
        ).where(GlideNote.other_structure_id.is_not(None))
    ).all()
    compared = [(*row[:5], row[5]) for row in rows if row[5] is not None]
    names = _names(session, {number for row in compared for number in row[4:]})
    return counted(
        Note(person_id, names[own], names[beside], kind, moisture, outcome)
        for person_id, kind, moisture, outcome, own, beside in compared
    )


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
