"""The forms of a skier's own pages."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from wtforms import RadioField, SelectMultipleField, StringField, TextAreaField
from wtforms.fields.choices import SelectChoice  # type: ignore[attr-defined]
from wtforms.validators import Optional

from portal.domain.prices import Item
from portal.domain.words import N_, Phrase
from portal.web.forms import PortalForm, Problem, at_most, said, trimmed
from portal.web.pair_form import NAME_LENGTH, NOTE_LENGTH, labelled, offered


def all_offered(text: str) -> Any:
    """A validator: everything that was ticked was offered."""

    def check(_form: Any, field: Any) -> None:
        if not set(field.data or ()) <= {str(value) for value, *_ in field.choices}:
            raise Problem(text)

    return check


def offer(form: PortalForm, name: str, choices: Sequence[tuple[str, Phrase | str]]) -> None:
    """Put what can be chosen into a field."""
    field: Any = form[name]
    field.choices = [SelectChoice(value, label) for value, label in choices]


def blame(form: PortalForm, name: str, problem: Phrase) -> None:
    """Say at a field what has to be changed, after it was read."""
    field: Any = form[name]
    field.errors = [*field.errors, problem]


class PairsForm(PortalForm):
    """Which pairs are to be ground."""

    pairs = SelectMultipleField(
        N_("Which pairs do you want ground?"),
        [said(N_("Choose at least one pair")), all_offered(N_("Choose from the pairs in the list"))],
        choices=[],
        validate_choice=False,
    )
    wish = StringField(N_("Structure"), [at_most(NAME_LENGTH)])


class WorkForm(PortalForm):
    """What is to be done to one pair."""

    structure = RadioField(
        N_("Structure"),
        [offered(N_("Choose a structure"))],
        choices=[],
        validate_choice=False,
    )
    extras = SelectMultipleField(
        N_("Extras"),
        [all_offered(N_("Choose from the extras in the list"))],
        choices=labelled((Item.FLATTENING, Item.SATURATION)),
        validate_choice=False,
    )


class DayForm(PortalForm):
    """One day out of those that are offered."""

    day = RadioField(N_("Day"), [offered(N_("Choose a day"))], choices=[], validate_choice=False)


class PlaceForm(PortalForm):
    """Where the skis are handed in."""

    place = RadioField(
        N_("Where do you hand the skis in?"),
        [offered(N_("Choose where you hand the skis in"))],
        choices=[],
        validate_choice=False,
    )


class NoteForm(PortalForm):
    """What the workshop should know."""

    note = TextAreaField(
        N_("Is there anything the workshop should know?"),
        [Optional(), at_most(NOTE_LENGTH)],
        filters=[trimmed],
    )
