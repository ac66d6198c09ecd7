"""A pair in dispute: the workshop freezes it, clears up whose it is, and leaves it or gives it back to the one before."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from portal.db.handovers import Handover
from portal.db.pairs import Pair
from portal.domain.access import Action, Actor, insist
from portal.domain.audit import Act
from portal.domain.errors import NotFound, NotNow
from portal.domain.handovers import Way
from portal.domain.words import N_
from portal.mail.pair_letters import News
from portal.queries import bookings as find_bookings
from portal.queries import handovers as find_handovers
from portal.services import audit, handovers, pair_notices


def freeze(session: Session, actor: Actor, pair_id: int, reason: str, now: datetime) -> None:
    """Nobody hands the pair over, takes, archives, changes or books it until it is settled; a code that is out ends.

    The reason is for staff only. ``NotNow`` for a pair that is frozen already, and for one that is nobody's.
    """
    pair = _locked(session, pair_id)
    insist(actor, Action.FREEZE_PAIR, pair)
    if pair.frozen_at is not None:
        raise NotNow(N_("This pair is frozen already. Look at its page again."))
    if not pair.holder.is_known:
        raise NotNow(N_("This pair is nobody's, so it is not taken from anybody. Give it an owner first."))
    pair.frozen_at, pair.frozen_reason, pair.frozen_by = now, reason, actor.name
    handovers.withdraw_of(session, pair.id)
    audit.note(session, actor, Act.PAIR_FROZEN, now, handovers.about(pair), reason)


def clear(session: Session, actor: Actor, pair_id: int, now: datetime) -> None:
    """The pair stays whose it is, and everything can be done with it again."""
    pair = _to_settle(session, actor, pair_id)
    _thaw(pair)
    audit.note(session, actor, Act.PAIR_CLEARED, now, handovers.about(pair))


def before(session: Session, pair: Pair) -> Handover | None:
    """From whom the pair came last; nothing where it has always been its owner's, or where nobody knows any more."""
    went = find_handovers.chain(session, pair.id)
    return went[-1] if went and went[-1].giver.is_known else None


def give_back(session: Session, actor: Actor, pair_id: int, now: datetime) -> None:
    """The pair is again whose it was before, with the notes they had on it; both are told by letter.

    ``NotNow`` while the pair is in an open booking, and where nobody is known to have had it before.
    """
    pair = _to_settle(session, actor, pair_id)
    last = before(session, pair)
    if last is None:
        raise NotNow(N_("Nobody is known to have had this pair before. Leave it whose it is."))
    if find_bookings.open_with_pair(session, [pair.id]):
        raise NotNow(
            N_(
                "This pair is in an open booking. Cancel the booking or wait until it is handed back, then give the pair back."
            )
        )
    loser, title = pair.holder, pair.title
    _thaw(pair)
    handovers.pass_to(session, pair, last.giver, Way.GIVEN_BACK, now, notes=last.notes)
    pair_notices.tell(session, News.GIVEN_BACK, last.giver, pair.id, last.title, now)
    pair_notices.tell(session, News.TAKEN_BACK, loser, pair.id, title, now)
    audit.note(session, actor, Act.PAIR_GIVEN_BACK, now, handovers.about(pair))


def _locked(session: Session, pair_id: int) -> Pair:
    """The pair, behind the roster of its club and of the one that had it before, so that it can go back there."""
    last = find_handovers.newest(session, pair_id)
    pair = find_handovers.locked(session, pair_id, last.from_club_id if last is not None else None)
    if pair is None:
        raise NotFound
    return pair


def _to_settle(session: Session, actor: Actor, pair_id: int) -> Pair:
    pair = _locked(session, pair_id)
    insist(actor, Action.SETTLE_PAIR, pair)
    if pair.frozen_at is None:
        raise NotNow(N_("This pair is not frozen any more. Look at its page again."))
    return pair


def _thaw(pair: Pair) -> None:
    pair.frozen_at, pair.frozen_reason, pair.frozen_by = None, "", ""
