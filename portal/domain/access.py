"""Who may do what: roles, actions and the one table of rules."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from portal.domain.errors import NotAllowed
from portal.domain.words import N_


class StaffRole(StrEnum):
    """What a person does at the workshop."""

    TECHNICIAN = "technician"
    MANAGER = "manager"

    @property
    def label(self) -> str:
        return {StaffRole.TECHNICIAN: N_("Bench technician"), StaffRole.MANAGER: N_("Shop manager")}[self]


@dataclass(frozen=True)
class Actor:
    """The person who asks, as far as the rules care."""

    person_id: int
    name: str
    email: str
    language: str = "en"
    staff_role: StaffRole | None = None
    # The clubs this person manages: id -> name.
    clubs: Mapping[int, str] = field(default_factory=dict)

    @property
    def is_staff(self) -> bool:
        return self.staff_role is not None

    @property
    def is_manager(self) -> bool:
        return self.staff_role is StaffRole.MANAGER


class Action(StrEnum):
    """What can be done to a thing."""

    SEE_PAIR = "see_pair"
    EDIT_PAIR = "edit_pair"
    BOOK_PAIR = "book_pair"
    SEE_BOOKING = "see_booking"
    CHANGE_BOOKING = "change_booking"
    DECIDE_BOOKING = "decide_booking"
    TAKE_BOOKING = "take_booking"
    WRITE_NOTE = "write_note"
    SEE_PEOPLE = "see_people"
    WORK_ON_PAIR = "work_on_pair"
    DECIDE_REWORK = "decide_rework"
    FREEZE_PAIR = "freeze_pair"
    SETTLE_PAIR = "settle_pair"
    MANAGE_CLUB = "manage_club"
    FOUND_CLUB = "found_club"
    SEE_CATALOGUE = "see_catalogue"
    EDIT_CATALOGUE = "edit_catalogue"
    MANAGE_VENUE = "manage_venue"
    PLAN_STONE = "plan_stone"
    ACCEPT_PLAN = "accept_plan"
    TAKE_PAYMENT = "take_payment"
    GIVE_BACK = "give_back"
    SET_PRICES = "set_prices"
    MANAGE_PLACE = "manage_place"
    LOAD_LIST = "load_list"
    ISSUE_INVOICE = "issue_invoice"
    JUDGE_NOTE = "judge_note"


Rule = Callable[[Actor, Any], bool]


def owns_pair(actor: Actor, pair: Any) -> bool:
    return pair.owner_id is not None and bool(pair.owner_id == actor.person_id)


def manages_club_of(actor: Actor, thing: Any) -> bool:
    return thing.club_id is not None and thing.club_id in actor.clubs


def ordered_for_self(actor: Actor, booking: Any) -> bool:
    return booking.club_id is None and bool(booking.person_id == actor.person_id)


def manages_club(actor: Actor, club: Any) -> bool:
    return club.id in actor.clubs


def works_here(actor: Actor, _thing: Any) -> bool:
    return actor.is_staff


def runs_the_shop(actor: Actor, _thing: Any) -> bool:
    return actor.is_manager


# Any one rule of the row is enough.
RULES: dict[Action, tuple[Rule, ...]] = {
    Action.SEE_PAIR: (owns_pair, manages_club_of, works_here),
    Action.EDIT_PAIR: (owns_pair, manages_club_of),
    Action.BOOK_PAIR: (owns_pair, manages_club_of),
    Action.SEE_BOOKING: (ordered_for_self, manages_club_of, works_here),
    Action.CHANGE_BOOKING: (ordered_for_self, manages_club_of),
    Action.DECIDE_BOOKING: (runs_the_shop,),
    # Whoever stands at the counter or answers the telephone orders for a person, with that person's pair to look at.
    Action.TAKE_BOOKING: (works_here,),
    Action.WRITE_NOTE: (ordered_for_self, manages_club_of, works_here),
    Action.SEE_PEOPLE: (works_here,),
    Action.WORK_ON_PAIR: (works_here,),
    # Whoever stands at the bench sees what is wrong with a grind, and a rework costs its owner nothing.
    Action.DECIDE_REWORK: (works_here,),
    # Whoever hears of a dispute stops what could make it worse; whose the pair is, the manager says.
    Action.FREEZE_PAIR: (works_here,),
    Action.SETTLE_PAIR: (runs_the_shop,),
    Action.MANAGE_CLUB: (manages_club,),
    Action.FOUND_CLUB: (runs_the_shop,),
    # Structures, families and diamonds are the workshop's own, so these two have no thing to look at.
    Action.SEE_CATALOGUE: (works_here,),
    Action.EDIT_CATALOGUE: (runs_the_shop,),
    Action.MANAGE_VENUE: (runs_the_shop,),
    # The stone is the workshop's own too. Whoever stands at it may take a plan: no promise to a skier changes by it.
    Action.PLAN_STONE: (works_here,),
    Action.ACCEPT_PLAN: (works_here,),
    # Whoever stands at the counter takes money; giving it back is for who answers for the till.
    Action.TAKE_PAYMENT: (works_here,),
    Action.GIVE_BACK: (runs_the_shop,),
    Action.SET_PRICES: (runs_the_shop,),
    Action.MANAGE_PLACE: (runs_the_shop,),
    Action.LOAD_LIST: (runs_the_shop,),
    Action.ISSUE_INVOICE: (runs_the_shop,),
    # Whoever grinds a structure knows what cannot have been; it is kept who set a note aside.
    Action.JUDGE_NOTE: (works_here,),
}


def may(actor: Actor, action: Action, thing: Any) -> bool:
    """Whether a rule of the table lets ``actor`` do this to ``thing``."""
    return any(rule(actor, thing) for rule in RULES[action])


def insist(actor: Actor, action: Action, thing: Any) -> None:
    """Pass, or ``NotAllowed``. What they may not even see must have been ``NotFound`` before."""
    if not may(actor, action, thing):
        raise NotAllowed
