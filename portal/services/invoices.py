"""Invoices of bookings: issued once, never changed, and answered by credit notes. Numbers leave no gap in their year."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from sqlalchemy.orm import Session

from portal.db.bookings import Booking
from portal.db.invoices import IssuedInvoice
from portal.domain.access import Action, Actor, insist
from portal.domain.audit import Act
from portal.domain.enclosures import Enclosure
from portal.domain.errors import NotNow
from portal.domain.frozen import from_json, to_json
from portal.domain.invoice_rules import problems_of
from portal.domain.invoices import Invoice, InvoiceKind, changed, invoice_number, is_mixed
from portal.domain.prices import ZERO, Bill
from portal.domain.words import N_, Phrase
from portal.mail import invoice_letters, outbox
from portal.mail.messages import Recipient
from portal.queries import bookings as find_bookings
from portal.queries import invoices as find_invoices
from portal.queries import own_texts as find_own_texts
from portal.queries import payments as find_payments
from portal.queries import workshop as find_workshop
from portal.services import audit, billing, invoice_content, notices
from portal.services.invoice_content import Buyer
from portal.services.keyed_forms import opened

# Makes the files that go with the letter; given by whoever can set papers.
Printer = Callable[[Invoice], Sequence[Enclosure]]


@dataclass(frozen=True)
class Standing:
    """The invoice of a booking that is in force, and what of its bill no credit note has taken back."""

    invoice: IssuedInvoice
    left: Bill


def content_of(issued: IssuedInvoice) -> Invoice:
    """All that the paper says."""
    return from_json(Invoice, issued.content)


def standing(issued: Sequence[IssuedInvoice]) -> Standing | None:
    """Which of the invoices of a booking is in force, in the order in which they were issued; none once all is taken back."""
    made = [one for one in issued if one.kind is InvoiceKind.INVOICE]
    if not made:
        return None
    left = billing.from_json(made[-1].lines)
    for one in issued:
        if one.corrects_id == made[-1].id:
            left = changed(left, billing.from_json(one.lines))
    return Standing(made[-1], left) if left.total else None


def draft(
    session: Session, actor: Actor, booking_id: int, buyer: Buyer | None, now: datetime
) -> tuple[Invoice, Buyer]:
    """The invoice as it would be issued now, and to whom. ``NotNow`` says what has to be done first."""
    booking = find_bookings.one(session, actor, booking_id)
    insist(actor, Action.ISSUE_INVOICE, booking)
    return _drafted(session, booking, buyer, now)


def _drafted(session: Session, booking: Booking, buyer: Buyer | None, now: datetime) -> tuple[Invoice, Buyer]:
    workshop, bill = find_workshop.the(session), billing.bill_of(booking)
    there = standing(find_invoices.of_booking(session, booking.id))
    if there is not None:
        raise NotNow(
            Phrase(
                N_("There is an invoice for this booking already: %(number)s. Take it back first."),
                {"number": there.invoice.called},
            )
        )
    reason = invoice_content.why_not(booking, workshop, bill)
    if reason is not None:
        raise NotNow(reason)
    buyer = buyer or invoice_content.buyer_of(booking, workshop)
    if not buyer.name or not buyer.country:
        raise NotNow(N_("Enter a name and a country for whoever pays the invoice."))
    paid = find_payments.paid(session, booking.id)
    return invoice_content.invoice(booking, workshop, bill, buyer, paid, now), buyer


def issue(
    session: Session,
    actor: Actor,
    booking_id: int,
    buyer: Buyer,
    *,
    key: str,
    now: datetime,
    printed: Printer,
    payable: Decimal | None = None,
) -> IssuedInvoice:
    """Issue the invoice of a booking and mail it to whoever pays. A form that comes twice, by its ``key``, is issued once.

    ``payable`` is what the page said is to pay: ``NotNow`` when that is no longer so.
    """
    booking, there = opened(
        session, actor, Action.ISSUE_INVOICE, booking_id, lambda: find_invoices.by_key(session, key)
    )
    if there is not None:
        return there
    made, _buyer = _drafted(session, booking, buyer, now)
    if payable is not None and payable != made.payable:
        raise NotNow(N_("Something changed since you looked. Look at the invoice again before you issue it."))
    lines = billing.as_json(billing.bill_of(booking))
    return _keep(session, actor, booking, made, lines, key, now, printed)


def credit_draft(
    session: Session, actor: Actor, invoice_id: int, *, whole: bool, reason: str, now: datetime
) -> Invoice:
    """What would take an invoice back, ``whole`` or down to what the booking costs now. ``NotNow`` where nothing is left to take."""
    issued = find_invoices.one(session, actor, invoice_id)
    insist(actor, Action.ISSUE_INVOICE, issued.booking)
    booking = find_bookings.one(session, actor, issued.booking_id)
    return _credited(session, booking, issued, whole, reason, now)[0]


def _credited(
    session: Session, booking: Booking, issued: IssuedInvoice, whole: bool, reason: str, now: datetime
) -> tuple[Invoice, Bill]:
    before = find_invoices.of_booking(session, booking.id)
    there = standing(before)
    if there is None or there.invoice.id != issued.id:
        raise NotNow(N_("Nothing of this invoice is left to take back."))
    off = there.left if whole else changed(there.left, billing.bill_of(booking))
    if off.total <= ZERO:
        raise NotNow(
            N_(
                "The booking costs no less than the invoice says. Take the whole invoice back and issue a new one."
            )
        )
    if is_mixed(off):
        raise NotNow(
            N_("Only one of the two states a tax rate. Take the whole invoice back and issue a new one.")
        )
    of = content_of(issued)
    untouched = whole and not any(one.corrects_id == issued.id for one in before)
    made = invoice_content.credit_note(
        of,
        find_workshop.the(session),
        None if untouched else off,
        of.prepaid if whole else ZERO,
        reason,
        now,
    )
    return made, off


def credit(
    session: Session,
    actor: Actor,
    invoice_id: int,
    *,
    whole: bool,
    reason: str,
    key: str,
    now: datetime,
    printed: Printer,
) -> IssuedInvoice:
    """Take an invoice back, ``whole`` or down to what the booking costs now, and mail the credit note."""
    issued = find_invoices.one(session, actor, invoice_id)
    booking, there = opened(
        session, actor, Action.ISSUE_INVOICE, issued.booking_id, lambda: find_invoices.by_key(session, key)
    )
    if there is not None:
        return there
    made, off = _credited(session, booking, issued, whole, reason, now)
    lines = billing.as_json(off)
    return _keep(session, actor, booking, made, lines, key, now, printed, corrects=issued)


def _keep(
    session: Session,
    actor: Actor,
    booking: Booking,
    made: Invoice,
    lines: list[dict[str, object]],
    key: str,
    now: datetime,
    printed: Printer,
    corrects: IssuedInvoice | None = None,
) -> IssuedInvoice:
    year = made.issued_on.year
    number = find_invoices.last_number(session, year) + 1
    made = invoice_content.numbered(made, invoice_number(made.kind, year, number))
    broken = problems_of(made)
    if broken:
        raise RuntimeError(f"this invoice would break {', '.join(broken)}")
    issued = IssuedInvoice(
        booking_id=booking.id,
        kind=made.kind,
        year=year,
        number=number,
        issued_at=now,
        person_id=actor.person_id,
        name=actor.name,
        corrects_id=corrects.id if corrects else None,
        reason=made.reason,
        total=made.billed,
        lines=lines,
        content=to_json(made),
        key=key,
    )
    session.add(issued)
    act = Act.INVOICE_ISSUED if corrects is None else Act.CREDIT_NOTE_ISSUED
    about = f"{made.number}, {booking.reference}"
    audit.note(session, actor, act, now, about, f"{made.billed:.2f} {made.currency}\n{made.reason}".strip())
    _tell(session, booking, made, printed(made), now)
    session.flush()  # Whoever issued it is shown it by number.
    return issued


def _tell(
    session: Session, booking: Booking, made: Invoice, enclosed: Sequence[Enclosure], now: datetime
) -> None:
    """To the club's address for bills, or to whoever ordered."""
    club = booking.club
    if club is not None and club.invoice_email:
        recipients = [Recipient(club.invoice_email, made.buyer.name, made.language)]
    else:
        people = notices.orderers(session, booking)
        recipients = notices.recipients(people, find_own_texts.current(session))
    workshop = find_workshop.the(session)
    for recipient in recipients:
        outbox.put(session, invoice_letters.invoice(made, booking, workshop, recipient, enclosed), now)
