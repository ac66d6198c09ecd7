"""Taking a stone plan: it is replayed, held against what has happened since, and written onto the ledger."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta

from sqlalchemy.orm import Session

from portal.db.bookings import BookingItem
from portal.db.stone_plans import StonePlan
from portal.db.workshop import Workshop
from portal.domain.access import Action, Actor, insist
from portal.domain.audit import Act
from portal.domain.bookings import Stage
from portal.domain.errors import NotNow
from portal.domain.planning.checker import replay
from portal.domain.planning.lots import Places, reference_of
from portal.domain.planning.problem import Plan, Problem, asked_from_json
from portal.domain.planning.promise import Place
from portal.domain.planning.put_in import Newcomer, filled, first_overfull, put_in
from portal.domain.planning.stored import plan_from_json
from portal.domain.planning.to_bookings import places_of
from portal.domain.stone_plans import Status
from portal.domain.words import N_, Phrase
from portal.queries import days as find_days
from portal.queries import stone_plans as find_plans
from portal.queries import workshop as find_workshop
from portal.services import audit
from portal.services.days import settle
from portal.services.holds import day_at
from portal.services.stone_work import (
    ToGrind,
    bookings_of,
    due_of,
    is_offered_another,
    lots_of,
    one_to_grind,
    rooms_without,
    to_grind,
)

Wanted = dict[BookingItem, tuple[Place, ...]]


def accept(session: Session, actor: Actor, plan_id: int, now: datetime) -> StonePlan:
    """Work by this plan from now on; its days and grinders are written onto the ledger.

    ``NotNow`` says why not: it is a what-if or not ready, another was taken since it was asked for, work in it was called
    off or changed or pinned elsewhere, a day of it is over, or what came in since has no place beside it.
    """
    insist(actor, Action.ACCEPT_PLAN, None)
    find_plans.lock_the_workshop(session)
    plan = find_plans.locked(session, plan_id)
    _insist_it_may_be_taken(session, plan)
    find_plans.lock_bookings(session, sorted({lot.booking for lot in lots_of(plan).values()}))
    workshop = find_workshop.the(session)
    today = day_at(workshop, now)
    wanted = _wanted(session, workshop, plan, today)
    beside = _beside(session, workshop, wanted, today)
    settle(
        session,
        {item: [(one.day, one.grinder) for one in where] for item, where in (wanted | beside).items()},
    )
    plan.accepted_at, plan.accepted_by_id = now, actor.person_id
    audit.note(session, actor, Act.PLAN_ACCEPTED, now, f"{plan.id}")
    return plan


def made_of(plan: StonePlan) -> tuple[Problem, Plan]:
    """What a ready plan was made of, and the plan."""
    if plan.result is None:
        raise NotNow(N_("This plan is not ready."))
    return asked_from_json(plan.problem).problem, plan_from_json(plan.result)


def places_in(plan: StonePlan) -> dict[int, Places]:
    """Where a ready plan has each step that was left, by booking item; None for a step that it has no place for."""
    problem, made = made_of(plan)
    return places_of(problem, made.runs, lots_of(plan))


def _insist_it_may_be_taken(session: Session, plan: StonePlan) -> None:
    if plan.is_what_if:
        raise NotNow(N_("A what-if is for looking at only. Ask for a plan to work by."))
    if plan.accepted_at is not None:
        raise NotNow(N_("This plan has been accepted already."))
    if plan.status is not Status.DONE:
        raise NotNow(N_("This plan is not ready."))
    in_force = find_plans.in_force(session)
    if (in_force.id if in_force is not None else None) != plan.against_id:
        raise NotNow(N_("Another plan has been accepted since this one was asked for. Ask for a new plan."))
    problem, made = made_of(plan)
    if replay(problem, made.runs).faults:
        raise NotNow(N_("This plan cannot be worked by: the check of it found a fault. Ask for a new plan."))


def _wanted(session: Session, workshop: Workshop, plan: StonePlan, today: date) -> Wanted:
    """The place of every step of each pair that the plan holds and that is still to be ground."""
    lots, places = lots_of(plan), places_in(plan)
    items = find_plans.items(session, list(places))
    pins = {pin.booking_item_id: Place(pin.day, pin.grinder) for pin in find_plans.pins(session)}
    problem, _made = made_of(plan)
    layers = {lot.name: lot.layers for _order, lot in problem.lots}
    wanted: Wanted = {}
    for name, lot in lots.items():
        for pair in lot.pairs:
            item = items.get(pair.item)
            if item is None or not item.booking.status.holds_capacity:
                raise _changed(
                    N_(
                        "Booking %(booking)s is in this plan and has been called off since. Ask for a new plan."
                    ),
                    name,
                )
            if item.stage not in find_plans.NOT_GROUND:
                continue
            if not item.commitments:
                raise _changed(
                    N_("The time of booking %(booking)s is not held any more. Ask for a new plan."), name
                )
            one = one_to_grind(workshop, item)
            if is_offered_another(item) or tuple(step.layer for step in one.work[lot.done :]) != layers[name]:
                raise _changed(
                    N_("The work on booking %(booking)s has changed since. Ask for a new plan."), name
                )
            where = _left(one, places[pair.item], lot.done)
            if where is None:
                # The plan has no room for it; it stays where the ledger has it.
                continue
            _insist_it_holds(one, where, pins.get(item.id), today, problem)
            wanted[item] = (*one.done[1], *where)
    return wanted


def _left(one: ToGrind, places: Places, done: int) -> tuple[Place, ...] | None:
    """The places of the steps that are left now: some may have been done since the plan was made."""
    known = tuple(place for place in places[one.item.steps_done - done :] if place is not None)
    return known if len(known) == len(one.work) - one.item.steps_done else None


def _insist_it_holds(
    one: ToGrind, where: Sequence[Place], pin: Place | None, today: date, problem: Problem
) -> None:
    booking = one.item.booking
    if where[0].day < today:
        raise NotNow(
            Phrase(
                N_("This plan has work on %(day)s that has not been done. Ask for a new plan."),
                {"day": where[0].day},
            )
        )
    if pin is not None and pin.day >= today and any(place != pin for place in where):
        raise _changed(
            N_("A pair of booking %(booking)s has been pinned to another day since. Ask for a new plan."),
            booking.reference,
        )
    if one.item.stage is Stage.AWAITED and where[0].day <= booking.arrives_on:
        raise _changed(
            N_("Booking %(booking)s is handed in later than it was. Ask for a new plan."), booking.reference
        )
    promised = {reference_of(order.name): order.due for order in problem.orders}
    due = due_of(booking)
    if where[-1].day > due and due < promised.get(booking.reference, due):
        raise _changed(
            N_("Booking %(booking)s is promised for an earlier day now. Ask for a new plan."),
            booking.reference,
        )


def _beside(session: Session, workshop: Workshop, wanted: Wanted, today: date) -> Wanted:
    """Other places for what came in since, where it has none beside the plan; ``NotNow`` where it finds none.

    The days are locked here already, in the order of days, so that what is found is still there when it is written.
    """
    pairs = to_grind(session, workshop)
    if not wanted:
        return {}
    days = [place.day for where in wanted.values() for place in where]
    days += [place.day for one in pairs for place in one.places]
    last = max([*days, *(due_of(one.item.booking) for one in pairs)])
    find_days.locked(session, min([today, *days]), last)
    planned = [one for one in pairs if one.item in wanted]
    new = [one for one in pairs if one.item not in wanted and one.places]
    work = [(one.work[one.item.steps_done :], wanted[one.item][one.item.steps_done :]) for one in planned]
    if first_overfull(filled(rooms_without(session, planned, today, last), work)) is None:
        return {}
    rooms = filled(rooms_without(session, pairs, today, last), work)
    # Work that is begun, and what the plan itself had no room for, stays where it is.
    moving = {
        number: ours
        for number, ours in bookings_of(new).items()
        if all(one.item.stage is Stage.AWAITED and not one.item.steps_done for one in ours)
    }
    still = [one for one in new if one.item.booking_id not in moving]
    rooms = filled(
        rooms, ((one.work[one.item.steps_done :], one.places[one.item.steps_done :]) for one in still)
    )
    day = first_overfull(rooms)
    if day is not None:
        raise NotNow(
            Phrase(
                N_("%(day)s has too few minutes for this plan as the ledger reckons. Ask for a new plan."),
                {"day": day},
            )
        )
    newcomers = [_newcomer(number, ours, today) for number, ours in sorted(moving.items())]
    found = put_in(rooms, newcomers)
    if isinstance(found, int):
        raise _changed(
            N_("Booking %(booking)s came in since and has no place beside this plan. Ask for a new plan."),
            moving[found][0].item.booking.reference,
        )
    return {
        one.item: tuple(where)
        for number, ours in moving.items()
        for one, where in zip(ours, found[number], strict=True)
    }


def _newcomer(booking: int, pairs: Sequence[ToGrind], today: date) -> Newcomer:
    ours = pairs[0].item.booking
    hand_in = max(ours.arrives_on, today - timedelta(days=1))
    return Newcomer(booking, tuple(one.work for one in pairs), hand_in, due_of(ours))


def _changed(words: str, name: str) -> NotNow:
    """``name`` is that of a lot, an order or a booking: each begins with the booking's reference."""
    return NotNow(Phrase(words, {"booking": reference_of(name)}))
