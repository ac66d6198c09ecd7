"""What was ground when."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from portal.db.arrivals import CheckIn
from portal.db.catalogue import Structure
from portal.db.grinds import Grind
from portal.domain.base_life import BaseGrind, Measured, Thickness, last_reading


def of_pair(session: Session, pair_id: int) -> list[Grind]:
    """The grinds of a pair, the newest first, each with its structure and family."""
    return of_pairs(session, [pair_id])[pair_id]


def of_pairs(session: Session, pair_ids: Collection[int]) -> dict[int, list[Grind]]:
    """The same for several pairs at once; a pair that was never ground has an empty list."""
    rows = (
        select(Grind)
        .options(joinedload(Grind.structure).joinedload(Structure.family))
        .where(Grind.pair_id.in_(pair_ids))
        .order_by(Grind.ground_on.desc(), Grind.id.desc())
    )
    found: dict[int, list[Grind]] = {pair_id: [] for pair_id in pair_ids}
    for grind in session.scalars(rows):
        found[grind.pair_id].append(grind)
    return found


def of_item(session: Session, item_id: int) -> Grind | None:
    """The grind that was recorded for a pair of a booking."""
    return session.scalars(select(Grind).where(Grind.item_id == item_id)).one_or_none()


def latest_of_pairs(session: Session, pair_ids: list[int]) -> dict[int, Grind]:
    """The last grind of each of the pairs that has one."""
    rows = (
        select(Grind)
        .options(joinedload(Grind.structure).joinedload(Structure.family))
        .where(Grind.pair_id.in_(pair_ids))
        .order_by(Grind.ground_on, Grind.id)
    )
    return {grind.pair_id: grind for grind in session.scalars(rows)}


def thinnest_now_um(session: Session, pair_id: int) -> int | None:
    """The thinnest point of the base as last measured, in whole micrometres; nothing when it never was."""
    return thinnest_of_pairs(session, [pair_id])[pair_id]


def thinnest_of_pairs(session: Session, pair_ids: Collection[int]) -> dict[int, int | None]:
    """The same for several pairs at once."""
    rows = session.scalars(
        select(Grind).where(Grind.pair_id.in_(pair_ids)).order_by(Grind.ground_on, Grind.id)
    )
    grinds: dict[int, list[BaseGrind]] = {pair_id: [] for pair_id in pair_ids}
    for grind in rows:
        grinds[grind.pair_id].append(BaseGrind(grind.ground_on, before(grind), after(grind), 0))
    measured = measured_besides(session, pair_ids)
    found = {pair_id: last_reading(grinds[pair_id], measured.get(pair_id, ())) for pair_id in pair_ids}
    return {pair_id: reading.um if reading is not None else None for pair_id, reading in found.items()}


def measured_besides(session: Session, pair_ids: Collection[int]) -> dict[int, list[Measured]]:
    """What was measured of the pairs when they came in, the oldest first: pair id -> measurements, where there are any."""
    rows = select(CheckIn).where(CheckIn.pair_id.in_(pair_ids)).order_by(CheckIn.day, CheckIn.id)
    found: dict[int, list[Measured]] = {}
    for row in session.scalars(rows):
        thickness = _thickness(row.tip_um, row.middle_um, row.tail_um)
        if thickness is not None:
            found.setdefault(row.pair_id, []).append(Measured(row.day, thickness))
    return found


def before(grind: Grind) -> Thickness | None:
    """What was measured before a grind, if anything was."""
    return _thickness(grind.before_tip_um, grind.before_middle_um, grind.before_tail_um)


def after(grind: Grind) -> Thickness | None:
    """What was measured after a grind, if anything was."""
    return _thickness(grind.after_tip_um, grind.after_middle_um, grind.after_tail_um)


def _thickness(tip: int | None, middle: int | None, tail: int | None) -> Thickness | None:
    readings = Thickness(tip, middle, tail)
    return readings if readings.measured else None
