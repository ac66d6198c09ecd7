"""Changing the care advice: more of the workshop's own, other words, and what is not given."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy.orm import Session

from portal.db.care import OwnCareRule
from portal.domain.access import Actor
from portal.domain.audit import Act
from portal.domain.care import CareRule
from portal.domain.errors import NotAllowed, NotFound
from portal.domain.words import Phrase
from portal.queries import care as find_care
from portal.queries import workshop as find_workshop
from portal.services import audit

LONGEST_CONDITION = 300
LONGEST_ADVICE = 1200


def write(session: Session, actor: Actor, rule: CareRule, now: datetime) -> OwnCareRule:
    """One more advice of the workshop's own; its key is given here."""
    _insist(actor)
    row = OwnCareRule(retired=False)
    _fill(row, rule)
    session.add(row)
    audit.note(session, actor, Act.CARE_CHANGED, now, rule.condition, rule.advice)
    return row


def rewrite(session: Session, actor: Actor, rule_id: int, rule: CareRule, now: datetime) -> None:
    """Say an advice of the workshop's own otherwise, or for other pairs; ``NotFound`` for a shipped one."""
    _insist(actor)
    _fill(find_care.own(session, rule_id), rule)
    audit.note(session, actor, Act.CARE_CHANGED, now, rule.condition, rule.advice)


def give(
    session: Session, actor: Actor, shipped: Iterable[CareRule], key: str, is_given: bool, now: datetime
) -> None:
    """Give an advice no longer, or again. What was said to somebody under it can still be read."""
    _insist(actor)
    # Two at once wait for each other, also while a shipped one has no row yet.
    find_workshop.locked(session)
    listed = next((one for one in find_care.everything(session, shipped) if one.rule.key == key), None)
    if listed is None:
        raise NotFound
    row = find_care.own(session, listed.row_id or 0) if listed.is_own else find_care.shipped(session, key)
    if row is None:
        row = OwnCareRule(key=key)
        session.add(row)
    row.retired = not is_given
    condition = listed.rule.condition if listed.is_own else Phrase(listed.rule.condition)
    audit.note(session, actor, Act.CARE_CHANGED, now, condition)


def _insist(actor: Actor) -> None:
    if not actor.is_manager:
        raise NotAllowed


def _fill(row: OwnCareRule, rule: CareRule) -> None:
    row.stage, row.condition, row.advice = rule.stage, rule.condition, rule.advice
    row.caution, row.source, row.only_thin = rule.caution, rule.source, rule.only_thin
    row.families, row.disciplines = sorted(rule.families), sorted(rule.disciplines)
    row.grips, row.snow = sorted(rule.grips), sorted(rule.snow)
