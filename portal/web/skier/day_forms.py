"""The forms about one day on snow: a glide note, and which pair to take today."""

from __future__ import annotations

from datetime import date
from typing import Any, Self

from flask import request
from wtforms import RadioField, StringField, TextAreaField
from wtforms.form import BaseForm
from wtforms.validators import Optional

from portal.domain.answers import Humidity
from portal.domain.conditions import Conditions, Moisture, Outcome
from portal.domain.questions import temperature
from portal.domain.snow import SnowKind
from portal.domain.words import N_, Phrase
from portal.web.forms import PortalForm, Problem, at_most, trimmed
from portal.web.pair_form import labelled, offered, option

REMARKS_LENGTH = 1000
UNSURE = "unsure"


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


class GlideForm(SnowForm):
    """Two pairs side by side."""

    skied_on = PastDayField(N_("Which day was it?"))
    moisture = RadioField(
        N_("How wet was the track?"),
        [offered(N_("Choose how wet the track was"))],
        choices=labelled(Moisture),
        validate_choice=False,
    )
    other = RadioField(
        N_("Beside which pair?"),
        [offered(N_("Choose the pair you compared it with"))],
        choices=[],
        validate_choice=False,
    )
    outcome = RadioField(
        N_("How did this pair run beside the other?"),
        [offered(N_("Choose faster, the same or slower"))],
        choices=labelled(Outcome),
        validate_choice=False,
    )
    remarks = TextAreaField(N_("Remarks"), [Optional(), at_most(REMARKS_LENGTH)], filters=[trimmed])

    @property
    def conditions(self) -> Conditions:
        """The snow of the day, once the form is right."""
        return Conditions(
            self["air"].degrees,
            SnowKind(self["kind"].data),
            Moisture(self["moisture"].data),
            Humidity(self["humidity"].data),
        )
