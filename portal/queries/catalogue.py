"""The workshop's structures."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import InstrumentedAttribute, Session, joinedload

from portal.db import catalogue as tables
from portal.db.bookings import BookingItem
from portal.db.grinds import Grind
from portal.db.workshop import Workshop
from portal.domain.errors import NotFound
from portal.domain.planning.routes import Work, work_for
from portal.domain.structures import Catalogue, Family, Structure

_WHOLE = joinedload(tables.Structure.family)


def value(row: tables.Structure) -> Structure:
    """The structure as the computations see it."""
    return Structure.from_json(row.stated)


def work(workshop: Workshop, structure: tables.Structure, *, flattening: bool, saturation: bool) -> Work:
    """The steps on the stone of a pair that gets this structure and these extras."""
    return work_for(
        value(structure),
        flattening=flattening,
        saturation=saturation,
        flattening_minutes=workshop.flattening_minutes,
        saturation_minutes=workshop.saturation_minutes,
    )


def work_of(workshop: Workshop, item: BookingItem) -> Work:
    """The steps of a booked pair, which comes with its structure."""
    return work(workshop, item.structure, flattening=item.flattening, saturation=item.saturation)


def families(session: Session) -> list[tables.StructureFamily]:
    """The families, from the most bearing to the most open."""
    return list(session.scalars(select(tables.StructureFamily).order_by(tables.StructureFamily.position)))


def all_current(session: Session) -> list[tables.Structure]:
    """The structures that can be booked, by family and name, each with its family."""
    rows = (
        select(tables.Structure)
        .options(_WHOLE)
        .join(tables.Structure.family)
        .where(tables.Structure.current)
        .order_by(tables.StructureFamily.position, tables.Structure.name)
    )
    return list(session.scalars(rows))


def one(session: Session, structure_id: int) -> tables.Structure:
    """The structure with its family, an old version too; or ``NotFound``."""
    row = session.scalars(
        select(tables.Structure).options(_WHOLE).where(tables.Structure.id == structure_id)
    ).one_or_none()
    if row is None:
        raise NotFound
    return row


def current(session: Session, structure_id: int) -> tables.Structure:
    """The structure, if it can be booked; or ``NotFound``."""
    row = one(session, structure_id)
    if not row.current:
        raise NotFound
    return row


def by_key(session: Session, key: str) -> tables.Structure:
    """The version of a structure that can be booked, by the name in its address; or ``NotFound``."""
    row = session.scalars(
        select(tables.Structure).options(_WHOLE).where(tables.Structure.key == key, tables.Structure.current)
    ).one_or_none()
    if row is None:
        raise NotFound
    return row


def family(session: Session, family_id: int) -> tables.StructureFamily:
    """The family, or ``NotFound``."""
    row = session.get(tables.StructureFamily, family_id)
    if row is None:
        raise NotFound
    return row


def versions(session: Session, key: str) -> list[tables.Structure]:
    """All versions of a structure with their families, the newest first; ``NotFound`` when there is none."""
    rows = list(
        session.scalars(
            select(tables.Structure)
            .options(_WHOLE)
            .where(tables.Structure.key == key)
            .order_by(tables.Structure.version.desc())
        )
    )
    if not rows:
        raise NotFound
    return rows


def newest(session: Session, key: str) -> tables.Structure:
    """The newest version of a structure, whether it can be booked or is retired; or ``NotFound``."""
    return versions(session, key)[0]


def locked_newest(session: Session, key: str) -> tables.Structure:
    """The newest version, read afresh once nobody else can change this structure; or ``NotFound``."""
    session.execute(select(tables.Structure.id).where(tables.Structure.key == key).with_for_update())
    session.expire_all()
    return newest(session, key)


def retired(session: Session) -> list[tables.Structure]:
    """The newest version of each structure of which none can be booked, by name, each with its family."""
    offered = select(tables.Structure.key).where(tables.Structure.current)
    latest = (
        select(func.max(tables.Structure.id))
        .where(tables.Structure.key.not_in(offered))
        .group_by(tables.Structure.key)
    )
    rows = select(tables.Structure).options(_WHOLE).where(tables.Structure.id.in_(latest))
    return list(session.scalars(rows.order_by(tables.Structure.name)))


@dataclass(frozen=True)
class Uses:
    """How many pairs in bookings, and how many grinds, name one version of a structure."""

    booked: int = 0
    ground: int = 0


def uses(session: Session, structure_ids: Iterable[int]) -> dict[int, Uses]:
    """What names each of these rows: row id -> counts. A pair of a booking that ended in any way counts too."""
    ids = list(structure_ids)

    def count(of: InstrumentedAttribute[int]) -> dict[int, int]:
        return dict(session.execute(select(of, func.count()).where(of.in_(ids)).group_by(of)).all())

    booked, ground = count(BookingItem.structure_id), count(Grind.structure_id)
    return {one: Uses(booked.get(one, 0), ground.get(one, 0)) for one in ids}


def catalogue(session: Session) -> Catalogue:
    """All that can be booked, as the computations see it."""
    return Catalogue(
        families=tuple(
            Family(row.key, row.name, row.summary, row.position, row.working_model)
            for row in families(session)
        ),
        structures=tuple(value(row) for row in all_current(session)),
    )
