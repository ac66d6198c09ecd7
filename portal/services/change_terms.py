"""What a change of a booking costs whoever ordered it, and until when there is one."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from sqlalchemy.orm import Session

from portal.db.bookings import Booking
from portal.db.workshop import Workshop
from portal.domain.access import Action, Actor, may
from portal.domain.audit import Act
from portal.domain.bookings import Status
from portal.domain.change_rules import Change, ChangeRules, Terms, terms
from portal.domain.errors import NotAllowed, NotNow
from portal.domain.words import N_, Phrase
from portal.queries import workshop as find_workshop
from portal.services import audit


def rules_of(workshop: Workshop) -> ChangeRules:
    """The workshop's rules as a value."""
    return ChangeRules(
        workshop.free_days,
        workshop.last_days,
        workshop.move_fee,
        workshop.take_out_fee,
        workshop.cancel_fee,
    )


def terms_of(workshop: Workshop, booking: Booking, today: date) -> Terms:
    """How this booking can be changed today; what nobody has agreed to yet is always free to change."""
    rules = rules_of(workshop) if booking.status is Status.CONFIRMED else ChangeRules()
    return terms(rules, booking.hand_in_on, today)


def insist_on_terms(
    actor: Actor, workshop: Workshop, booking: Booking, change: Change, fee: Decimal, today: date
) -> Decimal:
    """The fee to charge. ``NotNow`` when it is too late, or when more is due than the ``fee`` that was agreed to.

    The workshop names the fee itself.
    """
    if not may(actor, Action.CHANGE_BOOKING, booking):
        return fee
    on = terms_of(workshop, booking, today)
    if not on.is_open:
        raise NotNow(
            Phrase(
                N_(
                    "This booking could be changed until %(day)s. Write or call the workshop to change it now."
                ),
                {"day": on.last},
            )
        )
    due = on.due(change)
    if fee < due:
        raise NotNow(
            Phrase(
                N_("By now this change costs %(fee)s %(currency)s. Look at it again before you agree."),
                {"fee": due, "currency": booking.currency},
            )
        )
    return due


def keep_rules(session: Session, actor: Actor, rules: ChangeRules, hold_hours: int, now: datetime) -> None:
    """Set the workshop's rules, for every booking from now on; 0 hours hold time for as long as it takes."""
    if not actor.is_manager:
        raise NotAllowed
    workshop = find_workshop.the(session)
    for name, value in vars(rules).items():
        setattr(workshop, name, value)
    workshop.hold_hours = hold_hours
    audit.note(session, actor, Act.RULES_SET, now, words=_in_words(rules, hold_hours))


def _in_words(rules: ChangeRules, hold_hours: int) -> Phrase:
    said = {name: "–" if value is None else value for name, value in vars(rules).items()}
    text = N_(
        "Time is held for %(hold_hours)s hours; changes are free until %(free_days)s days before hand-in and can be made "
        "until %(last_days)s days before it; fees: %(move_fee)s for another day, %(take_out_fee)s for a pair, "
        "%(cancel_fee)s for cancelling"
    )
    return Phrase(text, {**said, "hold_hours": hold_hours})
