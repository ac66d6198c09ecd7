"""A booking on its way: what is stored of it, checked against how things stand now, and the first step still open."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Any

from flask import url_for
from sqlalchemy.orm import Session

from portal.domain.access import Actor
from portal.domain.planning.promise import Offer
from portal.domain.prices import Bill
from portal.domain.words import N_, Phrase
from portal.queries import bookings as find_bookings
from portal.queries import catalogue as find_structures
from portal.queries import pairs as find_pairs
from portal.queries import places as find_places
from portal.queries import workshop as find_workshop
from portal.services import billing, bookings, places
from portal.services.bookings import Wanted
from portal.web.marks import mark_of
from portal.web.request import now


@dataclass
class Draft:
    """What has been chosen and still holds; ``lost`` says what no longer does, and why."""

    pairs: list[Any] = field(default_factory=list)
    # pair id -> what is wanted for it
    work: dict[int, Wanted] = field(default_factory=dict)
    structures: dict[int, Any] = field(default_factory=dict)
    # Where the skis are handed in: what stands for the place (``services.places.key``), once it is chosen.
    place_key: str | None = None
    hand_in: date | None = None
    # The day on which the skis are at the workshop.
    arrival: date | None = None
    ready: date | None = None
    note: str | None = None
    # The key of a structure that the person had in mind when they began.
    wish: str = ""
    lost: list[Phrase] = field(default_factory=list)
    places: list[Any] = field(default_factory=list)
    hand_in_days: list[date] = field(default_factory=list)
    offers: tuple[Offer, ...] = ()
    # The ready days that cost express.
    express: frozenset[date] = frozenset()

    @property
    def wanted(self) -> list[Wanted]:
        """What is wanted for each pair, in the order of the pairs; only whole once no pair is open."""
        return [self.work[pair.id] for pair in self.pairs if pair.id in self.work]

    @property
    def place(self) -> Any:
        """The chosen place; none for the plain counter, and as long as nothing is chosen."""
        return next((place for place in self.places if places.key(place) == self.place_key), None)

    def bill(self, session: Session, today: date) -> Bill:
        """What it costs as it is chosen so far."""
        return billing.price(
            session,
            self.wanted,
            today,
            None,
            express=self.ready in self.express,
            by_post=places.value(self.place).returns_by_post,
        )

    @property
    def open_pair(self) -> Any:
        """The first pair for which nothing has been chosen."""
        return next((pair for pair in self.pairs if pair.id not in self.work), None)

    def stored(self) -> dict[str, Any]:
        """The same as JSON."""
        return {
            "pairs": [pair.id for pair in self.pairs],
            "work": {
                str(pair_id): {
                    "structure": one.structure_id,
                    "flattening": one.flattening,
                    "saturation": one.saturation,
                }
                for pair_id, one in self.work.items()
            },
            "place": self.place_key,
            "hand_in": self.hand_in.isoformat() if self.hand_in else None,
            "ready": self.ready.isoformat() if self.ready else None,
            "note": self.note,
            "wish": self.wish,
        }

    def mark(self, total: object) -> str:
        """Stands for exactly this draft at this price, so that what is sent is what was checked."""
        return mark_of(self.stored(), total)

    def next_step(self) -> str:
        """The address of the first step that is still open; the check page when none is."""
        if not self.pairs:
            return url_for("skier.book")
        if self.open_pair is not None:
            return url_for("skier.book_work", pair_id=self.open_pair.id)
        if self.place_key is None:
            return url_for("skier.book_place")
        if self.hand_in is None:
            return url_for("skier.book_hand_in")
        if self.ready is None:
            return url_for("skier.book_ready")
        if self.note is None:
            return url_for("skier.book_note")
        return url_for("skier.book_check")


def bookable(session: Session, actor: Actor) -> tuple[list[Any], list[Any]]:
    """The person's own pairs that can be booked now, and those that are in an open booking already."""
    pairs = [one for one in find_pairs.of_person(session, actor.person_id) if one.frozen_at is None]
    taken = set(find_bookings.open_with_pair(session, [pair.id for pair in pairs]))
    return [pair for pair in pairs if pair.id not in taken], [pair for pair in pairs if pair.id in taken]


def load(session: Session, actor: Actor, today: date, *, is_sent: bool = False) -> Draft:
    """The person's draft as it still fits: what has changed since it was kept is left out and named in ``lost``.

    Whether there still is room is left to the ledger when the draft ``is_sent``.
    """
    row = find_bookings.draft(session, actor, None)
    stored = row.stored if row is not None else {}
    draft = Draft(note=stored.get("note"), wish=stored.get("wish") or "")
    _take_pairs(session, actor, draft, stored.get("pairs") or [])
    _take_work(session, draft, stored.get("work") or {})
    _take_days(session, draft, stored, today)
    if not is_sent:
        _judge_ready(session, draft, today)
    return draft


def _take_pairs(session: Session, actor: Actor, draft: Draft, ids: list[int]) -> None:
    free, taken = bookable(session, actor)
    by_id = {pair.id: pair for pair in free}
    booked = {pair.id: pair for pair in taken}
    archived = {pair.id: pair for pair in find_pairs.of_person(session, actor.person_id, archived=True)}
    for pair_id in ids:
        if pair_id in by_id:
            draft.pairs.append(by_id[pair_id])
        elif pair_id in booked:
            draft.lost.append(
                Phrase(
                    N_("%(pair)s is in another open booking now, so it was taken out."),
                    {"pair": booked[pair_id].title},
                )
            )
        elif pair_id in archived:
            draft.lost.append(
                Phrase(
                    N_("%(pair)s is archived now, so it was taken out."), {"pair": archived[pair_id].title}
                )
            )
        else:
            draft.lost.append(Phrase(N_("A pair that is no longer yours was taken out.")))


def _take_work(session: Session, draft: Draft, work: dict[str, Any]) -> None:
    workshop = find_workshop.the(session)
    current = {row.id: row for row in find_structures.all_current(session)}
    for pair in draft.pairs:
        kept = work.get(str(pair.id))
        if kept is None:
            continue
        structure = current.get(kept["structure"])
        if structure is None:
            draft.lost.append(
                Phrase(
                    N_("The workshop has changed the structure you chose for %(pair)s. Choose again."),
                    {"pair": pair.title},
                )
            )
            continue
        if pair.discipline not in find_structures.value(structure).disciplines:
            draft.lost.append(
                Phrase(
                    N_("%(pair)s is for %(discipline)s now, so its structure has to be chosen again."),
                    {"pair": pair.title, "discipline": Phrase(pair.discipline.label)},
                )
            )
            continue
        if bookings.base_too_thin(session, workshop, pair, structure, kept["flattening"]):
            draft.lost.append(
                Phrase(
                    N_("The base of %(pair)s is too thin for what you chose. Choose again."),
                    {"pair": pair.title},
                )
            )
            continue
        draft.work[pair.id] = Wanted(pair.id, structure.id, kept["flattening"], kept["saturation"])
        draft.structures[pair.id] = structure


def _take_days(session: Session, draft: Draft, stored: dict[str, Any], today: date) -> None:
    _take_place(session, draft, stored)
    draft.hand_in_days = places.days(session, draft.place, now())
    hand_in = _day(stored.get("hand_in"))
    draft.ready = _day(stored.get("ready"))
    if hand_in is not None and hand_in not in draft.hand_in_days:
        draft.lost.append(Phrase(N_("The hand-in day you chose has passed or is closed now. Choose again.")))
        return
    draft.hand_in = hand_in
    if hand_in is not None:
        draft.arrival = places.arrival(session, draft.place, hand_in)
        draft.express = billing.express_days(session, find_workshop.the(session), draft.arrival, today)


def _take_place(session: Session, draft: Draft, stored: dict[str, Any]) -> None:
    """Where there is one place only, nobody is asked."""
    draft.places = find_places.offered(session, None)
    keys = [places.key(place) for place in draft.places]
    kept = stored.get("place")
    if len(keys) == 1:
        draft.place_key = keys[0]
    elif kept in keys:
        draft.place_key = kept
    elif kept is not None:
        draft.lost.append(Phrase(N_("The place you chose takes no skis any more. Choose another.")))


def _judge_ready(session: Session, draft: Draft, today: date) -> None:
    if draft.arrival is None or not draft.pairs or draft.open_pair is not None:
        # The ready day stays in mind until it can be judged.
        return
    draft.offers = bookings.possible_days(session, draft.wanted, draft.arrival, today)
    ready = draft.ready
    if ready is not None and not any(offer.day == ready and offer.is_possible for offer in draft.offers):
        draft.ready = None
        draft.lost.append(Phrase(N_("The ready day you chose can no longer be promised. Choose again.")))


def _day(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None
