"""Whether the next grind of a pair is worth it, from what is stored of the pair."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from sqlalchemy.orm import Session

from portal.domain.base_life import BaseLife
from portal.domain.next_grind import Judgement, Suits, base_said, judged
from portal.domain.rework import Case
from portal.domain.words import N_, Phrase
from portal.queries import catalogue as find_structures
from portal.queries import grinds as find_grinds
from portal.queries import reworks as find_reworks
from portal.queries import workshop as find_workshop
from portal.services import base_lives
from portal.web.advising import Advised


def of_pair(
    session: Session, grinds: Sequence[Any], life: BaseLife, advised: Advised | None, today: date
) -> Judgement:
    """The judgement on a pair as it stands: its grinds with the newest first, its life, the advice where there is one."""
    then = advised.shares[advised.best] if advised is not None else None
    return _judged(session, grinds, life, Suits(_now(grinds, advised), then), today)


def hints(pairs: Sequence[Any], lives: Mapping[int, BaseLife]) -> dict[str, Phrase]:
    """What each pair is for and how much base it has, where pairs are chosen: number of the pair -> words."""
    return {
        str(pair.id): Phrase(
            N_("%(discipline)s. %(base)s"),
            {"discipline": Phrase(pair.discipline.label), "base": base_said(lives[pair.id])},
        )
        for pair in pairs
    }


def of_work(
    session: Session,
    pair: Any,
    structure: Any,
    flattening: bool,
    advised: Advised | None,
    today: date,
    *,
    is_chosen: bool = True,
) -> Judgement:
    """The judgement on the work that was chosen for a pair, or is suggested for it."""
    grinds = find_grinds.of_pair(session, pair.id)
    measured = find_grinds.measured_besides(session, [pair.id]).get(pair.id, [])
    life = base_lives.life(find_workshop.the(session), grinds, measured, structure, flattening)
    then = advised.share_of(find_structures.value(structure)) if advised is not None else None
    return _judged(session, grinds, life, Suits(_now(grinds, advised), then, is_chosen), today)


def _now(grinds: Sequence[Any], advised: Advised | None) -> float | None:
    if advised is None or not grinds:
        return None
    return advised.share_of(find_structures.value(grinds[0].structure))


def _judged(session: Session, grinds: Sequence[Any], life: BaseLife, suits: Suits, today: date) -> Judgement:
    asked = find_reworks.standing_of(session, grinds[0].id) if grinds else None
    return judged(
        life,
        suits,
        grinds[0].ground_on if grinds else None,
        today,
        is_disputed=asked is not None and asked.standing is Case.ASKED,
    )
