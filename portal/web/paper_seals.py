"""What papers of pairs are sealed with, and the record they are held against."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from flask import url_for
from sqlalchemy.orm import Session

from portal.documents.history import Seal
from portal.domain.base_life import BaseLife
from portal.domain.paper_facts import FleetStatement, GrindFact, Record, Statement, digest_of, state
from portal.queries import grinds as find_grinds
from portal.queries import reworks as find_reworks
from portal.services.paper_seals import PaperSeals
from portal.web.request import portal


def paper_seals() -> PaperSeals:
    """Seals with the keys of this installation."""
    return PaperSeals(portal().settings.secret_keys)


def record_of(session: Session, pair_id: int) -> Record:
    """The work on the base of a pair as it is recorded now."""
    return Record(
        grinds=tuple(
            GrindFact(
                grind.ground_on,
                grind.structure.name,
                find_grinds.before(grind),
                find_grinds.after(grind),
                grind.flattened,
                grind.saturated,
            )
            for grind in reversed(find_grinds.of_pair(session, pair_id))
        ),
        measured=tuple(find_grinds.measured_besides(session, [pair_id]).get(pair_id, ())),
        reworks=find_reworks.count_of_pair(session, pair_id),
    )


def seal_of_pair(session: Session, pair: Any, life: BaseLife, issued_on: date) -> Seal:
    """The seal of the paper of one pair."""
    return _seal(state(pair.id, record_of(session, pair.id), issued_on, life))


def seal_of_fleet(session: Session, pairs: Sequence[Any], issued_on: date) -> Seal:
    """The seal of the paper of several pairs."""
    ids = sorted(pair.id for pair in pairs)
    return _seal(
        FleetStatement(tuple(ids), issued_on, digest_of(record_of(session, pair_id) for pair_id in ids))
    )


def _seal(it: Statement) -> Seal:
    seals, site = paper_seals(), portal().settings.base_url
    return Seal(
        address=site + url_for("public.paper", token=seals.token(it)),
        code=seals.code(it),
        page=site + url_for("public.check_paper"),
    )
