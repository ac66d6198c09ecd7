"""The form that describes a pair, the same for a skier's own pair and for a club's."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from wtforms import RadioField, SelectField, StringField, TextAreaField
from wtforms.fields.choices import SelectChoice  # type: ignore[attr-defined]
from wtforms.validators import Optional

from portal.domain.answers import Discipline, Purpose
from portal.domain.pairs import KICK_ZONE_CM, LENGTH_CM, STIFFNESS_KG, YEARS, BaseColour, Grip
from portal.domain.words import N_, Phrase
from portal.services.pairs import PairFacts
from portal.web.forms import NumberField, PortalForm, Problem, at_most, said, trimmed

NAME_LENGTH = 80
NOTE_LENGTH = 2000


def offered(text: str) -> Any:
    """A validator: one of what was offered; ``text`` says what to choose."""

    def check(_form: Any, field: Any) -> None:
        if not any(choice.selected for choice in field.iter_choices()):
            raise Problem(text)

    return check


def option(value: str, label: Phrase | str) -> Any:
    """One thing to choose."""
    return SelectChoice(value, label)


def labelled(members: Iterable[Any]) -> list[Any]:
    """What to choose from: the members of an enum with their labels."""
    return [option(member.value, member.label) for member in members]


def unsure_or(members: Iterable[Any]) -> list[Any]:
    """The same for what a person may not know."""
    return [SelectChoice("", N_("I am not sure")), *labelled(members)]


class PairForm(PortalForm):
    """What a person says of a pair."""

    maker = StringField(
        N_("Maker"), [said(N_("Enter who made the skis")), at_most(NAME_LENGTH)], filters=[trimmed]
    )
    model = StringField(N_("Model"), [Optional(), at_most(NAME_LENGTH)], filters=[trimmed])
    discipline = RadioField(
        N_("What are they made for?"),
        [offered(N_("Choose whether the skis are for classic or for skating"))],
        choices=labelled(Discipline),
        validate_choice=False,
    )
    purpose = RadioField(
        N_("What is the pair for?"),
        [offered(N_("Choose what the pair is for"))],
        choices=labelled(Purpose),
        validate_choice=False,
    )
    length = NumberField(N_("Length"), [Optional()], least=LENGTH_CM[0], most=LENGTH_CM[1], unit="cm")
    mark = StringField(
        N_("Mark on the skis"),
        [Optional(), at_most(NAME_LENGTH)],
        filters=[trimmed],
        description=N_("What tells the pair from others like it, such as a number or a sticker"),
    )
    year = NumberField(N_("Year"), [Optional()], least=YEARS[0], most=YEARS[1])
    base = SelectField(N_("Base"), choices=unsure_or(BaseColour), validate_choice=False)
    stiffness = NumberField(
        N_("Stiffness"),
        [Optional()],
        least=STIFFNESS_KG[0],
        most=STIFFNESS_KG[1],
        unit="kg",
        description=N_("As it was measured or written on the ski when the pair was new"),
    )
    grip = SelectField(N_("What gives grip"), choices=unsure_or(Grip), validate_choice=False)
    kick_zone = NumberField(
        N_("Length of the grip zone"), [Optional()], least=KICK_ZONE_CM[0], most=KICK_ZONE_CM[1], unit="cm"
    )
    notes = TextAreaField(
        N_("Anything the workshop should know of the pair"),
        [Optional(), at_most(NOTE_LENGTH)],
        filters=[trimmed],
    )

    def facts(self) -> PairFacts:
        """What was said, once it has been checked."""
        return PairFacts(
            maker=self["maker"].data,
            model=self["model"].data,
            discipline=Discipline(self["discipline"].data),
            purpose=Purpose(self["purpose"].data),
            length_cm=self["length"].number,
            year=self["year"].number,
            mark=self["mark"].data,
            base=_member(BaseColour, self["base"].data),
            stiffness_kg=self["stiffness"].number,
            grip=_member(Grip, self["grip"].data),
            kick_zone_cm=self["kick_zone"].number,
            notes=self["notes"].data,
        )

    @staticmethod
    def data_of(pair: Any) -> dict[str, Any]:
        """A stored pair as the form shows it."""
        return {
            "maker": pair.maker,
            "model": pair.model,
            "discipline": pair.discipline.value,
            "purpose": pair.purpose.value,
            "length": pair.length_cm,
            "year": pair.year,
            "mark": pair.mark,
            "base": pair.base.value if pair.base else "",
            "stiffness": pair.stiffness_kg,
            "grip": pair.grip.value if pair.grip else "",
            "kick_zone": pair.kick_zone_cm,
            "notes": pair.notes,
        }


def _member(members: Any, value: str | None) -> Any:
    return next((member for member in members if member.value == value), None)
