"""Invoices of a club: what stands on them, one to pay, and one that was taken back and issued anew."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from sqlalchemy.orm import Session

from demo_seed.bench import moment
from portal.documents import invoice as paper
from portal.documents import ubl
from portal.domain.access import Actor
from portal.domain.bookings import Status
from portal.domain.enclosures import Enclosure
from portal.domain.invoices import Invoice
from portal.queries import bookings as find_bookings
from portal.queries import invoices as find_invoices
from portal.queries import workshop as find_workshop
from portal.services import invoice_content, invoices, invoicing
from portal.services.invoicing import IssuerFacts

ISSUER = IssuerFacts(
    legal_name="Hollowmere Ski Grinding Oy",
    street="Sawmill Lane 3",
    post_code="00042",
    city="Hollowmere",
    country="FI",
    vat_number="FI00000000",
    tax_number="",
    register_number="0000000-0",
    account_holder="",
    # The example of the IBAN registry, and a bank that is invented.
    iban="FI2112345600000785",
    bic="HOLMFIHH",
    pay_days=14,
    no_tax_reason="",
    invoice_remark="After the last day to pay we charge interest as the law has it.",
)


def printed(it: Invoice) -> Sequence[Enclosure]:
    """What goes with the letter."""
    return (
        Enclosure(f"{it.number}.pdf", "application/pdf", paper.render(it, fallback_fonts=())),
        Enclosure(f"{it.number}.xml", "application/xml", ubl.render(it)),
    )


def issue(session: Session, manager: Actor, club_id: int, today: date) -> None:
    """Set the workshop up for invoices and bill a club, before ``today``."""
    yesterday = today - timedelta(days=1)
    invoicing.keep(session, manager, ISSUER, moment(today - timedelta(days=30), 9))
    orders = find_bookings.of_club(session, club_id)
    over = next((one for one in orders if one.status is Status.COMPLETED and one.total), None)
    agreed = next((one for one in orders if one.status is Status.CONFIRMED and one.total), None)
    if over is not None and not over.is_settled_elsewhere:
        _bill(session, manager, over.id, yesterday, 9)
        wrong = find_invoices.of_booking(session, over.id)[-1]
        invoices.credit(
            session,
            manager,
            wrong.id,
            whole=True,
            reason="The name or the address was wrong.",
            key=f"demo-credit-{wrong.id}",
            now=moment(yesterday, 10),
            printed=printed,
        )
        _bill(session, manager, over.id, yesterday, 11)
    if agreed is not None:
        _bill(session, manager, agreed.id, yesterday, 12)


def _bill(session: Session, manager: Actor, booking_id: int, day: date, hour: int) -> None:
    booking = find_bookings.whole(session, booking_id)
    invoices.issue(
        session,
        manager,
        booking_id,
        invoice_content.buyer_of(booking, find_workshop.the(session)),
        key=f"demo-{booking_id}-{hour}",
        now=moment(day, hour),
        printed=printed,
    )
