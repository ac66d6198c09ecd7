"""A club's crate is unpacked: each pair is checked in by its code, what is missing or extra is kept, and the club is told once."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import datetime

from sqlalchemy.orm import Session

from portal.db.bookings import Booking
from portal.db.crates import Crate, CrateExtra
from portal.db.pairs import Pair
from portal.domain.access import Action, Actor, insist
from portal.domain.bookings import Event, Stage, Status
from portal.domain.crates import CrateTold, ExtraState, Outcome, Scanned, seen, words_of
from portal.domain.errors import NotFound, NotNow
from portal.domain.tags import grouped, tag_of
from portal.domain.words import N_, Phrase
from portal.mail.messages import Kind
from portal.queries import arrivals as find_arrivals
from portal.queries import bookings as find_bookings
from portal.queries import crates as find_crates
from portal.queries import juniors as find_juniors
from portal.queries import pairs as find_pairs
from portal.services import collecting, grinds, notices, pairs
from portal.services.bookings import record


def scan(session: Session, actor: Actor, booking_id: int, pair_id: int, now: datetime) -> Scanned:
    """A pair was taken out of the crate: it is checked in if it is of the order and awaited, else noted or known already.

    The first one opens the crate. ``NotFound`` for a pair that is not there, ``NotNow`` for an order that is not confirmed.
    """
    order = _order(session, actor, booking_id)
    item = next((one for one in order.items if one.pair_id == pair_id), None)
    if item is None:
        return _extra(session, actor, order, find_pairs.one(session, actor, pair_id), now)
    if item.stage is not Stage.AWAITED:
        return Scanned(Outcome.ALREADY, pair_id, item.id)
    crate = _open(session, actor, order, now)
    for one in crate.extras:
        if one.pair_id == pair_id:
            one.state = ExtraState.ADDED
    stands = grinds.receive(session, actor, item, now)
    outcome = Outcome.STOPPED if stands is Stage.STOPPED else Outcome.FOUND
    return Scanned(outcome, pair_id, item.id)


def note_unknown(session: Session, actor: Actor, booking_id: int, words: str, now: datetime) -> None:
    """A pair is in the crate that nobody can tell; what is seen of it is kept in words."""
    order = _order(session, actor, booking_id)
    crate = _open(session, actor, order, now)
    if not any(one.pair_id is None and one.words == words for one in crate.extras):
        crate.extras.append(CrateExtra(words=words, noted_at=now, noted_by=actor.name))


def register(
    session: Session,
    actor: Actor,
    booking_id: int,
    junior_id: int | None,
    facts: pairs.PairFacts,
    now: datetime,
    *,
    key: str,
) -> Pair:
    """A pair of the club's that was never registered is in the crate: from now on it is, for a junior if one is known.

    ``key`` is of the form that says so: the same one registers the same pair.
    """
    order = _order(session, actor, booking_id)
    find_juniors.lock_roster(session, order.club_id or 0)
    if junior_id is not None and junior_id not in {
        one.id for one in find_crates.juniors(session, order.club_id or 0)
    }:
        raise NotFound
    crate = _open(session, actor, order, now)
    before = next((one.pair for one in crate.extras if key and one.key == key), None)
    if before is not None:
        return before
    pair = pairs.of_club(order.club_id or 0, junior_id, facts, now)
    session.add(pair)
    session.flush()  # What is extra names it by its number.
    crate.extras.append(CrateExtra(pair=pair, key=key, noted_at=now, noted_by=actor.name, words=""))
    return pair


def forget(session: Session, actor: Actor, booking_id: int, extra_id: int) -> None:
    """What was noted as extra is not in the crate after all; only as long as it is open."""
    _order(session, actor, booking_id)
    found = find_crates.one_extra(session, booking_id, extra_id)
    if found.crate.closed_at is not None:
        raise NotNow(N_("This crate is closed, and the club has been told what was in it."))
    session.delete(found)


def close(session: Session, actor: Actor, booking_id: int, now: datetime) -> bool:
    """The crate is empty: what came of it is kept, and the club told in one letter. Gives back whether it was open.

    ``NotNow`` before anything was taken out. Pairs that are missing stay awaited.
    """
    order = _order(session, actor, booking_id, {Status.CONFIRMED, Status.COMPLETED})
    crate = find_crates.open_of(session, booking_id)
    if crate is None:
        if not find_crates.of_booking(session, booking_id):
            raise NotNow(N_("Nothing was taken out of this crate yet. Scan the first tag."))
        return False
    told = summary(session, order, crate.extras)
    crate.closed_at, crate.closed_by = now, actor.name
    # Without the juniors' names: what is kept for good must not outlive what is kept of them.
    missing = "\n".join(_without_names(one.pair) for one in order.items if one.stage is Stage.AWAITED)
    crate.found, crate.of, crate.missing = told.found, told.of, missing
    record(order, Event.CRATE_UNPACKED, actor, now, f"{told.found} / {told.of}")
    session.flush()  # The letter reads what was written down.
    notices.tell(session, Kind.CRATE_UNPACKED, booking_id, now, crate=told)
    # Only now is it known that the rest is missing.
    collecting.tell_when_ready(session, order, now)
    return True


def summary(session: Session, order: Booking, extras: Sequence[CrateExtra]) -> CrateTold:
    """What is to be said of the pairs of an order as they are now, and of what was extra; to its club, so nothing of other people's skis."""
    found = find_crates.check_ins(session, order.id)
    conditions = find_arrivals.condition_words(session)
    damaged = []
    for item in order.items:
        row = found.get(item.id)
        if row is not None and seen(row.conditions, row.belongs_together):
            words: list[Phrase | str] = [conditions.get(one["key"], one["key"]) for one in row.conditions]
            if row.belongs_together is False:
                words.append(N_("The two skis do not belong together"))
            damaged.append((words_of(item.pair), tuple(words)))
    return CrateTold(
        found=sum(item.stage is not Stage.AWAITED for item in order.items),
        of=len(order.items),
        missing=tuple(words_of(item.pair) for item in order.items if item.stage is Stage.AWAITED),
        extras=tuple(extra_words(one, order) for one in extras if one.state is ExtraState.NOTED),
        damaged=tuple(damaged),
        stopped=tuple((words_of(item.pair), item.id) for item in order.items if item.stage is Stage.STOPPED),
    )


def extra_words(one: CrateExtra, order: Booking) -> Phrase | str:
    """What the club may read of a pair that was extra in its crate."""
    if one.pair is None:
        return one.words
    if one.pair.club_id != order.club_id:
        return N_("A pair that is not the club's; we keep it apart")
    if one.elsewhere is not None and one.elsewhere.club_id == order.club_id:
        return Phrase(
            N_("%(pair)s (it belongs to order %(reference)s)"),
            {"pair": words_of(one.pair), "reference": one.elsewhere.reference},
        )
    return words_of(one.pair)


def _without_names(pair: Pair) -> str:
    return " ".join(filter(None, (pair.title, pair.mark, grouped(tag_of(pair.id)))))


def _order(
    session: Session, actor: Actor, booking_id: int, standing: Collection[Status] = (Status.CONFIRMED,)
) -> Booking:
    """A club's order under its lock, for whoever works at the bench, as long as it has one of these standings."""
    order = find_crates.locked_order(session, actor, booking_id)
    insist(actor, Action.WORK_ON_PAIR, order)
    if order.status not in standing:
        raise NotNow(N_("Only the crate of a confirmed order is unpacked. Confirm the order first."))
    return order


def _open(session: Session, actor: Actor, order: Booking, now: datetime) -> Crate:
    crate = find_crates.open_of(session, order.id)
    if crate is None:
        crate = Crate(booking_id=order.id, opened_at=now, opened_by=actor.name, closed_by="", extras=[])
        session.add(crate)
        session.flush()  # From now on the order has a crate that is open.
    return crate


def _extra(session: Session, actor: Actor, order: Booking, pair: Pair, now: datetime) -> Scanned:
    other = find_bookings.in_hand(session, pair.id)
    crate = _open(session, actor, order, now)
    _note(crate, pair.id, other.booking_id if other else None, actor, now)
    if other is not None:
        return Scanned(Outcome.ELSEWHERE, pair.id, other.id, other.booking_id)
    return Scanned(Outcome.EXTRA, pair.id)


def _note(crate: Crate, pair_id: int, elsewhere_id: int | None, actor: Actor, now: datetime) -> None:
    if not any(one.pair_id == pair_id for one in crate.extras):
        crate.extras.append(
            CrateExtra(
                pair_id=pair_id, elsewhere_id=elsewhere_id, noted_at=now, noted_by=actor.name, words=""
            )
        )
