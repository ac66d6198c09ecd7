"""The workshop's own catalogue."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from portal.db.catalogue import Structure, StructureFamily
from portal.db.diamonds import Diamond
from portal.reference import Reference


def fill_if_empty(session: Session, reference: Reference, now: datetime) -> int:
    """Begin the catalogue and the diamonds with those of ``shared/``; gives back how many structures, 0 when not empty."""
    if session.scalar(select(func.count()).select_from(StructureFamily)):
        return 0
    families = {}
    for family in reference.catalogue.families:
        families[family.key] = StructureFamily(
            key=family.key,
            position=family.order,
            name=family.name,
            summary=family.summary,
            working_model=family.working_model,
        )
        session.add(families[family.key])
    known = set(session.scalars(select(Diamond.mark)))
    for diamond in reference.diamonds:
        if diamond.mark not in known:
            session.add(
                Diamond(
                    mark=diamond.mark,
                    nominal_width_mm=diamond.nominal_width_mm,
                    nominal_tip_mm=diamond.nominal_tip_mm,
                    tip_radius_mm=diamond.tip_radius_mm,
                    tip_flat_mm=diamond.tip_flat_mm,
                    created_at=now,
                )
            )
    for structure in reference.catalogue.structures:
        session.add(
            Structure(
                key=structure.key,
                version=1,
                current=True,
                family=families[structure.family],
                name=structure.name,
                stated=structure.to_json(),
            )
        )
    return len(reference.catalogue.structures)
