"""The form that narrows the list of who did what."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from wtforms import SelectField, StringField
from wtforms.form import BaseForm

from portal.domain.audit import Act
from portal.domain.bookings import Event
from portal.domain.words import N_
from portal.queries.audit import Filter
from portal.web.forms import PortalForm, Problem, at_most, trimmed
from portal.web.request import row_number
from portal.web.shop.forms import DayField, choice

LONGEST_WORDS = 100
WORDS_BACK = timedelta(days=366)
# Told apart in the address of the page, since an act and an event may have the same name.
KINDS: dict[str, Act | Event] = {
    **{f"act-{act.value}": act for act in Act},
    **{f"event-{event.value}": event for event in Event},
}


class PerhapsDay(DayField):
    """A day that may be left out."""

    def __init__(self, label: str, **kw: Any) -> None:
        super().__init__(label, ask="", **kw)

    def process_formdata(self, valuelist: list[Any]) -> None:
        super().process_formdata(valuelist or [""])

    def pre_validate(self, form: BaseForm) -> None:
        if (self.data or "").strip():
            super().pre_validate(form)


class AuditForm(PortalForm):
    """Its choices of people are set by the view."""

    person = SelectField(N_("Who"), choices=[], validate_choice=False)
    kind = SelectField(N_("What"), choices=[], validate_choice=False)
    first = PerhapsDay(N_("From day"))
    last = PerhapsDay(N_("To day"))
    words = StringField(
        N_("Words in it"),
        [at_most(LONGEST_WORDS)],
        description=N_("Of the last year, unless you name a first day"),
        filters=[trimmed],
    )

    def offer(self, people: list[tuple[int, str]]) -> None:
        """Fill in what can be chosen."""
        self.person.choices = [choice("", N_("Anybody")), *(choice(number, name) for number, name in people)]
        groups = {Act: N_("The workshop"), Event: N_("Bookings")}
        self.kind.choices = [choice("", N_("Anything"))] + [
            choice(key, kind.label, groups[type(kind)]) for key, kind in KINDS.items()
        ]

    def validate_last(self, field: PerhapsDay) -> None:
        if field.day is not None and self.first.day is not None and field.day < self.first.day:
            raise Problem(N_("Enter a last day that is not before the first"))

    def wanted(self, zone: ZoneInfo, today: date) -> Filter:
        """What is looked for, with days by the workshop's clock."""
        first, last = self.first.day, self.last.day
        if self.words.data and first is None:
            # No index finds words: without an end, a word that is nowhere would be looked for in everything.
            first = today - WORDS_BACK
        return Filter(
            row_number(self.person.data),
            KINDS.get(self.kind.data or ""),
            datetime.combine(first, time(), zone) if first else None,
            datetime.combine(last + timedelta(days=1), time(), zone) if last else None,
            self.words.data or "",
        )
