"""The letter that brings a note about a booking to the other side: the words, and where to answer."""

from __future__ import annotations

from portal.db.bookings import Booking
from portal.db.workshop import Workshop
from portal.domain.words import N_
from portal.i18n import voice
from portal.mail.messages import Recipient, page_of, render
from portal.mail.outbox import Letter


def note(
    booking: Booking, workshop: Workshop, recipient: Recipient, by: str, words: str, from_workshop: bool
) -> Letter:
    """What was written by ``by``, to the orderer ``from_workshop`` or the other way round."""
    speaker = voice(recipient.language, workshop.timezone)
    subject = (
        N_("A note from the workshop about %(reference)s")
        if from_workshop
        else N_("New note about %(reference)s from %(who)s")
    )
    body = render(
        "note_to_orderer.txt" if from_workshop else "note_to_workshop.txt",
        speaker,
        booking=booking,
        workshop=workshop,
        recipient=recipient,
        by=by,
        words=words,
        page=page_of(booking, to_workshop=not from_workshop) + "#notes",
    )
    return Letter(
        recipient.email, speaker.say(subject, reference=booking.reference, who=by), body, booking.id
    )
