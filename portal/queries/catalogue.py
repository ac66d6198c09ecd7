"""The workshop's structures."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from portal.db import catalogue as tables
from portal.domain.errors import NotFound
from portal.domain.structures import Catalogue, Family, Structure

_WHOLE = joinedload(tables.Structure.family)


def value(row: tables.Structure) -> Structure:
    """The structure as the computations see it."""
    return Structure.from_json(row.stated)


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


def catalogue(session: Session) -> Catalogue:
    """All that can be booked, as the computations see it."""
    return Catalogue(
        families=tuple(
            Family(row.key, row.name, row.summary, row.position, row.working_model)
            for row in families(session)
        ),
        structures=tuple(value(row) for row in all_current(session)),
    )
