"""The register of diamonds: what each is, how it was measured, how often it dressed the stone."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from portal.db.diamonds import Diamond
from portal.domain.access import Action, Actor, insist
from portal.domain.audit import Act
from portal.domain.errors import NotNow
from portal.domain.words import N_, Phrase
from portal.queries import diamonds as find_diamonds
from portal.services import audit


@dataclass(frozen=True)
class DiamondFacts:
    """What is written down of a diamond. Lengths in mm; radius and flat of the tip are None until they were measured."""

    mark: str
    nominal_width_mm: float
    nominal_tip_mm: float
    tip_radius_mm: float | None = None
    tip_flat_mm: float | None = None
    dressings: int = 0
    looked_at: date | None = None
    notes: str = ""


def add(session: Session, actor: Actor, facts: DiamondFacts, now: datetime) -> Diamond:
    """Take a diamond into the register; ``NotNow`` when another has its mark, a retired one too."""
    insist(actor, Action.EDIT_CATALOGUE, None)
    row = Diamond(**vars(facts), created_at=now)
    try:
        with session.begin_nested():
            session.add(row)
    except IntegrityError:
        raise _taken(facts.mark) from None
    audit.note(session, actor, Act.DIAMOND_WRITTEN, now, facts.mark)
    return row


def change(
    session: Session, actor: Actor, diamond_id: int, facts: DiamondFacts, seen_dressings: int, now: datetime
) -> Diamond:
    """Write down other facts; layers that were computed with the old tip keep it.

    The count of dressings changes only where it differs from ``seen_dressings``, so that one counted meanwhile is not
    lost. ``NotNow`` for a mark that another has, and for another mark while structures name the old one.
    """
    insist(actor, Action.EDIT_CATALOGUE, None)
    row = find_diamonds.locked(session, diamond_id)
    if facts.mark != row.mark and find_diamonds.is_named(session, row.mark):
        raise NotNow(
            Phrase(N_("Structures name this diamond %(mark)s, so the mark has to stay."), {"mark": row.mark})
        )
    try:
        with session.begin_nested():
            for name, value in vars(facts).items():
                if name != "dressings" or value != seen_dressings:
                    setattr(row, name, value)
    except IntegrityError:
        raise _taken(facts.mark) from None
    audit.note(session, actor, Act.DIAMOND_WRITTEN, now, facts.mark)
    return row


def count_dressing(session: Session, actor: Actor, diamond_id: int) -> int:
    """The diamond dressed the stone once more; gives back the new count. ``NotNow`` for one that is retired."""
    insist(actor, Action.EDIT_CATALOGUE, None)
    return dressed_with(session, diamond_id).dressings


def dressed_with(session: Session, diamond_id: int) -> Diamond:
    """Count a dressing made at the bench, where whoever stands there may; ``NotNow`` for a diamond that is retired."""
    row = find_diamonds.locked(session, diamond_id)
    if row.retired_at is not None:
        raise NotNow(N_("This diamond is retired. Bring it back before you dress with it."))
    row.dressings += 1
    session.flush()
    return row


def looked_at(session: Session, actor: Actor, diamond_id: int, today: date) -> None:
    """Somebody looked at the diamond under the glass today."""
    insist(actor, Action.EDIT_CATALOGUE, None)
    find_diamonds.locked(session, diamond_id).looked_at = today
    session.flush()


def retire(session: Session, actor: Actor, diamond_id: int, now: datetime) -> None:
    """The diamond is used no more; structures that name it stay as they are."""
    insist(actor, Action.EDIT_CATALOGUE, None)
    row = find_diamonds.locked(session, diamond_id)
    if row.retired_at is None:
        row.retired_at = now
        audit.note(session, actor, Act.DIAMOND_RETIRED, now, row.mark)
    session.flush()


def bring_back(session: Session, actor: Actor, diamond_id: int, now: datetime) -> None:
    """The diamond is used again."""
    insist(actor, Action.EDIT_CATALOGUE, None)
    row = find_diamonds.locked(session, diamond_id)
    if row.retired_at is not None:
        row.retired_at = None
        audit.note(session, actor, Act.DIAMOND_BROUGHT_BACK, now, row.mark)
    session.flush()


def _taken(mark: str) -> NotNow:
    return NotNow(Phrase(N_("Another diamond has the mark %(mark)s already."), {"mark": mark}))
