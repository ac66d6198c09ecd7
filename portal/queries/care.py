"""The care advice that the workshop gives."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.care import OwnCareRule
from portal.domain.answers import Discipline
from portal.domain.care import CareRule
from portal.domain.errors import NotFound
from portal.domain.pairs import Grip
from portal.domain.snow import SnowKind


@dataclass(frozen=True)
class Listed:
    """An advice in the workshop's list; one of its own has a row, a shipped one a row only when it was once not given."""

    rule: CareRule
    is_own: bool
    retired: bool = False
    row_id: int | None = None


def everything(session: Session, shipped: Iterable[CareRule]) -> tuple[Listed, ...]:
    """All advice, given or not: the shipped in its order, then the workshop's own in the order of writing."""
    rows = session.scalars(select(OwnCareRule).order_by(OwnCareRule.id)).all()
    known = {row.key: row for row in rows if row.key is not None}
    listed = [
        Listed(rule, False, row.retired, row.id) if (row := known.get(rule.key)) else Listed(rule, False)
        for rule in shipped
    ]
    return (*listed, *(Listed(_rule(row), True, row.retired, row.id) for row in rows if row.key is None))


def given(session: Session, shipped: Iterable[CareRule]) -> tuple[CareRule, ...]:
    """The advice that the workshop gives."""
    return tuple(one.rule for one in everything(session, shipped) if not one.retired)


def own(session: Session, rule_id: int) -> OwnCareRule:
    """An advice of the workshop's own; ``NotFound`` for a shipped one."""
    row = session.get(OwnCareRule, rule_id)
    if row is None or row.key is not None:
        raise NotFound
    return row


def shipped(session: Session, key: str) -> OwnCareRule | None:
    """What is kept of a shipped advice; nothing where it was always given."""
    return session.scalars(select(OwnCareRule).where(OwnCareRule.key == key)).one_or_none()


def _rule(row: OwnCareRule) -> CareRule:
    assert row.stage is not None  # noqa: S101 - an own advice has one
    return CareRule(
        key=f"own-{row.id}",
        stage=row.stage,
        condition=row.condition,
        advice=row.advice,
        caution=row.caution,
        source=row.source,
        families=frozenset(row.families),
        disciplines=frozenset(map(Discipline, row.disciplines)),
        grips=frozenset(map(Grip, row.grips)),
        snow=frozenset(map(SnowKind, row.snow)),
        only_thin=row.only_thin,
    )
