"""The notes of a booking and the form for the next one: the same for skiers, clubs and the workshop."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template
from werkzeug.wrappers import Response
from wtforms import TextAreaField

from portal.domain.errors import NotNow
from portal.domain.words import N_
from portal.queries import booking_notes as find_notes
from portal.services import booking_notes
from portal.web.errors import page
from portal.web.forms import PortalForm, at_most, said, trimmed
from portal.web.language import say
from portal.web.request import actor, db, now, transaction

NOTE_LENGTH = 2000


class NoteForm(PortalForm):
    """What one side writes to the other."""

    words = TextAreaField(
        N_("Your note"), [said(N_("Write what you want to say")), at_most(NOTE_LENGTH)], filters=[trimmed]
    )


def thread(booking_id: int, action: str, fresh: frozenset[int] = frozenset()) -> dict[str, Any]:
    """What ``booking/_notes.html`` needs; ``fresh`` are the notes to mark as new."""
    return {
        "notes": find_notes.of_booking(db(), booking_id),
        "form": NoteForm(),
        "action": action,
        "fresh": fresh,
    }


def note_page(booking: Any, back_url: str, *, from_workshop: bool = False) -> str | Response:
    """Takes a note about a booking the reader may see; what cannot be sent comes back to be changed."""
    form = NoteForm.posted()
    if not form.is_sent_and_right():
        return render_template("booking/note.html", form=form, booking=booking, back_url=back_url)
    try:
        with transaction() as session:
            booking_notes.write(session, actor(), booking.id, form["words"].data, now())
    except NotNow as refusal:
        return page(
            409, "409", reason=refusal.reason, on_url=back_url, on_label=N_("See how the booking stands")
        )
    if from_workshop and booking.club_id is None and not booking.person.email:
        flash(say(N_("The note stands with the booking. Nobody is written to, since no address is known.")))
    else:
        flash(say(N_("The note is sent: it stands here and goes out as a letter.")))
    return redirect(f"{back_url}#notes", 303)
