"""Handing a pair over: its owner makes a code, and whoever takes it by that code has the pair from then on.

What was ground and measured goes along. What its owner wrote, answered, booked and paid stays with them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from portal.db.handovers import Handover, PairOffer
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.domain.access import Action, Actor, insist
from portal.domain.audit import Act
from portal.domain.errors import NotNow
from portal.domain.handovers import Holder, Way
from portal.domain.words import N_, Phrase
from portal.mail import outbox, pair_letters
from portal.mail.pair_letters import News
from portal.queries import bookings as find_bookings
from portal.queries import clubs as find_clubs
from portal.queries import grinds as find_grinds
from portal.queries import handovers as find_handovers
from portal.queries import pairs as find_pairs
from portal.queries import people as find_people
from portal.queries import workshop as find_workshop
from portal.services import audit, glide_notes, pair_notices, throttle
from portal.services.codes import hashed
from portal.services.pairs import insist_it_is_clear
from portal.services.throttle import Limit

HOLDS_FOR = timedelta(days=30)
# Nobody hands over more pairs a day by letter, and nobody can use ours to bother strangers.
LETTERS_OF = Limit("pair-letters", 10, timedelta(days=1))
GONE = N_("This code has been used or holds no more. Ask whoever gave it to you for another.")


def offer(
    session: Session, actor: Actor, pair_id: int, code: str, now: datetime, email: str = ""
) -> datetime:
    """Let whoever has the code take the pair over; a code made before holds no more. Gives back until when it holds.

    With an ``email`` a letter takes the link there, and the address goes with the letter. ``NotNow`` while the pair is in an
    open booking or in dispute, and for one letter too many.
    """
    pair = find_handovers.to_hand_over(session, actor, pair_id)
    insist_it_can_go(session, pair)
    withdraw_of(session, pair.id)
    made = PairOffer(pair_id=pair.id, code_hash=hashed(code), until=now + HOLDS_FOR, made_at=now)
    session.add(made)
    session.flush()  # The letter names the code that it brings.
    if email:
        _send(session, actor, made, code, email, now)
    audit.note(session, actor, Act.PAIR_OFFERED, now, about(pair))
    return made.until


def _send(session: Session, actor: Actor, made: PairOffer, code: str, email: str, now: datetime) -> None:
    sender = str(actor.person_id)
    if throttle.free_at(session, LETTERS_OF, sender, now):
        raise NotNow(
            Phrase(
                N_(
                    "We send %(most)s letters with codes a day for you, and they have gone out. Make the code without an address and pass it on yourself, or try again tomorrow."
                ),
                {"most": LETTERS_OF.most},
            )
        )
    if throttle.free_at(session, throttle.LETTERS_TO, email, now):
        raise NotNow(N_("This address has had many letters from us in the last hour. Try again later"))
    throttle.count(session, throttle.LETTERS_TO, email, now)
    throttle.count(session, LETTERS_OF, sender, now)
    known = find_people.by_email(session, email)
    letter = pair_letters.offered(
        email, known.language if known else "en", find_workshop.the(session), code, made.until
    )
    outbox.put(session, letter, now, pair_offer_id=made.id)


def withdraw(session: Session, actor: Actor, pair_id: int) -> None:
    """A code that is out for the pair holds no more, and a letter that is still to bring it is not sent."""
    pair = find_handovers.to_hand_over(session, actor, pair_id)
    withdraw_of(session, pair.id)


def withdraw_of(session: Session, pair_id: int) -> None:
    """The same of a pair that is locked already."""
    out = find_handovers.offer_of(session, pair_id)
    if out is not None:
        session.delete(out)
        session.flush()  # Another may take its place.


def insist_it_can_go(session: Session, pair: Pair) -> None:
    """``NotNow`` with what to do, while the pair is in dispute or in an open booking."""
    insist_it_is_clear(pair)
    if find_bookings.open_with_pair(session, [pair.id]):
        raise NotNow(
            N_(
                "This pair is in an open booking. Hand it over when it is back with you, or cancel the booking first."
            )
        )


@dataclass(frozen=True)
class Offered:
    """What is behind a code: the pair as far as its tag would tell of it, and nothing of whose it is."""

    pair_id: int
    title: str
    grinds: int
    thinnest_um: int | None
    is_own: bool


def behind(session: Session, actor: Actor, code: str, now: datetime) -> Offered | None:
    """What the code gives, or nothing where it gives nothing any more."""
    found = find_handovers.offer_by_hash(session, hashed(code), now)
    if found is None:
        return None
    pair = found.pair
    return Offered(
        pair.id,
        pair.title,
        len(find_grinds.of_pair(session, pair.id)),
        find_grinds.thinnest_now_um(session, pair.id),
        pair.owner_id == actor.person_id or pair.club_id in actor.clubs,
    )


def take(session: Session, actor: Actor, code: str, now: datetime, club_id: int | None = None) -> int:
    """The pair behind a code is the person's from now on, or a club's that they manage; gives back its number.

    Both sides are told by letter. ``NotNow`` for a code that holds no more and for a pair that cannot go just now.
    """
    found = find_handovers.offer_by_hash(session, hashed(code), now)
    pair = find_handovers.locked(session, found.pair_id, club_id) if found is not None else None
    # Once more under the lock of the pair: somebody else may have used it, or its owner has thought better of it.
    found = find_handovers.offer_by_hash(session, hashed(code), now)
    if found is None or pair is None:
        raise NotNow(GONE)
    if club_id is not None:
        find_clubs.one(session, actor, club_id)
    to = Holder(None, club_id) if club_id is not None else Holder(actor.person_id, None)
    if pair.holder == to:
        raise NotNow(N_("This pair is yours already. Give the code to whoever is to have it."))
    if pair.frozen_at is not None or find_bookings.open_with_pair(session, [pair.id]):
        raise NotNow(N_("This pair cannot change hands just now. Ask whoever gave you the code."))
    before, title = pair.holder, pair.title
    pass_to(session, pair, to, Way.HANDED_OVER, now)
    pair_notices.tell(session, News.HANDED_OVER, before, pair.id, title, now)
    pair_notices.tell(session, News.TAKEN_OVER, to, pair.id, title, now)
    audit.note(session, actor, Act.PAIR_HANDED_OVER, now, about(pair))
    return pair.id


def take_on(session: Session, actor: Actor, pair_id: int, email: str, now: datetime) -> Person:
    """Give a pair that is nobody's to whoever brings it in, known by their address; its history stays with it. ``NotNow`` says why not."""
    find_pairs.lock(session, [pair_id])
    pair = find_pairs.one(session, actor, pair_id)
    insist(actor, Action.WORK_ON_PAIR, pair)
    if pair.holder.is_known:
        raise NotNow(N_("This pair has an owner by now."))
    insist_it_is_clear(pair)
    person = find_people.by_email(session, email)
    if person is None:
        raise NotNow(N_("Nobody is known by this address. Make them known first: book for somebody new."))
    record(session, pair, Holder(person.id, None), Way.TAKEN_ON, now)
    audit.note(session, actor, Act.PAIR_TAKEN_ON, now, about(pair))
    return person


def pass_to(session: Session, pair: Pair, to: Holder, way: Way, now: datetime, notes: str = "") -> None:
    """Make a locked pair somebody else's; what whoever had it wrote and answered for themselves stays behind."""
    record(session, pair, to, way, now, notes=pair.notes)
    pair.notes = notes
    glide_notes.let_go(session, pair.id)


def record(session: Session, pair: Pair, to: Holder, way: Way, now: datetime, notes: str = "") -> None:
    """Make a locked pair somebody else's, and keep who had it, with ``notes`` of theirs.

    A code that is out for it ends, answers to the snow questions are for it no more, and its new owner was told of no find.
    """
    withdraw_of(session, pair.id)
    for answers in find_pairs.all_answers_of_pair(session, pair.id):
        answers.pair_id = None
    session.add(
        Handover(
            pair_id=pair.id,
            at=now,
            way=way,
            from_person_id=pair.owner_id,
            from_club_id=pair.club_id,
            to_person_id=to.person_id,
            to_club_id=to.club_id,
            title=pair.title,
            notes=notes,
        )
    )
    pair.owner_id, pair.club_id, pair.junior_id = to.person_id, to.club_id, None
    pair.archived_at = pair.found_at = None


def forget_old(session: Session, now: datetime) -> None:
    """Codes that hold no more go, with the letters that could still bring them."""
    for out in find_handovers.over(session, now):
        session.delete(out)


def about(pair: Pair) -> Phrase:
    """A pair as the list of who did what names it."""
    return Phrase(N_("%(pair)s (pair %(number)s)"), {"pair": pair.title, "number": pair.id})
