"""What is a person's, table by table, as ``domain/personal.py`` names it: for taking it along and for erasing it."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import JSON, ColumnElement, Row, String, Table, cast, exists, func, or_, select
from sqlalchemy.orm import Session, joinedload

from portal.db.bookings import Booking, BookingItem
from portal.db.catalogue import Structure
from portal.db.clubs import Club, ClubManager
from portal.db.imports import ListImport
from portal.db.invoices import IssuedInvoice
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.db.tables import Base
from portal.domain.bookings import Stage, Status
from portal.domain.importing.readings import Subject
from portal.domain.personal import HELD, Whose

OLD_AT_ONCE = 200
BY_ADDRESS = {
    "half_sign_in": "email",
    "invitation": "email",
    "outbox_letter": "recipient",
}


def table_of(name: str) -> Table:
    """A table by its name."""
    return Base.metadata.tables[name]


def own_pairs(person_id: int) -> Any:
    """The numbers of a person's pairs, as a part of a statement."""
    return select(Pair.id).where(Pair.owner_id == person_id)


def own_bookings(person_id: int) -> Any:
    """The numbers of what a person booked for themselves, as a part of a statement."""
    return select(Booking.id).where(Booking.person_id == person_id, Booking.club_id.is_(None))


def is_theirs(name: str, person_id: int, email: str | None) -> ColumnElement[bool]:
    """Whether a row of a table is this person's; there are such tables only as say whose they are."""
    table, held = table_of(name), HELD[name]
    match held.whose:
        case Whose.ACCOUNT:
            found = table.c[held.key] == person_id
            if name == "snow_answers":
                return or_(found, table.c.pair_id.in_(own_pairs(person_id)))
            return found
        case Whose.ADDRESS:
            return _by_address(name, table, person_id, email)
        case Whose.PAIR:
            return _by_pair(name, table, person_id)
        case Whose.BOOKING:
            return _by_booking(name, table, person_id)
        case Whose.DEED:
            return table.c[held.key] == person_id
        case None:
            raise LookupError(f"rows of {name} are nobody's")


def _by_address(name: str, table: Table, person_id: int, email: str | None) -> ColumnElement[bool]:
    address = (email or "").lower()
    if name == "outbox_enclosure":
        letters = table_of("outbox_letter")
        mine = select(letters.c.id).where(is_theirs("outbox_letter", person_id, email))
        return table.c.letter_id.in_(mine)
    if name == "failed_try":
        # It is counted under "what:whom".
        ends = func.lower(table.c.bucket).like(f"%:{_literal(address)}", escape="\\")
        return ends if address else table.c.id < 0
    found = func.lower(table.c[BY_ADDRESS[name]]) == address if address else table.c.id.is_(None)
    if name == "half_sign_in":
        return or_(found, table.c.person_id == person_id)
    return found


def _by_pair(name: str, table: Table, person_id: int) -> ColumnElement[bool]:
    if name == "pair":
        return table.c.owner_id == person_id
    if name == "rework":
        grinds = table_of("grind")
        mine = select(grinds.c.id).where(grinds.c.pair_id.in_(own_pairs(person_id)))
        return or_(table.c.grind_id.in_(mine), table.c.asked_by_id == person_id)
    return table.c.pair_id.in_(own_pairs(person_id))


def _by_booking(name: str, table: Table, person_id: int) -> ColumnElement[bool]:
    mine = own_bookings(person_id)
    if name == "booking":
        return table.c.id.in_(mine)
    if "booking_id" in table.c:
        return table.c.booking_id.in_(mine)
    if "item_id" in table.c and name != "offered_structure":
        items = table_of("booking_item")
        return table.c.item_id.in_(select(items.c.id).where(items.c.booking_id.in_(mine)))
    key, parent = {
        "offered_structure": ("offer_id", "counter_offer"),
        "payment_tax": ("payment_id", "payment"),
    }[name]
    above = table_of(parent)
    return table.c[key].in_(select(above.c.id).where(above.c.booking_id.in_(mine)))


def about_their_orders(name: str, person_id: int) -> ColumnElement[bool] | None:
    """Whether a row is about anything they ordered, for a club too; nothing for a table that is not about orders."""
    table = table_of(name)
    ordered = select(Booking.id).where(Booking.person_id == person_id)
    if name == "booking":
        return table.c.id.in_(ordered)
    return table.c.booking_id.in_(ordered) if "booking_id" in table.c else None


def rows_of(
    session: Session, name: str, person_id: int, email: str | None, columns: Sequence[str]
) -> Iterator[Row[Any]]:
    """A person's rows of a table, with some of its columns, in order.

    Of letters those about what they booked, and about nothing booked: the others name other people.
    """
    table = table_of(name)
    rows = select(*(table.c[column] for column in columns)).where(is_theirs(name, person_id, email))
    if name in {"outbox_letter", "outbox_enclosure"}:
        rows = rows.where(_about_them(table, person_id))
    yield from session.execute(rows.order_by(*table.primary_key))


def _about_them(table: Table, person_id: int) -> ColumnElement[bool]:
    letters = table_of("outbox_letter")
    about = or_(letters.c.booking_id.is_(None), letters.c.booking_id.in_(own_bookings(person_id)))
    return about if table is letters else table.c.letter_id.in_(select(letters.c.id).where(about))


def content_of(session: Session, name: str, column: str, number: int) -> bytes | None:
    """What a column of files holds in a row."""
    table = table_of(name)
    found: bytes | None = session.scalar(select(table.c[column]).where(table.c.id == number))
    return found


def structures(session: Session, numbers: Collection[int]) -> list[Structure]:
    """Versions of structures by their numbers, with their families."""
    rows = select(Structure).options(joinedload(Structure.family)).where(Structure.id.in_(numbers))
    return list(session.scalars(rows.order_by(Structure.id)))


def orders_for_clubs(session: Session, person_id: int) -> list[tuple[str, str, datetime]]:
    """Reference, club and moment of each order that a person made for a club."""
    rows = (
        select(Booking.reference, Club.name, Booking.created_at)
        .join(Club, Club.id == Booking.club_id)
        .where(Booking.person_id == person_id)
    )
    return [(reference, club, at) for reference, club, at in session.execute(rows.order_by(Booking.id))]


def has_row(session: Session, name: str, person_id: int, email: str | None) -> bool:
    """Whether a table has a row of this person."""
    return bool(session.scalar(select(exists().where(is_theirs(name, person_id, email)))))


def with_words(
    session: Session, name: str, columns: Sequence[str], words: Collection[str], only: Any = None
) -> list[Row[Any]]:
    """Number and columns of the rows in which one of the words stands in one of the columns, however it is cased.

    Words in JSON are looked for as they stand there too. ``only`` narrows the rows.
    """
    table = table_of(name)
    patterns = sorted({f"%{_literal(form)}%" for word in words for form in _forms(word)})
    hits = [
        func.lower(_as_text(table.c[column])).like(pattern, escape="\\")
        for column in columns
        for pattern in patterns
    ]
    rows = select(*table.primary_key, *(table.c[column] for column in columns)).where(or_(*hits))
    return list(session.execute(rows if only is None else rows.where(only)))


def _forms(word: str) -> set[str]:
    # In JSON letters beyond ASCII stand as numbers, and a capital has another one.
    written = {json.dumps(form)[1:-1].lower() for form in (word, word.lower(), word.upper())}
    return {word.lower(), *written}


def _as_text(column: Any) -> Any:
    return cast(column, String) if isinstance(column.type, JSON) else column


def _literal(words: str) -> str:
    return words.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")


def locked(session: Session, person_id: int) -> Person | None:
    """The person, and before them what they booked and own, locked in order; nothing when they are gone."""
    bookings = select(Booking.id).where(Booking.person_id == person_id).order_by(Booking.id)
    session.execute(bookings.with_for_update())
    session.execute(own_pairs(person_id).order_by(Pair.id).with_for_update())
    rows = select(Person).where(Person.id == person_id, Person.is_erased.is_(False)).with_for_update()
    return session.scalars(rows.execution_options(populate_existing=True)).one_or_none()


def nobody(session: Session) -> Person | None:
    """Whoever stands for people who erased their accounts."""
    return session.scalars(select(Person).where(Person.is_erased)).one_or_none()


def shares_name(session: Session, person: Person) -> bool:
    """Whether somebody else is called the same."""
    same = (func.lower(Person.name) == person.name.lower()) & (Person.id != person.id)
    return bool(session.scalar(select(exists().where(same))))


def bookings_of(session: Session, person_id: int) -> list[Booking]:
    """What a person booked for themselves, in order."""
    rows = select(Booking).where(Booking.person_id == person_id, Booking.club_id.is_(None))
    return list(session.scalars(rows.order_by(Booking.id).execution_options(populate_existing=True)))


def pairs_at_the_workshop(session: Session, person_id: int) -> list[Pair]:
    """Pairs of a person that are in an open booking of somebody else's, such as the order of a club."""
    rows = (
        select(Pair)
        .join(BookingItem, BookingItem.pair_id == Pair.id)
        .join(Booking, Booking.id == BookingItem.booking_id)
        .where(
            Pair.owner_id == person_id,
            or_(Booking.person_id != person_id, Booking.club_id.is_not(None)),
            Booking.status.in_([status for status in Status if status.is_open]),
            BookingItem.stage != Stage.HANDED_BACK,
        )
        .distinct()
        .order_by(Pair.id)
    )
    return list(session.scalars(rows))


def clubs_managed_alone(session: Session, person_id: int, *, to_write: bool) -> list[Club]:
    """The clubs that nobody but this person manages; ``to_write`` locks the rows of their managers."""
    mine = select(ClubManager.club_id).where(ClubManager.person_id == person_id)
    rows = select(ClubManager).where(ClubManager.club_id.in_(mine)).options(joinedload(ClubManager.club))
    rows = rows.order_by(ClubManager.club_id, ClubManager.id)
    many: dict[int, list[Club]] = {}
    for row in session.scalars(rows.with_for_update(of=ClubManager) if to_write else rows):
        many.setdefault(row.club_id, []).append(row.club)
    return [clubs[0] for clubs in many.values() if len(clubs) == 1]


def old_invoices(session: Session, before_year: int) -> list[IssuedInvoice]:
    """Invoices of years before one, for bookings of people who erased their accounts, in which a name still stands."""
    rows = (
        select(IssuedInvoice)
        .join(Booking, Booking.id == IssuedInvoice.booking_id)
        .join(Person, Person.id == Booking.person_id)
        .where(
            Person.is_erased,
            Booking.club_id.is_(None),
            IssuedInvoice.year < before_year,
            IssuedInvoice.is_nameless.is_(False),
        )
        .order_by(IssuedInvoice.id)
        .limit(OLD_AT_ONCE)
    )
    return list(session.scalars(rows.with_for_update(of=IssuedInvoice)))


def open_customer_lists(session: Session) -> list[ListImport]:
    """The workshop's lists of people whose file is still kept, locked."""
    rows = select(ListImport).where(ListImport.subject == Subject.CUSTOMERS, ListImport.closed_at.is_(None))
    return list(session.scalars(rows.order_by(ListImport.id).with_for_update()))
