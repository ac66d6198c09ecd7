"""What has to be known before an account is erased, and in which rows somebody is still named."""

from __future__ import annotations

import json
from collections.abc import Collection, Sequence
from typing import Any

from sqlalchemy import JSON, Row, String, cast, false, func, or_, select
from sqlalchemy.orm import Session, aliased, joinedload

from portal.db.bookings import Booking, BookingItem
from portal.db.catalogue import Structure, StructureFamily
from portal.db.clubs import Club, ClubManager
from portal.db.handovers import Handover
from portal.db.imports import ListImport
from portal.db.invoices import IssuedInvoice
from portal.db.pairs import Pair
from portal.db.people import FormerName, Person
from portal.db.places import HandInPlace
from portal.db.venues import Venue
from portal.db.workshop import Workshop
from portal.domain.bookings import Stage, Status
from portal.domain.former_names import KnownBy
from portal.domain.importing.readings import Subject
from portal.domain.striking_out import are_in
from portal.queries.personal import literal, table_of

OLD_AT_ONCE = 200


def with_words(
    session: Session, name: str, columns: Sequence[str], words: Collection[str], only: Any = None
) -> list[Row[Any]]:
    """Number and columns of the rows in which one of the words may stand in one of the columns, however it is cased.

    Words in JSON are looked for as they stand there too. ``only`` narrows the rows.
    """
    table = table_of(name)
    patterns = sorted({f"%{form}%" for word in words for form in _forms(word)})
    hits = [_is_like(_as_text(table.c[column]), pattern) for column in columns for pattern in patterns]
    rows = select(*table.primary_key, *(table.c[column] for column in columns)).where(or_(*hits))
    return list(session.execute(rows if only is None else rows.where(only)))


def named(session: Session, name: str, column: str, names: Collection[str], only: Any) -> list[int]:
    """The numbers of the rows in which a column is one of the names, however it is cased. ``only`` narrows the rows."""
    table = table_of(name)
    rows = select(table.c.id, table.c[column]).where(_may_be(table.c[column], names))
    found = session.execute(rows if only is None else rows.where(only))
    return [number for number, said in found if are_in(names, said)]


def _may_be(column: Any, names: Collection[str]) -> Any:
    return or_(false(), *(_is_like(column, _pattern(name)) for name in names))


def _is_like(column: Any, pattern: str) -> Any:
    return func.lower(column).like(pattern, escape="\\")


def _pattern(word: str) -> str:
    # Not every database lowers a letter beyond ASCII, so such a letter may be any; spaces may be a break of the line.
    any_letter = "".join(sign if sign.isascii() else "_" for sign in literal(word.lower()))
    return "%".join(any_letter.split())


def _forms(word: str) -> set[str]:
    # In JSON letters beyond ASCII stand as numbers, and a capital has another one.
    written = {json.dumps(form)[1:-1].lower() for form in (word, word.lower(), word.upper())}
    return {_pattern(word), *(literal(form) for form in written)}


def _as_text(column: Any) -> Any:
    return cast(column, String) if isinstance(column.type, JSON) else column


def locked(session: Session, person_id: int) -> Person | None:
    """The person, and before them what they booked and own, locked in order; nothing when they are gone."""
    bookings = select(Booking.id).where(Booking.person_id == person_id).order_by(Booking.id)
    session.execute(bookings.with_for_update())
    # What they gave away as well: it may be frozen at this very moment.
    given = select(Handover.pair_id).where(Handover.from_person_id == person_id)
    pairs = select(Pair.id).where(or_(Pair.owner_id == person_id, Pair.id.in_(given)))
    session.execute(pairs.order_by(Pair.id).with_for_update())
    rows = select(Person).where(Person.id == person_id, Person.is_erased.is_(False)).with_for_update()
    return session.scalars(rows.execution_options(populate_existing=True)).one_or_none()


def nobody(session: Session) -> Person | None:
    """Whoever stands for people who erased their accounts."""
    return session.scalars(select(Person).where(Person.is_erased)).one_or_none()


def former_names(session: Session, person_id: int) -> dict[KnownBy, list[str]]:
    """What a person was known by before, each once."""
    rows = select(FormerName.known, FormerName.words).where(FormerName.person_id == person_id)
    found: dict[KnownBy, list[str]] = {known: [] for known in KnownBy}
    for known, words in session.execute(rows.distinct().order_by(FormerName.words)):
        found[known].append(words)
    return found


def shares_name(session: Session, person: Person, name: str) -> bool:
    """Whether somebody else is called like that."""
    rows = select(Person.name).where(Person.id != person.id, _may_be(Person.name, [name]))
    return are_in(session.scalars(rows), name)


def names_something(session: Session, name: str) -> bool:
    """Whether a club, a place or anything else that the workshop keeps is called like that."""
    named_so = (
        Club.name,
        Structure.name,
        StructureFamily.name,
        HandInPlace.name,
        Venue.name,
        Workshop.name,
        Workshop.legal_name,
        Pair.maker + " " + Pair.model,
    )
    return any(
        are_in(session.scalars(select(column).where(_may_be(column, [name]))), name) for column in named_so
    )


def of_their_clubs(name: str, person_id: int) -> Any:
    """Whether a row is, or is of, a club that a person manages."""
    table = table_of(name)
    key = table.c.id if name == "club" else table.c.club_id
    return key.in_(select(ClubManager.club_id).where(ClubManager.person_id == person_id))


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


def frozen_pairs(session: Session, person_id: int) -> list[Pair]:
    """Pairs of a person of which the workshop is clearing up whose they are."""
    rows = select(Pair).where(Pair.owner_id == person_id, Pair.frozen_at.is_not(None))
    return list(session.scalars(rows.order_by(Pair.id)))


def frozen_since_given(session: Session, person_id: int) -> list[Handover]:
    """The newest change of hands of each pair that a person gave away and of which the workshop is clearing up whose it is."""
    later = aliased(Handover)
    newest = select(func.max(later.id)).where(later.pair_id == Handover.pair_id).scalar_subquery()
    rows = (
        select(Handover)
        .join(Pair, Pair.id == Handover.pair_id)
        .where(Handover.from_person_id == person_id, Handover.id == newest, Pair.frozen_at.is_not(None))
    )
    return list(session.scalars(rows.order_by(Handover.id)))


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
