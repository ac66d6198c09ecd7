"""The forms about one day on snow: which pair to take today, and in which snow pairs were compared."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any, Self

from flask import request, session
from wtforms import RadioField, SelectField, StringField
from wtforms.form import BaseForm

from portal.domain.answers import Humidity
from portal.domain.conditions import Conditions, Moisture
from portal.domain.questions import temperature
from portal.domain.snow import SnowKind
from portal.domain.words import N_, Phrase
from portal.web.forms import PortalForm, Problem
from portal.web.pair_form import labelled, offered, option

UNSURE = "unsure"


SNOW_OF_DAY = "snow_of_day"


def keep_snow(day: date, answers: Mapping[str, str]) -> None:
    """Remember in this browser what was answered of the snow of a day."""
    session[SNOW_OF_DAY] = {**answers, "day": day.isoformat()}


def kept_snow(day: date) -> dict[str, str]:
    """What was answered of the snow of this day in this browser; empty where nothing was."""
    kept = session.get(SNOW_OF_DAY) or {}
    return (
        {name: value for name, value in kept.items() if name != "day"}
        if kept.get("day") == day.isoformat()
        else {}
    )


class AirField(StringField):
    """An air temperature in °C as people write it."""

    degrees: float | None = None

    def process_data(self, value: Any) -> None:
        self.degrees = value
        self.data = "" if value is None else f"{value:g}"

    def pre_validate(self, form: BaseForm) -> None:
        text = (self.data or "").strip()
        found = temperature(text) if text else Phrase(N_("Enter the air temperature, for example -6"))
        if isinstance(found, Phrase):
            raise Problem(found.text, **found.values)
        self.degrees = found


class PastDayField(StringField):
    """A day up to ``today``, which whoever opens the form sets."""

    day: date | None = None
    today: date | None = None

    def pre_validate(self, form: BaseForm) -> None:
        try:
            found = date.fromisoformat((self.data or "").strip())
        except ValueError:
            raise Problem(N_("Enter the day as year-month-day, for example 2026-12-05")) from None
        if self.today is not None and found > self.today:
            raise Problem(N_("Enter a day that is not still to come"))
        self.day = found


class ExactAirField(AirField):
    """The same, for whoever knows it better than the steps that are offered."""

    def pre_validate(self, form: BaseForm) -> None:
        self.degrees = None
        if (self.data or "").strip():
            super().pre_validate(form)


class SnowForm(PortalForm):
    """The snow of one day."""

    air = AirField(N_("Air temperature"), description=N_("In °C, for example -6"))
    kind = RadioField(
        N_("Which snow lies in the track?"),
        [offered(N_("Choose the kind of snow"))],
        choices=labelled(SnowKind),
        validate_choice=False,
    )
    humidity = RadioField(
        N_("How humid is the air?"),
        [offered(N_("Choose an answer, or “I am not sure”"))],
        choices=labelled(Humidity),
        validate_choice=False,
        default=Humidity.UNSURE.value,
    )


class TodayForm(SnowForm):
    """The snow of today; the track may be left to the air, the humidity and the snow."""

    moisture = RadioField(
        N_("How wet is the track?"),
        [offered(N_("Choose an answer, or “I am not sure”"))],
        choices=[*labelled(Moisture), option(UNSURE, N_("I am not sure"))],
        validate_choice=False,
        default=UNSURE,
    )

    @classmethod
    def asked(cls) -> Self:
        """The form as it stands in the address; nothing is changed by it."""
        return cls(formdata=request.args) if request.args else cls()

    def is_asked_and_right(self) -> bool:
        """Whether the address holds answers and every one can be used."""
        return bool(request.args) and self.validate()

    @property
    def felt(self) -> Moisture | None:
        """How wet the track is, where the skier knows."""
        given = self["moisture"].data
        return None if given == UNSURE else Moisture(given)


class ShortTodayForm(PortalForm):
    """The three questions of ``TodayForm`` that tell most, short enough to stand on another page."""

    air = AirField(N_("Air temperature"), description=N_("In °C, for example -6"))
    kind = SelectField(N_("Snow in the track"), choices=[option("", N_("Choose")), *labelled(SnowKind)])
    moisture = SelectField(
        N_("How wet it is"),
        choices=[option(UNSURE, N_("I am not sure")), *labelled(Moisture)],
        default=UNSURE,
    )


# Steps of air temperature in °C that one tap gives; a track is not felt any finer.
ABOUT_C = (-18, -15, -12, -9, -6, -4, -2, 0, 2, 4, 7)
# What is chosen and what is written beside it may differ by so much and still mean the same.
FAR_APART_C = 3.0


class DayForm(SnowForm):
    """The snow in which pairs were compared, in as few taps as can be; it stands in the address."""

    about = RadioField(
        N_("How warm was the air, in °C?"),
        choices=[option(str(step), f"{step}".replace("-", "\N{MINUS SIGN}")) for step in ABOUT_C],
        validate_choice=False,
    )
    kind = RadioField(
        N_("Which snow lay in the track?"),
        [offered(N_("Choose the kind of snow"))],
        choices=labelled(SnowKind),
        validate_choice=False,
    )
    moisture = RadioField(
        N_("How wet was the track?"),
        [offered(N_("Choose how wet the track was"))],
        choices=labelled(Moisture),
        validate_choice=False,
    )
    skied_on = PastDayField(N_("Which day was it?"))
    air = ExactAirField(N_("Air temperature"), description=N_("If you know it exactly, for example -6.5"))

    def take_step(self) -> None:
        """Choose the step of air temperature where what is written is one."""
        written = (self["air"].data or "").strip()
        if not self["about"].data and written in map(str, ABOUT_C):
            self["about"].data, self["air"].data = written, ""

    @property
    def is_whole(self) -> bool:
        """Whether every answer is there that a note needs."""
        return bool(self["kind"].data and self["moisture"].data and (self["about"].data or self["air"].data))

    def validate_about(self, field: RadioField) -> None:
        if not (self["air"].data or "").strip() and field.data not in map(str, ABOUT_C):
            raise Problem(N_("Choose the air temperature"))

    def validate_air(self, field: ExactAirField) -> None:
        steps = {str(step): float(step) for step in ABOUT_C}
        near = steps.get(self["about"].data or "", field.degrees)
        if field.degrees is not None and near is not None and abs(field.degrees - near) > FAR_APART_C:
            raise Problem(N_("Another temperature is chosen above: choose that one, or leave this empty"))

    @property
    def conditions(self) -> Conditions:
        """The snow of the day, once the form is right."""
        exact = self["air"].degrees
        return Conditions(
            float(self["about"].data) if exact is None else exact,
            SnowKind(self["kind"].data),
            Moisture(self["moisture"].data),
            Humidity(self["humidity"].data),
        )
