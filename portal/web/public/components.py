"""Invented examples for the page that shows every part of the interface, right and wrong ones."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

from wtforms import (
    BooleanField,
    DateField,
    FileField,
    Form,
    FormField,
    PasswordField,
    RadioField,
    SelectField,
    SelectMultipleField,
    StringField,
    TextAreaField,
    ValidationError,
)
from wtforms.fields.choices import SelectChoice  # type: ignore[attr-defined]
from wtforms.validators import Optional

from portal.domain.dressing import Dressing, Hand
from portal.domain.layers import Form as Groove
from portal.domain.layers import Layer, Profile
from portal.domain.prices import Bill, Item, Line
from portal.domain.snow import KIND_LABELS
from portal.domain.words import N_, Phrase
from portal.web.structure_pictures import structure_pictures

OFTEN = (
    ("never", N_("Never")),
    ("seldom", N_("A few days")),
    ("often", N_("Many days")),
    ("mostly", N_("Most days")),
)


# A fine dressing, and wider grooves over it that lean a little.
LAYERS = (
    Layer(Dressing(0.5, 20, 0.25, Hand.RIGHT, 350, 1000, 10)),
    Layer(Profile(Groove.PARABOLA, 2.5, 0.6, 24, -3)),
)


def _choices(*pairs: tuple[str, str]) -> list[Any]:
    """What to choose from, as (value, label)."""
    return [SelectChoice(value, label) for value, label in pairs]


def _asks(text: str) -> Any:
    """A validator that wants an answer; ``text`` says what to do."""

    def check(_form: Form, field: Any) -> None:
        if not field.data:
            raise ValidationError(text)

    return check


def _at_least(least: int) -> Any:
    """A validator whose message is a phrase with a place to fill."""

    def check(_form: Form, field: Any) -> None:
        if not (field.data or "").isdecimal() or int(field.data) < least:
            phrase = Phrase(N_("Enter a length of at least %(least)s cm"), {"least": least})
            raise ValidationError(phrase)  # type: ignore[arg-type]

    return check


def _row(label: str) -> RadioField:
    return RadioField(
        label,
        [_asks(Phrase(N_("Choose how often you ski on: %(kind)s"), {"kind": Phrase(label)}))],  # type: ignore[arg-type]
        choices=_choices(*OFTEN),
        validate_choice=False,
    )


class SnowForm(Form):
    """How often each kind of snow is met: one group of radios a kind."""


for _kind, _label in KIND_LABELS.items():
    setattr(SnowForm, _kind.value, _row(_label))


class DayForm(Form):
    """A day in three boxes."""

    day = StringField(N_("Day"), [_asks(N_("Enter the day, such as 14"))])
    month = StringField(N_("Month"))
    year = StringField(N_("Year"))


class ExampleForm(Form):
    """One field of every kind that the macros can draw."""

    name = StringField(N_("What you call the pair"), [_asks(N_("Enter a name for the pair"))])
    length = StringField(N_("Length"), [_at_least(80)], description=N_("It stands on the ski's side or tail"))
    note = TextAreaField(N_("Anything the workshop should know"), [Optional()])
    password = PasswordField(
        N_("Password"), description=N_("At least 12 characters; a short sentence is good")
    )
    style = RadioField(
        N_("What is the pair for?"),
        [_asks(N_("Choose what the pair is for"))],
        choices=_choices(("classic", N_("Classic")), ("skate", N_("Skate")), ("unsure", N_("I am not sure"))),
        validate_choice=False,
    )
    waxed = RadioField(
        N_("Is there wax on the base now?"),
        choices=_choices(("yes", N_("Yes")), ("no", N_("No"))),
        validate_choice=False,
    )
    places = SelectMultipleField(
        N_("Where do you ski?"),
        [_asks(N_("Choose at least one place"))],
        choices=_choices(
            ("forest", N_("In the forest")),
            ("open", N_("On open ground")),
            ("lake", N_("On lakes and bogs")),
        ),
        validate_choice=False,
    )
    hand_in = SelectField(
        N_("Where do you hand the pair in?"),
        choices=_choices(("bench", N_("At the bench")), ("crate", N_("In the club's crate"))),
        validate_choice=False,
    )
    ground_on = DateField(N_("Last ground on"), [Optional()])
    bought = FormField(DayForm, N_("When did you get the pair?"))
    agreed = BooleanField(
        N_("The pair is dry and free of klister"), [_asks(N_("Confirm that the pair is dry and clean"))]
    )
    roster = FileField(N_("List of juniors"), description=N_("A CSV or XLSX file of at most 2 MB"))
    snow = FormField(SnowForm)
    promise = RadioField(
        N_("Which day should it be ready?"), [_asks(N_("Choose a day"))], choices=[], validate_choice=False
    )


def _offers() -> list[dict[str, object]]:
    return [
        {
            "value": "2026-12-10",
            "day": date(2026, 12, 10),
            "load": 100,
            "reason": N_("All stone time is taken"),
        },
        {"value": "2026-12-11", "day": date(2026, 12, 11), "load": 85, "reason": None},
        {
            "value": "2026-12-12",
            "day": date(2026, 12, 12),
            "load": None,
            "reason": N_("The workshop is closed"),
        },
        {"value": "2026-12-14", "day": date(2026, 12, 14), "load": 40, "reason": None},
        {"value": "2026-12-15", "day": date(2026, 12, 15), "load": 5, "reason": None},
    ]


def components_context() -> dict[str, object]:
    """What ``public/components.html`` shows: ``blank`` and ``examples`` (the same form, wrongly filled), and more."""
    blank = ExampleForm(
        prefix="blank-", data={"style": "skate", "promise": "2026-12-14", "places": ["forest"]}
    )
    wrong = ExampleForm(prefix="wrong-", data={"length": "8"})
    wrong.validate()
    return {
        "blank": blank,
        "examples": wrong,
        "offers": _offers(),
        "structure": structure_pictures(LAYERS),
        "bill": Bill(
            (
                Line(Phrase(Item.GRIND.label), 2, Decimal("49.00"), Decimal("25.5")),
                Line(Phrase(Item.RETURN_POST.label), 1, Decimal("18.90"), Decimal("14")),
            )
        ),
        "history": [
            {"at": datetime(2026, 11, 20, 9, 5, tzinfo=UTC), "what": N_("You sent the request")},
            {
                "at": datetime(2026, 11, 21, 14, 0, tzinfo=UTC),
                "what": N_("The workshop offered another day"),
                "by": "Tove Brambleford",
                "note": N_("The stone is dressed for wet snow on that day"),
            },
            {"at": datetime(2026, 11, 22, 7, 40, tzinfo=UTC), "what": N_("You accepted it")},
        ],
    }
