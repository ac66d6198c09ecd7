"""Erasing an account: what is in the way, and everything of the person, table by table as ``domain/personal.py`` says.

What was ground stays with the pairs, which are nobody's then, and what was booked and paid stays with the row that stands for
everybody who is gone. Locks come in one order: workshop, bookings, pairs, person.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import delete, func, update
from sqlalchemy.orm import Session

from portal.db.audit import AuditEntry
from portal.db.people import Person
from portal.domain import leaving
from portal.domain.access import Actor
from portal.domain.audit import Act
from portal.domain.errors import NotFound, NotNow
from portal.domain.leaving import Obstacle, Way
from portal.domain.personal import ERASED, HELD, Then, columns_that
from portal.domain.prices import ZERO
from portal.domain.words import N_
from portal.mail import account_messages, outbox
from portal.mail.account_messages import Mailbox
from portal.queries import erasing as find_erasing
from portal.queries import payments as find_payments
from portal.queries import people as find_people
from portal.queries import personal as find_personal
from portal.queries import workshop as find_workshop
from portal.services import erasing_words, imports, old_invoices


def to_erase(session: Session, actor: Actor, person_id: int) -> Person:
    """Somebody whose account this actor may erase: their own, or for a shop manager that of whoever cannot sign in. Else ``NotFound``."""
    person = find_people.one(session, person_id)
    if actor.person_id == person_id:
        return person
    if not actor.is_manager:
        raise NotFound
    if person.password_hash is not None:
        raise NotNow(
            N_(
                "This person has an account and can sign in. Only they can erase it, on the page of their account."
            )
        )
    return person


def in_the_way(session: Session, person: Person, *, to_write: bool = False) -> list[Obstacle]:
    """What has to be done before the account can be erased; nothing when it can. ``to_write`` locks what it looks at."""
    found = [Obstacle(Way.WORK, leaving.works_here(), person.id)] if person.staff_role is not None else []
    for club in find_erasing.clubs_managed_alone(session, person.id, to_write=to_write):
        found.append(Obstacle(Way.CLUB, leaving.manages_alone(club.name), club.id))
    for booking in find_erasing.bookings_of(session, person.id):
        words = None
        if booking.status.is_open:
            words = leaving.is_open(booking.reference)
        else:
            balance = find_payments.balance(session, booking)
            if balance > ZERO:
                words = leaving.to_pay(booking.reference)
            elif balance < ZERO:
                words = leaving.to_give_back(booking.reference)
        if words is not None:
            found.append(Obstacle(Way.BOOKING, words, booking.id))
    for pair in find_erasing.pairs_at_the_workshop(session, person.id):
        found.append(Obstacle(Way.PAIR, leaving.is_ordered(pair.title), pair.id))
    for pair in find_erasing.frozen_pairs(session, person.id):
        found.append(Obstacle(Way.PAIR, leaving.is_in_dispute(pair.title), pair.id))
    for went in find_erasing.frozen_since_given(session, person.id):
        found.append(Obstacle(Way.GIVEN, leaving.is_in_dispute_since_given(went.title), went.pair_id))
    return found


def erase(session: Session, actor: Actor, person_id: int, now: datetime) -> bool:
    """Erase an account and all that is the person's; false when somebody did so already. ``NotNow`` while something is in the way."""
    find_workshop.lock(session)
    person = find_erasing.locked(session, person_id)
    if person is None:
        return False
    to_erase(session, actor, person_id)
    if in_the_way(session, person, to_write=True):
        raise NotNow(N_("Something is in the way of erasing the account. Look at the page again."))
    is_own = actor.person_id == person_id
    clubs = find_people.actor_of(session, person).clubs.values()
    to, workshop = Mailbox(person.mailbox, person.language), find_workshop.the_or_none(session)
    _Erasing(session, person, now).all_of_it()
    acts = [(Act.ACCOUNT_ERASED, ""), *((Act.CLUB_LEFT, club) for club in clubs)]
    # Whoever erased themselves has no number any more.
    by = {"name": ERASED} if is_own else {"name": actor.name, "person_id": actor.person_id}
    session.add_all(AuditEntry(at=now, act=act, about=about, **by) for act, about in acts)
    if to.email:
        years = workshop.keep_invoices_years if workshop is not None else 0
        outbox.put(session, account_messages.erased(to, workshop, years), now)
    old_invoices.forget_names(session, now)
    session.flush()
    return True


@dataclass(frozen=True)
class _Erasing:
    session: Session
    person: Person
    now: datetime

    def all_of_it(self) -> None:
        session, person = self.session, self.person
        session.flush()
        erasing_words.name_nowhere(session, person)
        self._empty()
        for row in find_erasing.open_customer_lists(session):
            imports.close(row, self.now)
        self._delete()
        self._let_go()
        session.flush()
        session.execute(delete(Person).where(Person.id == person.id))
        session.expire_all()

    def _theirs(self, table: str) -> Any:
        return find_personal.is_theirs(table, self.person.id, self.person.email)

    def _empty(self) -> None:
        for name, column in columns_that(Then.EMPTIED):
            table = find_personal.table_of(name)
            self.session.execute(update(table).where(self._theirs(name)).values({column: ""}))

    def _delete(self) -> None:
        letters = find_personal.table_of("outbox_letter")
        own = find_personal.own_bookings(self.person.id)
        self.session.execute(delete(letters).where(letters.c.booking_id.in_(own)))
        for name, held in HELD.items():
            # The person goes last, since the others are found by them; files of letters go with those.
            if held.whose is not None and held.is_deleted and name not in {"person", "outbox_enclosure"}:
                self.session.execute(delete(find_personal.table_of(name)).where(self._theirs(name)))

    def _let_go(self) -> None:
        """What needs somebody gets nobody; all other keys go with the person."""
        nobody = find_erasing.nobody(self.session)
        if nobody is None:
            nobody = Person(name=ERASED, language="en", created_at=self.now, is_erased=True)
            self.session.add(nobody)
            self.session.flush()
        answers = find_personal.table_of("snow_answers")
        of_clubs = (answers.c.person_id == self.person.id) & answers.c.club_id.is_not(None)
        self.session.execute(update(answers).where(of_clubs).values(person_id=None))
        for name in ("booking", "booking_event"):
            table = find_personal.table_of(name)
            mine = table.c.person_id == self.person.id
            self.session.execute(update(table).where(mine).values(person_id=nobody.id))
        pairs = find_personal.table_of("pair")
        self.session.execute(
            update(pairs)
            .where(pairs.c.owner_id == self.person.id)
            .values(owner_id=None, junior_id=None, archived_at=func.coalesce(pairs.c.archived_at, self.now))
        )
