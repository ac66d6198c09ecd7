"""An order on its way: what is stored of it, checked against how things stand now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from sqlalchemy.orm import Session

from portal.domain.access import Actor
from portal.domain.answers import Discipline
from portal.domain.places import COUNTER_KEY
from portal.domain.prices import Bill
from portal.domain.words import N_, Phrase
from portal.queries import bookings as find_bookings
from portal.queries import catalogue as find_structures
from portal.queries import pairs as find_pairs
from portal.queries import places as find_places
from portal.queries import workshop as find_workshop
from portal.services import billing, order_parts, places
from portal.services.bookings import Wanted
from portal.services.order_parts import Part
from portal.web.marks import mark_of
from portal.web.request import now


@dataclass(frozen=True)
class Line:
    """One pair of the order with what is done to it."""

    pair: Any
    structure: Any
    wanted: Wanted


@dataclass(frozen=True)
class Early:
    """Which pairs are ready on an earlier day than the rest, and on which."""

    day: date
    pair_ids: frozenset[int]


@dataclass(frozen=True)
class Draft:
    """What has been chosen; ``lost`` says what no longer holds, and why."""

    form: dict[str, Any]
    lines: Sequence[Line]
    hand_in: date | None
    ready: date | None
    note: str
    lost: Sequence[Phrase]
    # Where the pairs are handed in (none for the plain counter), and what stands for that.
    place: Any = None
    place_key: str = COUNTER_KEY
    # The day on which the skis are at the workshop, and the ready days that cost express.
    arrival: date | None = None
    express: frozenset[date] = frozenset()
    # Chosen where not all pairs can be ready as early as some have to be.
    early: Early | None = None

    @property
    def parts(self) -> tuple[Part, Part] | None:
        """The pairs that are ready earlier and the rest, where the order is sent in parts."""
        if self.early is None or self.ready is None or self.ready <= self.early.day:
            return None
        first = [one for one in self.wanted if one.pair_id in self.early.pair_ids]
        rest = [one for one in self.wanted if one.pair_id not in self.early.pair_ids]
        return (Part(first, self.early.day), Part(rest, self.ready)) if first and rest else None

    @property
    def wanted(self) -> list[Wanted]:
        return [line.wanted for line in self.lines]

    def mark(self, total: object) -> str:
        """Stands for exactly this order at this price."""
        return mark_of(self.parts or self.wanted, self.place_key, self.hand_in, self.ready, self.note, total)

    @property
    def is_chosen(self) -> bool:
        """Whether pairs and hand-in day are settled, so that days can be offered."""
        return bool(self.lines) and self.hand_in is not None and not self.lost


def bookable(session: Session, club_id: int) -> tuple[list[Any], dict[int, Any]]:
    """The club's pairs that can be ordered, and those that cannot with the open order they are in."""
    pairs = [pair for pair in find_pairs.of_club(session, club_id) if pair.frozen_at is None]
    taken = set(find_bookings.open_with_pair(session, [pair.id for pair in pairs]))
    orders = {
        item.pair_id: order
        for order in find_bookings.of_club(session, club_id)
        if order.status.is_open
        for item in order.items
        if item.pair_id in taken
    }
    return [pair for pair in pairs if pair.id not in taken], {
        pair.id: (pair, orders.get(pair.id)) for pair in pairs if pair.id in taken
    }


def structures(session: Session) -> dict[Discipline, dict[int, Any]]:
    """What can be ground on the pairs of each discipline: structure id -> row."""
    rows = find_structures.all_current(session)
    return {
        discipline: {row.id: row for row in rows if discipline in find_structures.value(row).disciplines}
        for discipline in Discipline
    }


def bill(session: Session, draft: Draft, club_id: int, today: date) -> Bill:
    """What the order costs as it is chosen so far, in parts or not."""
    if draft.parts is not None and draft.arrival is not None:
        by_post = places.value(draft.place).returns_by_post
        return order_parts.bills(session, draft.parts, draft.arrival, today, club_id, by_post=by_post)[0]
    return billing.price(
        session,
        draft.wanted,
        today,
        club_id,
        express=draft.ready in draft.express,
        by_post=places.value(draft.place).returns_by_post,
    )


def stored(form: dict[str, Any], wanted: Sequence[Wanted], hand_in: date, place: str) -> dict[str, Any]:
    """An order with its pairs, hand-in day and place chosen, as JSON."""
    return {
        "form": form,
        "place": place,
        "hand_in": hand_in.isoformat(),
        "wanted": [
            {
                "pair": one.pair_id,
                "structure": one.structure_id,
                "flattening": one.flattening,
                "saturation": one.saturation,
            }
            for one in wanted
        ],
    }


def current(session: Session, actor: Actor, club_id: int, today: date) -> Draft:
    """What the person has put together for the club so far; an empty one when there is nothing."""
    row = find_bookings.draft(session, actor, club_id)
    kept: dict[str, Any] = row.stored if row is not None else {}
    pairs = {pair.id: pair for pair in bookable(session, club_id)[0]}
    offered = structures(session)
    lines, lost = [], []
    for one in kept.get("wanted", []):
        pair = pairs.get(one["pair"])
        if pair is None:
            lost.append(
                Phrase(N_("A pair that you ticked can no longer be ordered. Look through the list again."))
            )
        elif one["structure"] not in offered[pair.discipline]:
            lost.append(
                Phrase(
                    N_("The structure you chose for %(pair)s is no longer offered. Choose again."),
                    {"pair": pair.title},
                )
            )
        else:
            wanted = Wanted(pair.id, one["structure"], one["flattening"], one["saturation"])
            lines.append(Line(pair, offered[pair.discipline][one["structure"]], wanted))
    hand_in = _day(kept.get("hand_in"))
    offered_places = {places.key(one): one for one in find_places.offered(session, club_id)}
    key = kept.get("place") or next(iter(offered_places), COUNTER_KEY)
    if key not in offered_places:
        lost.append(Phrase(N_("The place you chose takes no skis any more. Choose another.")))
        hand_in = None
    place = offered_places.get(key)
    if hand_in is not None and hand_in not in places.days(session, place, now()):
        lost.append(Phrase(N_("The hand-in day you chose has passed or is closed now. Choose again.")))
        hand_in = None
    draft = Draft(
        kept.get("form", {}),
        lines,
        hand_in,
        _day(kept.get("ready")),
        kept.get("note", ""),
        lost,
        place,
        key,
        early=_early(kept.get("early")),
    )
    if hand_in is None:
        return draft
    arrival = places.arrival(session, place, hand_in)
    near = billing.express_days(session, find_workshop.the(session), arrival, today)
    return replace(draft, arrival=arrival, express=near)


def _early(kept: dict[str, Any] | None) -> Early | None:
    return Early(date.fromisoformat(kept["day"]), frozenset(kept["pairs"])) if kept else None


def _day(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None
