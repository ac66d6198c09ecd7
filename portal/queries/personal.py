"""What is a person's, table by table, as ``domain/personal.py`` names it: for taking it along and for erasing it."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Column, ColumnElement, Row, Table, and_, case, exists, func, or_, select
from sqlalchemy.orm import Session, joinedload

from portal.db.bookings import Booking
from portal.db.catalogue import Structure
from portal.db.clubs import Club
from portal.db.handovers import Handover
from portal.db.pairs import Pair
from portal.db.tables import Base
from portal.domain.handovers import Way
from portal.domain.personal import HELD, Whose

# What was seen of a pair belongs to whoever had it then.
MOMENTS = {"check_in": "at", "photo": "created_at"}
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
                # A club's are the club's, whoever of it gave them.
                mine = or_(found, table.c.pair_id.in_(own_pairs(person_id)))
                return and_(mine, table.c.club_id.is_(None))
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
        # It is counted under "what:whom", which is an address or, of somebody who is signed in, their number.
        numbered = table.c.bucket.like(f"%:{person_id}") & table.c.bucket.not_like("%:%:%")
        ends = func.lower(table.c.bucket).like(f"%:{literal(address)}", escape="\\")
        return or_(ends, numbered) if address else numbered
    found = func.lower(table.c[BY_ADDRESS[name]]) == address if address else table.c.id.is_(None)
    if name == "half_sign_in":
        return or_(found, table.c.person_id == person_id)
    return found


def _by_pair(name: str, table: Table, person_id: int) -> ColumnElement[bool]:
    if name == "pair":
        return table.c.owner_id == person_id
    if name == "rework":
        found = _was_theirs(_pair_of_rework(), table.c.created_at, person_id)
        return or_(found, table.c.asked_by_id == person_id)
    if name in MOMENTS:
        return _was_theirs(table.c.pair_id, table.c[MOMENTS[name]], person_id)
    return table.c.pair_id.in_(own_pairs(person_id))


def _pair_of_rework() -> Any:
    grinds, reworks = table_of("grind"), table_of("rework")
    # Of the rework outside, however deep in the statement this stands.
    rows = select(grinds.c.pair_id).where(grinds.c.id == reworks.c.grind_id)
    return rows.correlate(reworks).scalar_subquery()


def _was_theirs(pair_id: Any, moment: Any, person_id: int) -> ColumnElement[bool]:
    """Whether a pair was theirs at a moment: whoever it left first after that, else whose it is now.

    A claimed pair was its skier's before, too, as ``handovers.was_theirs`` has it for pages.
    """
    later = (Handover.pair_id == pair_id) & (Handover.at > moment) & (Handover.way != Way.CLAIMED)
    first = select(Handover.from_person_id).where(later).order_by(Handover.at, Handover.id).limit(1)
    return or_(
        and_(pair_id.in_(own_pairs(person_id)), ~exists().where(later)),
        first.scalar_subquery() == person_id,
    )


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
    shown = (_shown(table.c[column], person_id) for column in columns)
    rows = select(*shown).where(is_theirs(name, person_id, email))
    if name in {"outbox_letter", "outbox_enclosure"}:
        rows = rows.where(_about_them(table, person_id))
    yield from session.execute(rows.order_by(*table.primary_key))


def _shown(column: Column[Any], person_id: int) -> ColumnElement[Any]:
    """A column as its person reads it: an answer that was given when somebody else had the pair is that one's."""
    if (column.table.name, column.name) != ("rework", "reason"):
        return column
    theirs = _was_theirs(_pair_of_rework(), column.table.c.decided_at, person_id)
    return case((theirs, column), else_="").label(column.name)


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


def literal(words: str) -> str:
    """Words as a pattern of LIKE that stands for themselves, with a backslash as its escape."""
    return words.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")
