"""The forms of the stone plan: what should be different, where a pair stays, what is on the stones."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from wtforms import BooleanField, SelectField

from portal.domain.stone_minutes import MOST
from portal.domain.words import N_, Phrase
from portal.web.forms import NumberField, PortalForm, Problem, trimmed
from portal.web.shop.forms import DayField, choice, offered
from portal.web.shop.measures import MeasureField

MOST_PAIRS = 500


def days_as_choices(days: Sequence[date], words: Mapping[date, str]) -> list[Any]:
    """Days of a select, under an empty one that says to choose."""
    return [choice("", N_("Choose a day")), *(choice(day.isoformat(), words[day]) for day in days)]


class PairsField(NumberField):
    """A number of pairs that may not be left out."""

    def pre_validate(self, form: Any) -> None:
        try:
            super().pre_validate(form)
        except Problem:
            self.number = None
        if self.number is None:
            raise Problem(
                N_("Enter a whole number of pairs from %(least)s to %(most)s"),
                least=self.least,
                most=self.most,
            )


class CloseDayForm(PortalForm):
    """A day on which no grinder runs."""

    closed = SelectField(
        N_("Day that is closed"), [offered(N_("Choose the day that is closed"))], validate_choice=False
    )
    set_free = BooleanField(N_("Move what is fixed on this day too"))


class MoreMinutesForm(PortalForm):
    """More or fewer minutes of each grinder on a day."""

    longer = SelectField(
        N_("Day with other minutes"),
        [offered(N_("Choose the day with other minutes"))],
        validate_choice=False,
    )
    minutes = MeasureField(N_("Minutes more"), least=-MOST, most=MOST, unit="min", whole=True)

    def validate_minutes(self, field: MeasureField) -> None:
        if field.value == 0:
            raise Problem(N_("Enter a number of minutes other than 0"))


class RushForm(PortalForm):
    """An order that comes in between."""

    structure = SelectField(
        N_("Structure"), [offered(N_("Choose a structure from the list"))], validate_choice=False
    )
    flattening = BooleanField(N_("Base flattening"))
    saturation = BooleanField(N_("Hot-wax saturation"))
    pairs = PairsField(N_("Pairs"), least=1, most=MOST_PAIRS, filters=[trimmed])
    arrives = DayField(N_("First day on the stone"), ask=N_("Enter the first day on which it can be ground"))
    due = DayField(N_("Ready day"), ask=N_("Enter the day on which it has to be ready"))
    race = BooleanField(N_("It is race work"))

    def validate_due(self, field: DayField) -> None:
        if field.day is not None and self.arrives.day is not None and field.day < self.arrives.day:
            raise Problem(N_("Enter a ready day that is not before the first day"))


class TakeOutForm(PortalForm):
    """A booking that is not there."""

    booking = SelectField(
        N_("Booking that is left out"), [offered(N_("Choose a booking from the list"))], validate_choice=False
    )


class PinForm(PortalForm):
    """The day and grinder on which all steps of a pair stay."""

    day = SelectField(N_("Day"), [offered(N_("Choose the day on which it stays"))], validate_choice=False)
    grinder = SelectField(N_("Grinder"), [offered(N_("Choose a grinder"))], validate_choice=False)


class StepsForm(PortalForm):
    """How many steps of its work a pair has had."""

    steps = SelectField(
        N_("Steps it has had"), [offered(N_("Choose how many steps it has had"))], validate_choice=False
    )


class DressedForm(PortalForm):
    """What is on the stones; the fields are those of ``dressed_form``."""

    def of(self, number: int) -> tuple[str, int]:
        """The layer on the stone of this grinder, numbered from 0, and the pairs that it still serves."""
        return self[f"layer_{number}"].data or "", self[f"left_{number}"].number or 0


def dressed_form(grinders: Sequence[Phrase | None], layers: list[Any], life_pairs: int) -> type[DressedForm]:
    """The form for these grinders and layers."""
    fields: dict[str, Any] = {}
    for number, name in enumerate(grinders):
        layer, left = N_("Dressed for"), N_("Pairs it still serves")
        fields[f"layer_{number}"] = SelectField(
            Phrase(N_("%(grinder)s: dressed for"), {"grinder": name}) if name else layer,  # type: ignore[arg-type]
            choices=layers,
            validate_choice=False,
        )
        fields[f"left_{number}"] = NumberField(
            Phrase(N_("%(grinder)s: pairs it still serves"), {"grinder": name}) if name else left,  # type: ignore[arg-type]
            least=0,
            most=life_pairs,
            filters=[trimmed],
        )
    return type("DressedFormOfWorkshop", (DressedForm,), fields)
