"""Which structures a pair can be given, as choices of a form."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sqlalchemy.orm import Session

from portal.domain.answers import Discipline
from portal.queries import catalogue as find_structures
from portal.web.shop.forms import choice

if TYPE_CHECKING:
    from portal.db.catalogue import Structure


def choices_for(session: Session, discipline: Discipline, booked: Structure) -> list[Any]:
    """Every current structure for ``discipline`` under the name of its family, and the one ``booked`` in any case."""
    rows = [
        row
        for row in find_structures.all_current(session)
        if discipline in find_structures.value(row).disciplines
    ]
    if booked.id not in {row.id for row in rows}:
        rows.insert(0, booked)
    return [choice(row.id, row.name, row.family.name) for row in rows]
