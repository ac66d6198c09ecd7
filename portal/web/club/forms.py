"""The forms of a club."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from wtforms import BooleanField, RadioField, SelectField, TextAreaField
from wtforms.fields.choices import SelectChoice  # type: ignore[attr-defined]
from wtforms.validators import Optional

from portal.domain.answers import Discipline
from portal.domain.words import N_, Phrase
from portal.web.club.order_defaults import Defaults
from portal.web.forms import PortalForm, Problem, at_most, said, trimmed

NOTE_LENGTH = 2000
# (value, words)
Choices = Sequence[tuple[str, str]]


def offered(text: str) -> Any:
    """A validator: one of the choices; ``text`` says to choose."""

    def check(_form: Any, field: Any) -> None:
        if not any(choice.selected for choice in field.iter_choices()):
            raise Problem(text)

    return check


class OrderForm(PortalForm):
    """Which pairs, with which structures and extras, and the day on which they are handed in.

    Each pair has three fields of its own: whether it is ordered, its structure where that differs, and whether it goes
    without the extras.
    """

    flattening = BooleanField(
        N_("Base flattening"), description=N_("For bases that are no longer flat; takes off some base")
    )
    saturation = BooleanField(
        N_("Hot-wax saturation"), description=N_("The freshly cut base is filled with wax")
    )
    pair_ids: Sequence[int] = ()
    # Pair -> the name of the field with the structure for all pairs like it.
    defaults: Mapping[int, str] = {}
    # What is said where such a field is left empty and a pair needs it.
    lacking: Mapping[str, Phrase] = {}
    # What stands for a place -> the days on which it takes skis; empty where there is one place only.
    taken_on: Mapping[str, frozenset[str]] = {}

    def ticked(self) -> list[int]:
        """The pairs that are ordered."""
        return [pair_id for pair_id in self.pair_ids if self[ticked_name(pair_id)].data]

    def structure_for(self, pair_id: int) -> str:
        """The structure chosen for a pair: its own, else the one for all like it; empty when there is none."""
        return self[structure_name(pair_id)].data or self[self.defaults[pair_id]].data or ""

    def validate(self, extra_validators: Any = None) -> bool:
        right = bool(super().validate(extra_validators))
        if self.taken_on and right and self["hand_in"].data not in self.taken_on[self["place"].data]:
            problem = Phrase(N_("This place takes no skis on that day. Choose another day, or another place"))
            self["hand_in"].errors = [problem]
            right = False
        ticked = self.ticked()
        if not ticked:
            first = self[ticked_name(self.pair_ids[0])]
            first.errors = [*first.errors, Phrase(N_("Tick at least one pair"))]
            return False
        for name, problem in self.lacking.items():
            if any(self.defaults[one] == name and not self.structure_for(one) for one in ticked):
                self[name].errors = [*self[name].errors, problem]
                right = False
        return right


def ticked_name(pair_id: int) -> str:
    """The name of the field that orders a pair."""
    return f"pair_{pair_id}"


def structure_name(pair_id: int) -> str:
    """The name of the field with a pair's own structure."""
    return f"structure_{pair_id}"


def plain_name(pair_id: int) -> str:
    """The name of the field that leaves the extras out for a pair."""
    return f"plain_{pair_id}"


def _default_fields(defaults: Defaults, structures: Mapping[Discipline, Choices]) -> dict[str, Any]:
    """One field for all pairs that share a structure."""
    return {
        one.name: SelectField(
            # A field's label is shown through words(), which takes a phrase as well as a message id.
            one.label,  # type: ignore[arg-type]
            [offered(N_("Choose a structure from the list"))],
            choices=_choices(N_("Choose a structure"), structures[one.discipline]),
            validate_choice=False,
        )
        for one in defaults.fields
    }


def order_form(
    pairs: Iterable[Any],
    structures: Mapping[Discipline, Choices],
    hand_in: Choices,
    places: Choices,
    taken_on: Mapping[str, frozenset[str]],
    defaults: Defaults,
) -> type[OrderForm]:
    """The form for these pairs, with the structures of each discipline and the days on which skis can be handed in.

    Where there are several ``places`` it asks for one, and ``taken_on`` has the days of each. ``defaults`` has
    which pairs share a structure.
    """
    pairs = list(pairs)
    fields: dict[str, Any] = {
        "pair_ids": [pair.id for pair in pairs],
        "defaults": defaults.of_pair,
        "lacking": {one.name: one.lacking for one in defaults.fields},
        **_default_fields(defaults, structures),
    }
    fields["hand_in"] = SelectField(
        N_("On which day do you hand the pairs in?"),
        [
            offered(N_("Choose the day on which you hand the pairs in")),
            said(N_("Choose the day on which you hand the pairs in")),
        ],
        choices=_choices(N_("Choose a day"), hand_in),
        validate_choice=False,
    )
    if len(places) > 1:
        fields["place"] = SelectField(
            N_("Where do you hand the pairs in?"),
            [offered(N_("Choose where you hand the pairs in"))],
            choices=[SelectChoice(value, words) for value, words in places],
            validate_choice=False,
        )
        fields["taken_on"] = taken_on
    for pair in pairs:
        name = {"pair": pair.title, "who": pair.junior.display_name if pair.junior else ""}
        fields[ticked_name(pair.id)] = BooleanField(
            _words(N_("Order a grind for %(pair)s"), N_("Order a grind for %(pair)s of %(who)s"), name)
        )
        fields[structure_name(pair.id)] = SelectField(
            _words(N_("Structure for %(pair)s"), N_("Structure for %(pair)s of %(who)s"), name),
            [offered(N_("Choose a structure from the list"))],
            choices=_choices(
                N_("As for the class") if pair.id in defaults.of_class else N_("As for all"),
                structures[pair.discipline],
            ),
            validate_choice=False,
        )
        fields[plain_name(pair.id)] = BooleanField(
            _words(N_("No extras for %(pair)s"), N_("No extras for %(pair)s of %(who)s"), name)
        )
    return type("OrderFormOfClub", (OrderForm,), fields)


def _choices(first: str, more: Choices) -> list[Any]:
    return [SelectChoice("", first), *(SelectChoice(value, words) for value, words in more)]


def _words(without: str, of: str, name: dict[str, str]) -> Any:
    # A field's label is shown through words(), which takes a phrase as well as a message id.
    return Phrase(of if name["who"] else without, name)


def note_field() -> TextAreaField:
    """What the workshop should know of an order."""
    return TextAreaField(
        N_("Is there anything the workshop should know?"),
        [Optional(), at_most(NOTE_LENGTH)],
        filters=[trimmed],
    )


class DayForm(PortalForm):
    """The day on which all pairs are needed, and a note."""

    ready = RadioField(
        N_("By which day do you need the pairs?"),
        [offered(N_("Choose the day by which you need the pairs"))],
        choices=[],
        validate_choice=False,
    )
    note = note_field()
