"""The forms about the pattern of the days."""

from __future__ import annotations

from datetime import date
from typing import Any, cast

from wtforms import StringField, SubmitField
from wtforms.form import BaseForm

from portal.domain.opening import WEEKDAYS, Hours, Opening, Special, Usual, read_hours, typed
from portal.domain.stone_minutes import NONE
from portal.domain.words import N_, Phrase
from portal.web.forms import NumberField, PortalForm, Problem, at_most, said, trimmed
from portal.web.shop.forms import LONGEST_SPAN_DAYS, DayField, StoneMinutesField, StonesForm

LONGEST_REASON = 120
HORIZON = (1, 730)


class HoursField(StringField):
    """Hours of a day as people type them; ``hours`` holds them once they have been read, empty for a closed day."""

    hours: Hours = ()

    def process_data(self, value: Any) -> None:
        self.hours = value or ()
        self.data = typed(self.hours)

    def pre_validate(self, form: BaseForm) -> None:
        found = read_hours(self.data or "")
        if isinstance(found, Phrase):
            raise Problem(found.text, **found.values)
        self.hours = found


class WeekForm(StonesForm):
    """Hours and stone minutes of each weekday; fields are named by the number of the weekday."""

    def week(self) -> tuple[Usual, ...]:
        """The week as it was typed, once it is right."""
        return tuple(
            Usual(self[f"hours_{number}"].hours, self[f"minutes_{number}"].minutes or NONE)
            for number in range(len(WEEKDAYS))
        )

    @staticmethod
    def filled(opening: Opening) -> dict[str, Any]:
        """What the fields hold to begin with."""
        found: dict[str, Any] = {}
        for number, usual in enumerate(opening.week):
            found[f"hours_{number}"], found[f"minutes_{number}"] = usual.hours, usual.minutes
        return found


def week_form() -> type[WeekForm]:
    """The form with its fourteen fields."""
    fields: dict[str, Any] = {}
    for number, weekday in enumerate(WEEKDAYS):
        label = Phrase(N_("%(weekday)s: hours"), {"weekday": Phrase(weekday)})
        fields[f"hours_{number}"] = HoursField(label, filters=[trimmed])  # type: ignore[arg-type]
        label = Phrase(N_("%(weekday)s: stone minutes"), {"weekday": Phrase(weekday)})
        fields[f"minutes_{number}"] = StoneMinutesField(label, filters=[trimmed])  # type: ignore[arg-type]
    return type("WeekFormOfDays", (WeekForm,), fields)


def _insist_on_order(first: DayField, last: DayField) -> None:
    if first.day is None or last.day is None:
        return
    if last.day < first.day:
        raise Problem(N_("Enter a last day that is not before the first day"))
    if (last.day - first.day).days >= LONGEST_SPAN_DAYS:
        raise Problem(N_("Choose at most %(days)s days at once"), days=LONGEST_SPAN_DAYS)


class SeasonForm(PortalForm):
    """From when to when the pattern holds, and how far ahead people can book."""

    first = DayField(N_("First day of the season"), ask=N_("Enter the first day"))
    last = DayField(N_("Last day of the season"), ask=N_("Enter the last day"))
    horizon = NumberField(
        N_("How far ahead can a day be promised?"),
        [said(N_("Enter a number of days"))],
        least=HORIZON[0],
        most=HORIZON[1],
        unit="days",
        filters=[trimmed],
    )

    def validate_last(self, field: DayField) -> None:
        _insist_on_order(self.first, field)

    @property
    def season(self) -> tuple[date, date]:
        return cast(date, self.first.day), cast(date, self.last.day)


class LastDayField(DayField):
    """A last day that may be left out where it is the first one."""

    def pre_validate(self, form: BaseForm) -> None:
        if (self.data or "").strip():
            super().pre_validate(form)


class SpecialForm(StonesForm):
    """One day or several unlike their weekday; the view sets ``earliest``, the day it is."""

    earliest: date

    reason = StringField(
        N_("Why are these days different?"),
        [said(N_("Write a reason: people read it beside the hours")), at_most(LONGEST_REASON)],
        filters=[trimmed],
    )
    first = DayField(N_("First day"), ask=N_("Enter the first day"))
    last = LastDayField(N_("Last day"), ask="")
    hours = HoursField(N_("Hours on these days"), filters=[trimmed])
    minutes = StoneMinutesField(N_("Stone minutes on these days"), filters=[trimmed])

    def validate_first(self, field: DayField) -> None:
        if field.day is not None and field.day < self.earliest:
            raise Problem(N_("Enter a first day that is not over yet"))

    def validate_last(self, field: DayField) -> None:
        _insist_on_order(self.first, field)

    @property
    def special(self) -> Special:
        """The first of the days."""
        return Special(
            cast(date, self.first.day), self.reason.data or "", self.hours.hours, self.minutes.minutes
        )

    @property
    def last_day(self) -> date:
        return self.last.day or cast(date, self.first.day)


class OneSpecialForm(StonesForm):
    """What is unlike its weekday on one day."""

    reason = StringField(
        N_("Why is this day different?"),
        [said(N_("Write a reason: people read it beside the hours")), at_most(LONGEST_REASON)],
        filters=[trimmed],
    )
    hours = HoursField(N_("Hours on this day"), filters=[trimmed])
    minutes = StoneMinutesField(N_("Stone minutes on this day"), filters=[trimmed])
    remove = SubmitField(N_("Make it a usual day again"))
