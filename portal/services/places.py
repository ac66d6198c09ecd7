"""Where skis are handed in: what can be chosen, and how the workshop keeps its places."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from portal.db.places import HandInPlace
from portal.domain.access import Action, Actor, insist
from portal.domain.audit import Act
from portal.domain.errors import NotNow
from portal.domain.places import COUNTER_KEY, HandIn, PlaceKind, hand_in_days
from portal.domain.words import N_
from portal.queries import opening as find_opening
from portal.queries import places as find_places
from portal.queries import workshop as find_workshop
from portal.services import audit, holds

# A workshop that is closed for longer takes parcels in when they come.
LONGEST_CLOSED = 60


@dataclass(frozen=True)
class PlaceFacts:
    """What the workshop says of a place."""

    name: str
    kind: PlaceKind
    address: str = ""
    club_id: int | None = None
    weekdays: frozenset[int] = frozenset(range(7))
    cut_off: time | None = None
    cut_off_days: int = 0
    travel_days: int = 0


def value(place: HandInPlace | None) -> HandIn:
    """When a place takes skis; the plain counter takes them on every day on which the workshop is open."""
    return HandIn() if place is None else place.hand_in


def key(place: HandInPlace | None) -> str:
    """What stands for a place in forms and drafts."""
    return COUNTER_KEY if place is None else str(place.id)


def arrival(session: Session, place: HandInPlace | None, day: date) -> date:
    """The day on which skis handed in there on ``day`` are at the workshop: nobody takes them in while it is closed."""
    there = value(place).arrival(day)
    last = there + timedelta(days=LONGEST_CLOSED)
    return next(iter(find_opening.days_for_people(session, there, last)), there)


def chosen(session: Session, place_id: int | None, club_id: int | None) -> HandInPlace | None:
    """The place of that number if it is offered, the counter when there is no number; ``NotNow`` when it takes no skis any more."""
    for place in find_places.offered(session, club_id):
        if place_id is None or (place is not None and place.id == place_id):
            return place
    raise NotNow(N_("This place takes no skis any more. Choose another."))


def days(session: Session, place: HandInPlace | None, now: datetime) -> list[date]:
    """The days on which skis can be handed in there and be here before the last day that can be promised."""
    workshop = find_workshop.the(session)
    local = now.astimezone(ZoneInfo(workshop.timezone))
    last = holds.last_day(workshop, local.date()) - timedelta(days=1)
    open_days = find_opening.days_for_people(session, local.date(), last)
    return hand_in_days(value(place), open_days, local, last)


def insist_it_takes(session: Session, place: HandInPlace | None, day: date, now: datetime) -> None:
    """``NotNow`` when skis cannot be handed in there on ``day`` any more."""
    local = now.astimezone(ZoneInfo(find_workshop.the(session).timezone))
    takes = value(place)
    if not takes.takes(day, local):
        raise NotNow(
            N_("The hand-in day you chose is over, or the place takes no skis on it. Choose another.")
        )
    if takes.needs_open_workshop and not find_opening.days_for_people(session, day, day):
        raise NotNow(N_("Choose a hand-in day on which the workshop is open."))


def add(session: Session, actor: Actor, facts: PlaceFacts, now: datetime) -> HandInPlace:
    """A new place, offered from now on."""
    insist(actor, Action.MANAGE_PLACE, None)
    place = HandInPlace(name=facts.name, kind=facts.kind, weekdays=[])
    _write(place, facts)
    session.add(place)
    audit.note(session, actor, Act.PLACE_CHANGED, now, about=facts.name)
    return place


def change(session: Session, actor: Actor, place_id: int, facts: PlaceFacts, now: datetime) -> None:
    """What is said of a place from now on; bookings that name it keep their days."""
    insist(actor, Action.MANAGE_PLACE, None)
    place = find_places.one(session, place_id)
    _write(place, facts)
    audit.note(session, actor, Act.PLACE_CHANGED, now, about=facts.name)


def _write(place: HandInPlace, facts: PlaceFacts) -> None:
    place.name, place.kind, place.address = facts.name, facts.kind, facts.address
    place.club_id = facts.club_id if facts.kind is PlaceKind.CLUB else None
    place.weekdays = sorted(facts.weekdays)
    place.cut_off, place.cut_off_days, place.travel_days = (
        facts.cut_off,
        facts.cut_off_days,
        facts.travel_days,
    )


def retire(session: Session, actor: Actor, place_id: int, now: datetime) -> None:
    """Offer the place no more; it stays where bookings name it. One place has to stay for everybody."""
    insist(actor, Action.MANAGE_PLACE, None)
    place = find_places.one(session, place_id)
    left = [one for one in find_places.offered(session, None) if one is None or one.id != place_id]
    if not left:
        raise NotNow(N_("This is the only place where skis can be handed in. Open another one first."))
    place.retired_at = now
    audit.note(session, actor, Act.PLACE_RETIRED, now, about=place.name)


def reopen(session: Session, actor: Actor, place_id: int, now: datetime) -> None:
    """Offer a retired place again."""
    insist(actor, Action.MANAGE_PLACE, None)
    place = find_places.one(session, place_id)
    place.retired_at = None
    audit.note(session, actor, Act.PLACE_CHANGED, now, about=place.name)
