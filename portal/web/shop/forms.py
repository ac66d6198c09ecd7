"""The forms of the workshop."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any, cast

from wtforms import (
    BooleanField,
    Form,
    SelectField,
    SelectMultipleField,
    StringField,
    SubmitField,
    TextAreaField,
)
from wtforms.fields.choices import SelectChoice  # type: ignore[attr-defined]
from wtforms.form import BaseForm

from portal.domain.base_life import Place
from portal.domain.opening import WEEKDAYS
from portal.domain.stone_minutes import MOST, Minutes, read_minutes, typed
from portal.domain.words import N_, Phrase
from portal.web.forms import NumberField, PortalForm, Problem, at_most, said, trimmed

if TYPE_CHECKING:
    pass

# Between these a base can be measured at all, in whole micrometres: what lies outside is a slip of the finger.
THICKNESS_UM = (100, 3000)
REMARKS_LENGTH = 2000
SHELF_LENGTH = 40
LONGEST_SPAN_DAYS = 400


def choice(value: object, label: str, group: str | None = None) -> Any:
    """One choice of a select, under the heading of its group."""
    return SelectChoice(str(value), label, optgroup=group)


class DayField(StringField):
    """A day as the browser's date box sends it; ``day`` holds it once it has been read."""

    day: date | None = None

    def __init__(self, label: str, *, ask: str, **kw: Any) -> None:
        super().__init__(label, **kw)
        self.ask = ask

    def process_data(self, value: Any) -> None:
        self.day = value
        self.data = "" if value is None else value.isoformat()

    def process_formdata(self, valuelist: list[Any]) -> None:
        super().process_formdata(valuelist)
        self.day = None

    def pre_validate(self, form: BaseForm) -> None:
        text = (self.data or "").strip()
        if not text:
            raise Problem(self.ask)
        try:
            self.day = date.fromisoformat(text)
        except ValueError:
            raise Problem(N_("Write the day as year, month and day, such as 2026-12-07")) from None


def offered(text: str) -> Any:
    """A validator: one of the choices, and not the empty one that says to choose, as ``text`` does."""

    def check(_form: Form, field: Any) -> None:
        if not field.data or not any(choice.selected for choice in field.iter_choices()):
            raise Problem(text)

    return check


def _thickness(place: Place, when: str) -> NumberField:
    return NumberField(
        Phrase(N_("%(place)s"), {"place": Phrase(place.label)}),  # type: ignore[arg-type]
        least=THICKNESS_UM[0],
        most=THICKNESS_UM[1],
        unit="µm",
        name=f"{when}_{place}",
    )


class GrindForm(PortalForm):
    """What was done to a pair; the view sets ``latest``, the day it is."""

    latest: date

    structure = SelectField(
        N_("Structure"), [offered(N_("Choose the structure that was ground"))], validate_choice=False
    )
    ground_on = DayField(N_("Ground on"), ask=N_("Enter the day of the grind"))
    technician = SelectField(
        N_("Ground by"), [offered(N_("Choose who ground the pair"))], validate_choice=False
    )
    before_tip = _thickness(Place.TIP, "before")
    before_middle = _thickness(Place.MIDDLE, "before")
    before_tail = _thickness(Place.TAIL, "before")
    after_tip = _thickness(Place.TIP, "after")
    after_middle = _thickness(Place.MIDDLE, "after")
    after_tail = _thickness(Place.TAIL, "after")
    flattened = BooleanField(N_("Base flattening done"))
    saturated = BooleanField(N_("Hot-wax saturation done"))
    shelf = StringField(
        N_("Where does it lie until it is collected?"), [at_most(SHELF_LENGTH)], filters=[trimmed]
    )
    remarks = TextAreaField(N_("Remarks"), [at_most(REMARKS_LENGTH)], filters=[trimmed])

    def points(self, when: str) -> tuple[int | None, int | None, int | None]:
        """Thickness at tip, middle and tail, in whole micrometres, ``before`` or ``after``."""
        tip, middle, tail = (self._number(when, place) for place in Place)
        return tip, middle, tail

    def _number(self, when: str, place: Place) -> int | None:
        return cast(NumberField, self[f"{when}_{place}"]).number

    def validate_ground_on(self, field: DayField) -> None:
        if field.day is not None and field.day > self.latest:
            raise Problem(N_("Enter a day that is not in the future"))

    def _no_thicker(self, place: Place) -> None:
        before, after = self._number("before", place), self._number("after", place)
        if before is not None and after is not None and after > before:
            raise Problem(
                N_(
                    "Measure the %(place)s again: %(after)s µm after the grind is more than %(before)s µm before it"
                ),
                place=Phrase(PLACES[place]),
                after=after,
                before=before,
            )

    def validate_after_tip(self, _field: NumberField) -> None:
        self._no_thicker(Place.TIP)

    def validate_after_middle(self, _field: NumberField) -> None:
        self._no_thicker(Place.MIDDLE)

    def validate_after_tail(self, _field: NumberField) -> None:
        self._no_thicker(Place.TAIL)


# The places within a sentence.
PLACES = {Place.TIP: N_("tip"), Place.MIDDLE: N_("middle"), Place.TAIL: N_("tail")}


class StonesForm(PortalForm):
    """A form that asks for minutes of the stones; the view sets ``grinders``, how many run side by side."""

    grinders: int = 1


class StoneMinutesField(StringField):
    """Minutes of the grinders as people type them; ``minutes`` holds them once they have been read, None where it was left empty."""

    minutes: Minutes | None = None

    def process_data(self, value: Any) -> None:
        self.minutes = value
        self.data = "" if value is None else typed(value)

    def pre_validate(self, form: BaseForm) -> None:
        self.minutes = None
        if not (self.data or "").strip():
            return
        grinders = form.grinders if isinstance(form, StonesForm) else 1
        found = read_minutes(self.data or "")
        if isinstance(found, Phrase) and grinders > 1:
            raise Problem(found.text, **found.values)
        if isinstance(found, Phrase) or (len(found) > 1 and grinders == 1):
            raise Problem(N_("Enter a whole number of minutes from 0 to %(most)s"), most=MOST)
        if len(found) > grinders:
            raise Problem(
                N_("Write one number for each grinder at most: %(grinders)s run here"), grinders=grinders
            )
        self.minutes = found


def _minutes() -> StoneMinutesField:
    return StoneMinutesField(
        N_("Stone minutes a day"),
        [said(N_("Enter how many minutes the stone runs"))],
        filters=[trimmed],
    )


def some_minutes(field: StoneMinutesField) -> None:
    """Refuse a day that is opened for no minute at all."""
    if field.minutes is not None and not any(field.minutes):
        raise Problem(N_("Enter at least one minute, or close the day"))


class OpenDaysForm(StonesForm):
    """Days to open, all at once; the view sets ``earliest``, the day it is."""

    earliest: date

    first = DayField(N_("First day"), ask=N_("Enter the first day"))
    last = DayField(N_("Last day"), ask=N_("Enter the last day"))
    weekdays = SelectMultipleField(
        N_("On which weekdays?"),
        [said(N_("Choose at least one weekday"))],
        choices=[choice(number, name) for number, name in enumerate(WEEKDAYS)],
        validate_choice=False,
    )
    minutes = _minutes()

    def validate_minutes(self, field: StoneMinutesField) -> None:
        some_minutes(field)

    def validate_first(self, field: DayField) -> None:
        if field.day is not None and field.day < self.earliest:
            raise Problem(N_("Enter a first day that is not over yet"))

    def validate_last(self, field: DayField) -> None:
        if field.day is None or self.first.day is None:
            return
        if field.day < self.first.day:
            raise Problem(N_("Enter a last day that is not before the first day"))
        if (field.day - self.first.day).days >= LONGEST_SPAN_DAYS:
            raise Problem(N_("Open at most %(days)s days at once"), days=LONGEST_SPAN_DAYS)

    @property
    def chosen_weekdays(self) -> frozenset[int]:
        """Days of the week, 0 for Monday."""
        return frozenset(
            number for number in range(len(WEEKDAYS)) if str(number) in (self.weekdays.data or ())
        )


class DayMinutesForm(StonesForm):
    """The minutes of one day."""

    minutes = _minutes()

    def validate_minutes(self, field: StoneMinutesField) -> None:
        some_minutes(field)

    close = SubmitField(N_("Close this day"))


class FindForm(PortalForm):
    """Which bookings to list; read from the address."""

    status = SelectField(N_("Stands at"), validate_choice=False)
    words = StringField(N_("Reference, name, club or e-mail address"), filters=[trimmed])
