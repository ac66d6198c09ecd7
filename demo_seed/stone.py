"""The stone's side of the workshop: a diamond that was measured and counted, and a structure that was changed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime

from sqlalchemy.orm import Session

from portal.domain.access import Actor
from portal.domain.dressing import Dressing
from portal.queries import catalogue as find_structures
from portal.queries import diamonds as find_diamonds
from portal.services import catalogue, diamonds
from portal.services.diamonds import DiamondFacts

MEASURED, CHANGED = "Siskin", "bog-myrtle"


def change(session: Session, manager: Actor, seen: date, now: datetime) -> None:
    """Measure one diamond, look at it on ``seen``, and cut the second layer of a structure with it once more, lighter."""
    row = next(row for row in find_diamonds.in_use(session) if row.mark == MEASURED)
    facts = DiamondFacts(
        mark=row.mark,
        nominal_width_mm=row.nominal_width_mm,
        nominal_tip_mm=row.nominal_tip_mm,
        tip_radius_mm=0.41,
        tip_flat_mm=0.03,
        dressings=146,
        looked_at=seen,
        notes="The tip shows a small flat since last winter.",
    )
    diamonds.change(session, manager, row.id, facts, row.dressings, now)
    session.flush()  # The layer below reads the tip back.
    tip = find_diamonds.value(row)
    old = find_structures.by_key(session, CHANGED)
    value = find_structures.value(old)
    *first, last = value.layers
    if isinstance(last.cut, Dressing):
        cut = replace(last.cut, tip_radius_mm=tip.radius_mm, tip_flat_mm=tip.flat_mm)
        last = replace(last, cut=cut, diamond=tip.mark, lift_um=last.lift_um + 0.5)
    changed = replace(value, layers=(*first, last), removal_um=value.removal_um + 1)
    catalogue.change_structure(session, manager, old.version, changed, now)
