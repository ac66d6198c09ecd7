"""What is asked of a parcel, of whoever sends it."""

from __future__ import annotations

from datetime import date
from typing import Any

from wtforms import StringField

from portal.domain.words import N_
from portal.services.parcels import ParcelFacts
from portal.web.forms import PortalForm, Problem, at_most, trimmed

TEXT_LENGTH = 80


class SentOnField(StringField):
    """A day as the browser's date box sends it."""

    day: date | None = None

    def process_data(self, value: Any) -> None:
        self.day = value
        self.data = "" if value is None else value.isoformat()

    def pre_validate(self, form: Any) -> None:
        try:
            self.day = date.fromisoformat((self.data or "").strip())
        except ValueError:
            raise Problem(N_("Write the day as year, month and day, such as 2026-12-07")) from None


class ParcelForm(PortalForm):
    """A parcel; the view sets ``latest``, the day it is."""

    latest: date

    sent_on = SentOnField(N_("On which day was it sent?"))
    carrier = StringField(N_("With whom?"), [at_most(TEXT_LENGTH)], filters=[trimmed])
    number = StringField(N_("Number of the parcel"), [at_most(TEXT_LENGTH)], filters=[trimmed])

    def validate_sent_on(self, field: SentOnField) -> None:
        if field.day is not None and field.day > self.latest:
            raise Problem(N_("Enter a day that is not still to come"))

    @classmethod
    def asked(cls, today: date) -> ParcelForm:
        """The form as it was sent, or with today filled in."""
        form = cls.posted(sent_on=today)
        form.latest = today
        return form

    @property
    def facts(self) -> ParcelFacts:
        """The same as values, once the form is right."""
        assert self.sent_on.day is not None  # noqa: S101 - for the type checker: the form is right
        return ParcelFacts(self.carrier.data or "", self.number.data or "", self.sent_on.day)
