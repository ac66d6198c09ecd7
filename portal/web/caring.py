"""Care advice as pages and papers give it: what applies to a pair, stage by stage."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from sqlalchemy.orm import Session

from portal.domain.base_life import BaseLife
from portal.domain.care import ANY, COMMON, CareRule, CareStage, Known, care_for, counting
from portal.domain.next_grind import is_near_minimum
from portal.domain.questions import answers_from, first_open
from portal.domain.snow import SnowKind
from portal.domain.usual_snow import usual_snow
from portal.queries import care as find_care
from portal.queries import pairs as find_pairs
from portal.services.own_texts import sourced_slots
from portal.web.language import own_texts, speak
from portal.web.request import portal

Staged = tuple[tuple[CareStage, tuple[CareRule, ...]], ...]


def rules(session: Session) -> tuple[CareRule, ...]:
    """The advice that the workshop gives. What it says in its own words no publication has said: its source does not stand there."""
    own, language = own_texts(), speak().language
    return tuple(
        replace(rule, source=COMMON, steps_are_practice=False)
        if any(own.of(slot, language) for slot in sourced_slots(rule))
        else rule
        for rule in find_care.given(session, portal().reference.care.rules)
    )


def staged(rules: Iterable[CareRule], known: Known = ANY) -> Staged:
    """The advice for such a pair by stage; a stage without any is left out."""
    every = tuple(rules)
    return tuple((stage, found) for stage in CareStage if (found := care_for(every, stage, known)))


def for_pair(session: Session, pair: Any, family: str | None, life: BaseLife) -> Staged:
    """The advice for a pair by stage; ``family`` is the key of the family on its base, where it is known."""
    return staged(rules(session), known_of(session, pair, family, life))


def known_of(session: Session, pair: Any, family: str | None, life: BaseLife) -> Known:
    """What the advice asks of a pair."""
    return Known(
        family=family,
        discipline=pair.discipline,
        grip=pair.grip,
        snow=_snow(session, pair.id),
        is_thin=None if life.reading is None else is_near_minimum(life),
    )


def _snow(session: Session, pair_id: int) -> frozenset[SnowKind] | None:
    row = find_pairs.answers_of_pair(session, pair_id)
    if row is None or first_open(row.stored) is not None:
        return None
    return counting(usual_snow(answers_from(row.stored), portal().reference.tables).by_kind())
