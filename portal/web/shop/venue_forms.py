"""The forms about venues."""

from __future__ import annotations

from flask import request
from wtforms import FileField, StringField

from portal.domain.hourly import cleaned_place
from portal.domain.words import N_
from portal.services.venues import NAME_LENGTH
from portal.web.forms import PortalForm, at_most, said, trimmed


class VenueNameForm(PortalForm):
    """What a venue is called."""

    name = StringField(
        N_("Name of the venue"),
        [said(N_("Enter the name that skiers know the venue by")), at_most(NAME_LENGTH)],
        filters=[trimmed],
    )


class LoadVenueForm(VenueNameForm):
    """A name and a file of hourly weather."""

    file = FileField(N_("File of hourly weather"))

    def uploaded(self) -> tuple[str, bytes] | None:
        """The name and the content of the file that was sent along; nothing when none was chosen."""
        sent = request.files.get("file")
        if sent is None or not sent.filename:
            return None
        return cleaned_place(sent.filename), sent.read()
