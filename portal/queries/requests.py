"""What waits for an answer, of the workshop or of whoever ordered: filtered, sorted and by the page."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Any

from sqlalchemy import Select, func, or_, select
from sqlalchemy.orm import Session, joinedload, selectinload

from portal.db.bookings import Booking, BookingItem
from portal.db.catalogue import Structure
from portal.db.clubs import Club
from portal.db.days import Commitment
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.domain.bookings import Status
from portal.domain.words import N_

PAGE = 50
WAITING = (Status.REQUESTED, Status.COUNTERED)
_ITEMS = selectinload(Booking.items)


class Show(StrEnum):
    """Which of those that wait."""

    ANSWER = "answer"
    OFFER = "offer"
    LAPSED = "lapsed"

    @property
    def label(self) -> str:
        return {
            Show.ANSWER: N_("Needs our answer"),
            Show.OFFER: N_("Offer out, waits for the skier"),
            Show.LAPSED: N_("Time no longer held"),
        }[self]


class Sort(StrEnum):
    """What the list is sorted by."""

    SENT = "sent"
    FROM = "from"
    HAND_IN = "hand_in"
    READY = "ready"


@dataclass(frozen=True)
class Queue:
    """How the list is asked for; days are both included, ``of_club`` is None for clubs and persons alike."""

    show: Show | None = None
    of_club: bool | None = None
    ready_from: date | None = None
    ready_to: date | None = None
    words: str = ""
    sort: Sort = Sort.SENT
    is_down: bool = False

    @property
    def is_filtered(self) -> bool:
        """Whether anything is left out."""
        return self != Queue(sort=self.sort, is_down=self.is_down)


def _matching(queue: Queue) -> Select[Booking]:
    rows = (
        select(Booking)
        .join(Booking.person)
        .outerjoin(Booking.club)
        .where(
            Booking.status.in_(
                {Show.ANSWER: (Status.REQUESTED,), Show.OFFER: (Status.COUNTERED,)}.get(
                    queue.show or Show.LAPSED, WAITING
                )
            )
        )
    )
    if queue.show is Show.LAPSED:
        rows = rows.where(Booking.lapsed.is_(True))
    if queue.of_club is not None:
        rows = rows.where(Booking.club_id.is_not(None) if queue.of_club else Booking.club_id.is_(None))
    if queue.ready_from is not None:
        rows = rows.where(Booking.ready_on >= queue.ready_from)
    if queue.ready_to is not None:
        rows = rows.where(Booking.ready_on <= queue.ready_to)
    if queue.words:
        pattern = (
            "%" + queue.words.lower().replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_") + "%"
        )
        named = (Booking.reference, Person.name, Person.email, Club.name)
        rows = rows.where(or_(*(func.lower(column).like(pattern, escape="\\") for column in named)))
    return rows


def page(session: Session, queue: Queue, number: int) -> tuple[list[Booking], int]:
    """One page (from 1) of what waits, each with its pairs and offers, and how many there are in all."""
    total = session.scalar(select(func.count()).select_from(_matching(queue).subquery())) or 0
    column: Any = {
        Sort.SENT: Booking.created_at,
        Sort.FROM: func.lower(func.coalesce(Club.name, Person.name)),
        Sort.HAND_IN: Booking.hand_in_on,
        Sort.READY: Booking.ready_on,
    }[queue.sort]
    rows = _matching(queue).options(
        joinedload(Booking.person),
        joinedload(Booking.club),
        _ITEMS.joinedload(BookingItem.pair),
        _ITEMS.joinedload(BookingItem.structure),
        selectinload(Booking.offers),
    )
    rows = rows.order_by(column.desc() if queue.is_down else column, Booking.id)
    return list(session.scalars(rows.limit(PAGE).offset((number - 1) * PAGE))), total


def several(session: Session, booking_ids: Collection[int]) -> list[Booking]:
    """Some bookings with all that says whether they can be confirmed, the oldest first, and no more than a page of them."""
    rows = (
        select(Booking)
        .options(
            joinedload(Booking.person),
            joinedload(Booking.club),
            _ITEMS.joinedload(BookingItem.pair).joinedload(Pair.junior),
            _ITEMS.joinedload(BookingItem.structure).joinedload(Structure.family),
            _ITEMS.selectinload(BookingItem.commitments).joinedload(Commitment.work_day),
        )
        .where(Booking.id.in_(booking_ids))
        .order_by(Booking.created_at, Booking.id)
        .limit(PAGE)
    )
    return list(session.scalars(rows))
