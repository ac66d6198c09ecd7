"""What stands on an invoice of a booking as it is now, and what is missing before there can be one."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from decimal import Decimal

from portal.db.bookings import Booking
from portal.db.workshop import Workshop
from portal.domain import invoices
from portal.domain.bookings import Status
from portal.domain.epc_qr import tidy
from portal.domain.invoices import Account, Invoice, InvoiceKind, Party
from portal.domain.prices import ZERO, Bill
from portal.domain.words import N_, Phrase
from portal.i18n import voice
from portal.services.holds import day_at

# Until a number is given: what a page shows of an invoice that is not issued yet.
NO_NUMBER = "–"
NOT_TAXED = N_("Not subject to value-added tax")
# A number for value-added tax begins with the letters of its country (BR-CO-09).
VAT_NUMBER = re.compile(r"[A-Z]{2}[0-9A-Z+*]{2,13}", re.ASCII)
AGREED = (Status.CONFIRMED, Status.COMPLETED, Status.CANCELLED)


@dataclass(frozen=True)
class Buyer:
    """Who an invoice is to; ``address`` are lines, ``country`` two letters of ISO 3166-1."""

    name: str
    address: str = ""
    country: str = ""
    tax_number: str = ""
    reference: str = ""


def buyer_of(booking: Booking, workshop: Workshop) -> Buyer:
    """As far as it is known: what a club says of its bills, or the person by name."""
    club = booking.club
    if club is None:
        return Buyer(booking.person.name, country=workshop.country)
    return Buyer(
        club.invoice_name or club.name,
        club.invoice_address or club.address,
        club.country or workshop.country,
        club.tax_number,
        club.buyer_reference,
    )


def why_not(booking: Booking, workshop: Workshop, bill: Bill) -> Phrase | None:
    """What has to be done first, for as long as there can be no invoice."""
    if booking.status not in AGREED:
        return Phrase(N_("There is an invoice only for what is agreed. Confirm the booking first."))
    if booking.club is None and booking.person.is_erased:
        return Phrase(N_("Whoever ordered this has erased their account, and there is nobody to invoice."))
    if booking.is_settled_elsewhere:
        return Phrase(
            N_("This booking was over before payments were kept here, so nobody can say what is paid.")
        )
    if bill.total <= ZERO:
        return Phrase(N_("This booking costs nothing, so there is nothing to invoice."))
    if invoices.is_mixed(bill):
        return Phrase(
            N_(
                "Some lines of this bill state a tax rate and some none, which no invoice can say. Set a rate for everything under Tax rates (0 % where there is no tax); bookings made after that can be invoiced."
            )
        )
    return _missing(workshop, states_tax=bill.lines[0].rate is not None)


def _missing(workshop: Workshop, *, states_tax: bool) -> Phrase | None:
    numbers = (workshop.tax_number, workshop.vat_number if states_tax else workshop.register_number)
    wanted = {
        N_("Name of who issues invoices"): workshop.legal_name,
        N_("Street"): workshop.street,
        N_("Town"): workshop.city,
        N_("Country"): workshop.country,
        N_("VAT number or tax number") if states_tax else N_("Tax number or register number"): any(numbers),
    }
    missing = next((name for name, there in wanted.items() if not there), None)
    if missing is None:
        return None
    return Phrase(
        N_("“%(field)s” is missing. Enter it on the page “What stands on invoices”."),
        {"field": Phrase(missing)},
    )


def seller_of(workshop: Workshop, *, states_tax: bool) -> Party:
    """The workshop; without tax it names no number for value-added tax (BR-O-02)."""
    return Party(
        workshop.legal_name,
        tuple(workshop.street.splitlines()),
        workshop.post_code,
        workshop.city,
        workshop.country,
        tidy(workshop.vat_number) if states_tax else "",
        workshop.tax_number,
        workshop.register_number,
        workshop.phone,
        workshop.email,
    )


def _party_of(buyer: Buyer, *, states_tax: bool) -> Party:
    number = tidy(buyer.tax_number)
    is_vat = states_tax and VAT_NUMBER.fullmatch(number) is not None
    return Party(
        buyer.name,
        tuple(line.strip() for line in buyer.address.splitlines() if line.strip()),
        country=buyer.country,
        vat_number=number if is_vat else "",
        tax_number="" if is_vat else buyer.tax_number,
    )


def _supplied_on(booking: Booking, workshop: Workshop) -> date | None:
    """The day on which the last pair went back, once the booking is through."""
    moments = [item.handed_back_at for item in booking.items if item.handed_back_at is not None]
    is_through = booking.status is Status.COMPLETED and moments
    return day_at(workshop, max(moments)) if is_through else None


def invoice(
    booking: Booking, workshop: Workshop, bill: Bill, buyer: Buyer, paid: Decimal, now: datetime
) -> Invoice:
    """The invoice as it would be issued now, still without its number."""
    states_tax = bill.lines[0].rate is not None
    speaker = voice(booking.person.language)
    say = speaker.say
    day = day_at(workshop, now)
    due = day + timedelta(days=workshop.pay_days)
    is_open = bill.total > paid
    account = Account(workshop.account_holder or workshop.legal_name, workshop.iban, workshop.bic)
    reason = workshop.no_tax_reason or ("" if states_tax else say(NOT_TAXED))
    return Invoice(
        kind=InvoiceKind.INVOICE,
        number=NO_NUMBER,
        issued_on=day,
        due_on=due if is_open else None,
        currency=booking.currency,
        language=speaker.language,
        booking=booking.reference,
        buyer_reference=buyer.reference,
        seller=seller_of(workshop, states_tax=states_tax),
        trading_as=workshop.name,
        buyer=_party_of(buyer, states_tax=states_tax),
        account=account if workshop.iban and is_open else None,
        remittance="",
        terms=say(N_("Please pay by %(day)s."), day=speaker.date(due)) if is_open else "",
        supplied_on=_supplied_on(booking, workshop),
        amounts=invoices.amounts(bill, say, reason),
        prepaid=paid,
        remark=workshop.invoice_remark,
    )


def numbered(it: Invoice, number: str) -> Invoice:
    """The same with its number, which is also what the payer writes beside the payment."""
    return replace(it, number=number, remittance=number if it.account else "")


def credit_note(
    of: Invoice, workshop: Workshop, bill: Bill | None, prepaid: Decimal, reason: str, now: datetime
) -> Invoice:
    """What takes back an invoice, or the part of it that a bill says, still without its number.

    Seller, buyer and words are those of the invoice.
    """
    speaker = voice(of.language)
    no_tax = next((part.reason for part in of.amounts.taxes if part.reason), "")
    return replace(
        of,
        kind=InvoiceKind.CREDIT_NOTE,
        number=NO_NUMBER,
        issued_on=day_at(workshop, now),
        due_on=None,
        account=None,
        remittance="",
        terms=speaker.say(N_("This amount is taken off what is to pay, or given back.")),
        amounts=of.amounts if bill is None else invoices.amounts(bill, speaker.say, no_tax),
        prepaid=prepaid,
        corrects=of.number,
        corrects_of=of.issued_on,
        reason=reason,
    )
