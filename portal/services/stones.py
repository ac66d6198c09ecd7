"""What people at the bench tell the stone plan: pins, what a stone is dressed for, steps that are done, what weighs more."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy.orm import Session

from portal.db.bookings import BookingItem
from portal.db.stone_plans import Pin, StoneState
from portal.domain.access import Action, Actor, insist
from portal.domain.bookings import Stage
from portal.domain.errors import NotFound, NotNow
from portal.domain.planning.promise import Place
from portal.domain.planning.routes import FLATTENING, layer_names
from portal.domain.stone_plans import WEIGHTS
from portal.domain.words import N_, Phrase
from portal.queries import bookings as find_bookings
from portal.queries import catalogue as find_structures
from portal.queries import days as find_days
from portal.queries import stone_plans as find_plans
from portal.queries import workshop as find_workshop
from portal.services.holds import day_at
from portal.services.stone_work import one_to_grind


def pin(session: Session, actor: Actor, item_id: int, place: Place, now: datetime) -> Pin:
    """Let a pair have all its steps on one day and grinder (numbered from 0), whatever is planned from now on.

    A second pin takes the place of the first. ``NotNow`` for a day or a grinder that cannot be.
    """
    insist(actor, Action.PLAN_STONE, None)
    item = _to_grind(session, item_id)
    _insist_it_can_be_there(session, item, place, now)
    made = find_plans.pin_of(session, item_id)
    if made is None:
        made = Pin(booking_item_id=item_id)
        session.add(made)
    made.day, made.grinder = place.day, place.grinder
    made.pinned_by_id, made.pinned_at = actor.person_id, now
    return made


def unpin(session: Session, actor: Actor, item_id: int) -> None:
    """Let the pair go where it is planned."""
    insist(actor, Action.PLAN_STONE, None)
    made = find_plans.pin_of(session, item_id)
    if made is not None:
        session.delete(made)


def note_stone(
    session: Session, actor: Actor, grinder: int, layer: str, pairs_left: int, now: datetime
) -> StoneState:
    """Write down what the stone of a grinder (numbered from 0) is dressed for and how many pairs that still serves.

    An empty ``layer`` is a stone that is dressed for nothing. ``NotNow`` for what cannot be.
    """
    insist(actor, Action.PLAN_STONE, None)
    workshop = find_workshop.the(session)
    if not 0 <= grinder < workshop.grinders:
        raise NotNow(N_("There is no such grinder."))
    if layer and layer not in known_layers(session):
        raise NotNow(N_("No structure on offer has this layer."))
    if not 0 <= pairs_left <= workshop.life_pairs:
        raise NotNow(Phrase(N_("A dressing serves 0 to %(most)s pairs."), {"most": workshop.life_pairs}))
    return tell(session, actor, grinder, layer, pairs_left, now)


def tell(
    session: Session, actor: Actor, grinder: int, layer: str, pairs_left: int, now: datetime
) -> StoneState:
    """Keep what a run at the bench did to a stone, whatever structures are on offer now."""
    state = on_stone(session, grinder)
    if state is None:
        state = StoneState(grinder=grinder)
        session.add(state)
    state.layer, state.pairs_left = layer, pairs_left if layer else 0
    state.noted_at, state.noted_by_id = now, actor.person_id
    return state


def on_stone(session: Session, grinder: int) -> StoneState | None:
    """What the stone of a grinder, numbered from 0, was noted to be dressed for."""
    return next((one for one in find_plans.stones(session) if one.grinder == grinder), None)


def served(session: Session, actor: Actor, grinder: int, layer: str, pairs: int, now: datetime) -> None:
    """So many pairs were done on this layer, fewer than none where some were undone; nothing where another is on the stone."""
    state = on_stone(session, grinder)
    if state is not None and state.layer == layer:
        most = find_workshop.the(session).life_pairs
        tell(session, actor, grinder, layer, min(most, max(0, state.pairs_left - pairs)), now)


def known_layers(session: Session) -> list[str]:
    """The names of all layers that a stone can be dressed for: of structures on offer and of pairs to be ground."""
    rows = [
        *find_structures.all_current(session),
        *(item.structure for item in find_plans.to_grind(session)),
    ]
    names = (name for row in rows for name in layer_names(find_structures.value(row)))
    return list(dict.fromkeys((FLATTENING, *names)))


def note_steps(session: Session, actor: Actor, item_id: int, steps: int) -> None:
    """Write down how many steps of its work a pair has had; the last one is told by recording the grind.

    ``NotNow`` for a pair that is not at the workshop, and for more steps than it has before the last.
    """
    insist(actor, Action.PLAN_STONE, None)
    item = _to_grind(session, item_id)
    if item.stage is not Stage.CHECKED_IN:
        raise NotNow(N_("This pair has not been handed in yet."))
    count = len(one_to_grind(find_workshop.the(session), item).work)
    if not 0 <= steps < count:
        raise NotNow(N_("The last step of a pair is told by recording its grind."))
    item.steps_done = steps


def set_weight(session: Session, actor: Actor, booking_id: int, weight: int) -> None:
    """Say how much a day late weighs for this booking: 1 as a rule, 3 for race work."""
    insist(actor, Action.PLAN_STONE, None)
    if not WEIGHTS[0] <= weight <= WEIGHTS[1]:
        raise NotNow(
            Phrase(N_("A weight goes from %(least)s to %(most)s."), {"least": WEIGHTS[0], "most": WEIGHTS[1]})
        )
    find_bookings.locked(session, actor, booking_id).weight = weight


def _to_grind(session: Session, item_id: int) -> BookingItem:
    """A pair that has to be ground; ``NotFound``, or ``NotNow`` where that is over."""
    item = find_plans.items(session, [item_id]).get(item_id)
    if item is None:
        raise NotFound
    if item.booking.status not in find_plans.TO_GRIND or item.stage not in find_plans.NOT_GROUND:
        raise NotNow(N_("This pair does not wait for the stone."))
    return item


def _insist_it_can_be_there(session: Session, item: BookingItem, place: Place, now: datetime) -> None:
    workshop = find_workshop.the(session)
    first: date = day_at(workshop, now)
    if place.day < first:
        raise NotNow(N_("This day is over."))
    if not find_days.is_work_day(session, place.day):
        raise NotNow(N_("The workshop is closed on this day."))
    if item.stage is Stage.AWAITED and place.day <= max(item.booking.arrives_on, first):
        raise NotNow(N_("A pair can be ground from the day after it is handed in."))
    if not 0 <= place.grinder < workshop.grinders:
        raise NotNow(N_("There is no such grinder."))
