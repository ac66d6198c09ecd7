"""The workshop's own catalogue."""

from __future__ import annotations

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from portal.db.catalogue import Structure, StructureFamily
from portal.reference import Reference


def fill_if_empty(session: Session, reference: Reference) -> int:
    """Begin the catalogue with the starter structures of ``shared/``; gives back how many, none when it is not empty."""
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
