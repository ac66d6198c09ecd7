"""The form of a structure without its layers: what it is called, what it is for, what it costs and what it suits."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from wtforms import RadioField, SelectField, SelectMultipleField, StringField, TextAreaField

from portal.domain.answers import Discipline
from portal.domain.checked import BadValue
from portal.domain.snow import SnowKind
from portal.domain.structures import StatedRange, Structure
from portal.domain.words import N_, Phrase
from portal.services.catalogue import KEY, KEY_LENGTH
from portal.web.forms import PortalForm, Problem, at_most, said, trimmed
from portal.web.range_words import SUITS
from portal.web.shop.forms import choice, offered
from portal.web.shop.measures import MeasureField

if TYPE_CHECKING:
    from portal.db.catalogue import StructureFamily

NAME_LENGTH, SUMMARY_LENGTH = 80, 500
# A window that begins or ends here has no such end; the form leaves its field empty.
NO_LOW_C, NO_HIGH_C = -60.0, 25.0
MARKS = tuple(str(mark) for mark in range(len(SUITS)))


class AboutForm(PortalForm):
    """All of a structure but its layers. ``is_new`` asks for the key as well."""

    is_new = True

    name = StringField(
        N_("Name"), [said(N_("Enter a name for the structure")), at_most(NAME_LENGTH)], filters=[trimmed]
    )
    key = StringField(
        N_("Key"),
        filters=[trimmed],
        description=N_(
            "Stands in addresses and stays: lower-case letters and digits, words joined by hyphens"
        ),
    )
    family = SelectField(
        N_("Family"), [offered(N_("Choose a family from the list"))], validate_choice=False, choices=[]
    )
    summary = TextAreaField(
        N_("What it is for"),
        [said(N_("Write in a sentence or two what the structure is for")), at_most(SUMMARY_LENGTH)],
        filters=[trimmed],
    )
    disciplines = SelectMultipleField(
        N_("Ground on"),
        [said(N_("Choose classic pairs, skating pairs or both"))],
        choices=[choice(one.value, one.label) for one in Discipline],
        validate_choice=False,
    )
    minutes = MeasureField(N_("Time on the stone"), least=1, most=600, unit="min", whole=True)
    removal_um = MeasureField(
        N_("Base a grind takes"),
        least=1,
        most=500,
        unit="µm",
        whole=True,
        description=N_("At least as much as the deepest cut"),
    )
    void_ml_m2 = MeasureField(N_("Room in the grooves"), least=0, most=500, unit="mL/m²", needed=False)
    plateau_pct = MeasureField(N_("Flat, bearing share"), least=0, most=100, unit="%", needed=False)
    air_low_c = MeasureField(
        N_("Coldest air"),
        least=NO_LOW_C,
        most=NO_HIGH_C,
        unit="°C",
        needed=False,
        description=N_("Leave it empty where the window has no lower end"),
    )
    air_high_c = MeasureField(
        N_("Warmest air"),
        least=NO_LOW_C,
        most=NO_HIGH_C,
        unit="°C",
        needed=False,
        description=N_("Leave it empty where the window has no upper end"),
    )
    air_soft_c = MeasureField(
        N_("Soft edge of the air"),
        least=0,
        most=30,
        unit="°C",
        description=N_("How far beyond it still suits, less and less"),
    )
    water_low_pct = MeasureField(N_("Least water in the snow"), least=0, most=100, unit="%")
    water_high_pct = MeasureField(N_("Most water in the snow"), least=0, most=100, unit="%")
    water_soft_pct = MeasureField(N_("Soft edge of the water"), least=0, most=100, unit="%")

    def offer(self, families: Sequence[StructureFamily]) -> None:
        """The families as choices, with none of them chosen as long as what is there is none of theirs."""
        self.family.choices = [choice(row.key, row.name) for row in families]
        if self.family.data not in {row.key for row in families}:
            self.family.choices.insert(0, choice("", N_("Choose a family")))

    def range_json(self) -> dict[str, Any]:
        """The stated range in the plain form that the domain reads and judges."""
        low, high = self.air_low_c.value, self.air_high_c.value
        numbers = ("air_soft_c", "water_low_pct", "water_high_pct", "water_soft_pct")
        marks = {kind: self[suits_name(kind)].data for kind in SnowKind}
        return {
            "air_low_c": NO_LOW_C if low is None else low,
            "air_high_c": NO_HIGH_C if high is None else high,
            **{name: self[name].value for name in numbers},
            "suits": {kind.value: int(mark) if mark in MARKS else None for kind, mark in marks.items()},
        }

    def stated_range(self) -> StatedRange | None:
        """The stated range once the form was judged, or nothing as long as a part of it cannot be."""
        try:
            return StatedRange.from_json(self.range_json())
        except BadValue:
            return None

    def states_a_surface(self) -> bool:
        """Without layers there is nothing to work void and plateau out from, so they have to be stated."""
        for field in (self.void_ml_m2, self.plateau_pct):
            if field.value is None:
                told = Phrase(
                    N_("%(what)s: enter a number, or add a layer"), {"what": Phrase(field.label.text)}
                )
                field.errors = [told]  # type: ignore[list-item]
        return not self.void_ml_m2.errors and not self.plateau_pct.errors

    def blame(self, name: str, problem: Phrase) -> None:
        """Hang a problem on a field that was right by itself."""
        self[name].errors = [*self[name].errors, problem]

    def validate_key(self, field: StringField) -> None:
        if not self.is_new:
            return
        if not field.data:
            raise Problem(N_("Enter a key for the structure, such as bog-myrtle"))
        if not KEY.fullmatch(field.data) or len(field.data) > KEY_LENGTH:
            raise Problem(
                N_("Write the key in lower-case letters and digits, joined by hyphens, %(most)s at most"),
                most=KEY_LENGTH,
            )


def suits_name(kind: SnowKind) -> str:
    """The name of the field that asks how well a structure suits a kind of snow."""
    return f"suits_{kind.value}"


for _kind in SnowKind:
    setattr(
        AboutForm,
        suits_name(_kind),
        RadioField(
            _kind.label,
            [offered(N_("Choose how well it suits this kind of snow"))],
            choices=[choice(mark, words) for mark, words in enumerate(SUITS)],
            validate_choice=False,
        ),
    )


def about_values(structure: Structure) -> dict[str, Any]:
    """What the form is filled with."""
    stated = structure.range
    return {
        "name": structure.name,
        "key": structure.key,
        "family": structure.family,
        "summary": structure.summary,
        "disciplines": [one.value for one in structure.disciplines],
        "minutes": structure.minutes,
        "removal_um": structure.removal_um,
        "void_ml_m2": structure.void_ml_m2,
        "plateau_pct": round(100 * structure.plateau, 4),
        "air_low_c": None if stated.air_low_c <= NO_LOW_C else stated.air_low_c,
        "air_high_c": None if stated.air_high_c >= NO_HIGH_C else stated.air_high_c,
        "air_soft_c": stated.air_soft_c,
        "water_low_pct": stated.water_low_pct,
        "water_high_pct": stated.water_high_pct,
        "water_soft_pct": stated.water_soft_pct,
        **{suits_name(kind): str(stated.suits[kind]) for kind in SnowKind},
    }
