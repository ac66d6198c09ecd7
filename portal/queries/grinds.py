"""What was ground when."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from portal.db.catalogue import Structure
from portal.db.grinds import Grind


def of_pair(session: Session, pair_id: int) -> list[Grind]:
    """The grinds of a pair, the newest first, each with its structure and family."""
    rows = (
        select(Grind)
        .options(joinedload(Grind.structure).joinedload(Structure.family))
        .where(Grind.pair_id == pair_id)
        .order_by(Grind.ground_on.desc(), Grind.id.desc())
    )
    return list(session.scalars(rows))


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
    """The same of several pairs."""
    points = (
        (Grind.after_tip_um, Grind.after_middle_um, Grind.after_tail_um),
        (Grind.before_tip_um, Grind.before_middle_um, Grind.before_tail_um),
    )
    rows = (
        select(Grind.pair_id, *points[0], *points[1])
        .where(Grind.pair_id.in_(pair_ids))
        .order_by(Grind.ground_on.desc(), Grind.id.desc())
    )
    found: dict[int, int | None] = dict.fromkeys(pair_ids)
    for pair_id, *readings in session.execute(rows):
        for part in (readings[:3], readings[3:]):
            measured = [point for point in part if point is not None]
            if measured and found[pair_id] is None:
                found[pair_id] = min(measured)
    return found
