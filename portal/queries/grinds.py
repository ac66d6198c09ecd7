"""What was ground when."""

from __future__ import annotations

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
    for grind in of_pair(session, pair_id):
        for points in (
            (grind.after_tip_um, grind.after_middle_um, grind.after_tail_um),
            (grind.before_tip_um, grind.before_middle_um, grind.before_tail_um),
        ):
            measured = [point for point in points if point is not None]
            if measured:
                return min(measured)
    return None
