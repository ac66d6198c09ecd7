"""The register of diamonds and where each is named."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db import catalogue as catalogue_tables
from portal.db import diamonds as tables
from portal.domain.diamonds import Diamond
from portal.domain.errors import NotFound
from portal.queries import catalogue as find_structures


def value(row: tables.Diamond) -> Diamond:
    """The diamond as the computations see it."""
    return Diamond(row.mark, row.nominal_width_mm, row.nominal_tip_mm, row.tip_radius_mm, row.tip_flat_mm)


def all_diamonds(session: Session) -> list[tables.Diamond]:
    """Those in use first, then the retired ones, by mark."""
    rows = session.scalars(select(tables.Diamond).order_by(tables.Diamond.mark))
    return sorted(rows, key=lambda row: row.retired_at is not None)


def in_use(session: Session) -> list[tables.Diamond]:
    """The diamonds that the stone is dressed with, the finest nominal tip first."""
    rows = select(tables.Diamond).where(tables.Diamond.retired_at.is_(None))
    return list(session.scalars(rows.order_by(tables.Diamond.nominal_tip_mm, tables.Diamond.mark)))


def one(session: Session, diamond_id: int) -> tables.Diamond:
    """The diamond, in use or retired; or ``NotFound``."""
    row = session.get(tables.Diamond, diamond_id)
    if row is None:
        raise NotFound
    return row


def locked(session: Session, diamond_id: int) -> tables.Diamond:
    """The same, read afresh and held until the transaction ends."""
    row = session.scalars(
        select(tables.Diamond)
        .where(tables.Diamond.id == diamond_id)
        .with_for_update()
        .execution_options(populate_existing=True)
    ).one_or_none()
    if row is None:
        raise NotFound
    return row


def structures_naming(session: Session, mark: str) -> list[catalogue_tables.Structure]:
    """The structures on offer of which a layer names this mark, by family and name."""
    return [
        row for row in find_structures.all_current(session) if names(find_structures.value(row).layers, mark)
    ]


def is_named(session: Session, mark: str) -> bool:
    """Whether any version of any structure names this mark, an old or a retired one too."""
    rows = session.scalars(select(catalogue_tables.Structure))
    return any(names(find_structures.value(row).layers, mark) for row in rows)


def names(layers: Sequence[object], mark: str) -> bool:
    """Whether one of the layers is cut with the diamond of this mark."""
    return any(getattr(layer, "diamond", "") == mark for layer in layers)
