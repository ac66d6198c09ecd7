"""Skis that somebody found and handed in at the workshop: whoever has them is told."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from portal.domain.access import Action, Actor, insist
from portal.domain.audit import Act
from portal.domain.errors import NotNow
from portal.domain.words import N_
from portal.mail.pair_letters import News
from portal.queries import pairs as find_pairs
from portal.services import audit, handovers, pair_notices
from portal.services.pairs import insist_it_is_clear

NOT_AGAIN_FOR = timedelta(days=1)


def handed_in(session: Session, actor: Actor, pair_id: int, now: datetime) -> None:
    """Tell whoever has the pair that it was found and waits here.

    ``NotNow`` when they were told within a day, when nobody has an address to write to, and for a pair in dispute.
    """
    find_pairs.lock(session, [pair_id])
    pair = find_pairs.one(session, actor, pair_id)
    insist(actor, Action.WORK_ON_PAIR, pair)
    insist_it_is_clear(pair)
    if pair.found_at is not None and now - pair.found_at < NOT_AGAIN_FOR:
        raise NotNow(N_("Its owner was told within the last day. Call them if the skis are in the way."))
    if not pair_notices.tell(session, News.FOUND, pair.holder, pair.id, pair.title, now):
        raise NotNow(N_("Nobody who has this pair has an e-mail address. Call them instead."))
    pair.found_at = now
    audit.note(session, actor, Act.PAIR_FOUND, now, handovers.about(pair))


def given_back(session: Session, actor: Actor, pair_id: int, now: datetime) -> None:
    """The pair that was found is with whoever has it again. ``NotNow`` when none waits here, and for a pair in dispute."""
    find_pairs.lock(session, [pair_id])
    pair = find_pairs.one(session, actor, pair_id)
    insist(actor, Action.WORK_ON_PAIR, pair)
    insist_it_is_clear(pair)
    if pair.found_at is None:
        raise NotNow(N_("This pair does not wait here as a found one."))
    pair.found_at = None
    audit.note(session, actor, Act.FOUND_PAIR_BACK, now, handovers.about(pair))
