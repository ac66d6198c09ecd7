"""The letter that brings an invoice or a credit note, with the paper and the XML in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from portal.db.bookings import Booking
from portal.db.workshop import Workshop
from portal.domain.enclosures import Enclosure
from portal.domain.invoices import Invoice, InvoiceKind
from portal.domain.words import N_
from portal.i18n import voice
from portal.mail.messages import Recipient, page_of, render
from portal.mail.outbox import Letter


def invoice(
    it: Invoice,
    booking: Booking,
    workshop: Workshop,
    recipient: Recipient,
    enclosed: Sequence[Enclosure],
) -> Letter:
    """What was issued, to whoever pays it."""
    speaker = replace(voice(recipient.language, workshop.timezone), own=recipient.own)
    is_credit = it.kind is InvoiceKind.CREDIT_NOTE
    subject = (
        N_("Credit note %(number)s for %(reference)s")
        if is_credit
        else N_("Invoice %(number)s for %(reference)s")
    )
    body = render(
        "invoice.txt",
        speaker,
        it=it,
        is_credit=is_credit,
        workshop=workshop,
        recipient=recipient,
        has_files=bool(enclosed),
        page=page_of(booking, to_workshop=False),
    )
    said = speaker.say(subject, number=it.number, reference=booking.reference)
    return Letter(recipient.email, said, body, booking.id, enclosed=tuple(enclosed))
