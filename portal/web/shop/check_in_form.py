"""The form of a check-in: what was found on a pair that comes in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast

from wtforms import BooleanField, MultipleFileField, RadioField, SelectField, StringField, TextAreaField
from wtforms.form import BaseForm

from portal.domain.arrivals import MOST_GAP_UM, CheckIn, Condition, Flatness, Side, Spot, gap_um
from portal.domain.base_life import Place, Thickness
from portal.domain.words import N_, Phrase
from portal.web.forms import NumberField, PortalForm, Problem, at_most, said, trimmed
from portal.web.shop.forms import REMARKS_LENGTH, THICKNESS_UM, choice

NAME_LENGTH = 120
WORDS_LENGTH = 200
TOGETHER, APART = "yes", "no"


class GapField(StringField):
    """A gap under a straight edge in whole micrometres, however people write it; empty means not measured."""

    number: int | None = None

    def process_data(self, value: Any) -> None:
        self.number = value
        self.data = "" if value is None else str(value)

    def pre_validate(self, form: BaseForm) -> None:
        try:
            self.number = gap_um(self.data or "")
        except ValueError:
            raise Problem(N_("Write the gap as 50 µm, 0.05 mm or 5/100, or leave it empty")) from None
        if self.number is not None and self.number > MOST_GAP_UM:
            raise Problem(N_("Enter a gap of at most %(most)s µm"), most=MOST_GAP_UM)


def _thickness(place: Place) -> NumberField:
    least, most = THICKNESS_UM
    return NumberField(place.label, least=least, most=most, unit="µm", name=f"base_{place}")


class CheckInForm(PortalForm):
    """What is looked at; only whether the two skis belong together has to be answered."""

    conditions: Mapping[str, str] = {}

    brought_by = StringField(
        N_("Who brought it?"),
        [at_most(NAME_LENGTH)],
        filters=[trimmed],
        description=N_("Name, if you know it"),
    )
    match = RadioField(
        N_("Do the two skis belong together?"),
        [said(N_("Say whether the two skis belong together: compare model, length and number on both"))],
        choices=[choice(TOGETHER, N_("Yes, they are a pair")), choice(APART, N_("No, they differ"))],
        validate_choice=False,
    )
    flatness = RadioField(
        N_("Base across the ski, against a straight edge"),
        choices=[choice("", N_("Not looked at")), *(choice(one.value, one.label) for one in Flatness)],
        validate_choice=False,
    )
    gap = GapField(
        N_("Widest gap under the straight edge"),
        filters=[trimmed],
        description=N_("In µm; 0.05 mm and 5/100 are understood as well"),
    )
    base_tip = _thickness(Place.TIP)
    base_middle = _thickness(Place.MIDDLE)
    base_tail = _thickness(Place.TAIL)
    remarks = TextAreaField(N_("Remarks"), [at_most(REMARKS_LENGTH)], filters=[trimmed])
    photos = MultipleFileField(N_("Photos"))

    def validate_match(self, field: RadioField) -> None:
        if field.data not in {TOGETHER, APART}:
            raise Problem(N_("Choose one of the answers"))

    def validate_flatness(self, field: RadioField) -> None:
        if field.data and field.data not in set(Flatness):
            raise Problem(N_("Choose one of the answers"))

    def validate_gap(self, field: GapField) -> None:
        if field.number and not self.flatness.data:
            raise Problem(N_("Say above whether the base is concave or convex, or leave the gap empty"))
        if field.number and self.flatness.data == Flatness.FLAT:
            raise Problem(N_("A flat base has no gap: leave it empty, or choose concave or convex above"))

    def rows(self) -> list[tuple[Any, Any, Any, Any]]:
        """For each condition the fields for left, right, spot and words."""
        return [tuple(self[name] for name in names_of(key)) for key in self.conditions]

    def validate(self, extra_validators: Any = None) -> bool:
        """Also that whatever is said of a condition says on which ski."""
        right = super().validate(extra_validators)
        for left, on_right, spot, words in self.rows():
            if (spot.data or words.data) and not (left.data or on_right.data):
                left.errors = [N_("Say on which ski you see it, or empty what you wrote about it")]
                right = False
        return right

    def found(self) -> CheckIn:
        """What was entered, as a value."""
        tip, middle, tail = (cast(NumberField, self[f"base_{place}"]).number for place in Place)
        return CheckIn(
            brought_by=self.brought_by.data or "",
            belongs_together=self.match.data == TOGETHER,
            conditions=tuple(
                Condition(key, side, Spot(spot.data) if spot.data else None, words.data or "")
                for key, (left, right, spot, words) in zip(self.conditions, self.rows(), strict=True)
                if (side := SIDES.get((left.data, right.data))) is not None
            ),
            flatness=Flatness(self.flatness.data) if self.flatness.data else None,
            gap_um=self.gap.number,
            thickness=Thickness(tip, middle, tail),
            remarks=self.remarks.data or "",
        )


# (seen on the left ski, seen on the right one) -> which ski.
SIDES = {(True, False): Side.LEFT, (False, True): Side.RIGHT, (True, True): Side.BOTH}


def names_of(key: str) -> tuple[str, str, str, str]:
    """The names of the fields for left, right, spot and words of a condition."""
    return f"{key}_left", f"{key}_right", f"{key}_spot", f"{key}_words"


def _known_spot(_form: BaseForm, field: Any) -> None:
    if field.data and field.data not in set(Spot):
        raise Problem(N_("Choose one of the answers"))


def check_in_form(conditions: Mapping[str, str]) -> type[CheckInForm]:
    """The form that asks for these conditions (key -> words)."""
    fields: dict[str, Any] = {"conditions": dict(conditions)}
    for key, label in conditions.items():
        left, right, spot, words = names_of(key)
        fields[left], fields[right] = BooleanField(N_("Left")), BooleanField(N_("Right"))
        fields[spot] = SelectField(
            Phrase(N_("%(condition)s: where"), {"condition": Phrase(label)}),  # type: ignore[arg-type]
            [_known_spot],
            choices=[choice("", N_("Not said")), *(choice(one.value, one.label) for one in Spot)],
            validate_choice=False,
        )
        fields[words] = StringField(
            Phrase(N_("%(condition)s: in your words"), {"condition": Phrase(label)}),  # type: ignore[arg-type]
            [at_most(WORDS_LENGTH)],
            filters=[trimmed],
        )
    return type("CheckInFormOfWorkshop", (CheckInForm,), fields)


def data_of(row: Any) -> dict[str, Any]:
    """What a check-in that is kept fills the form with."""
    data: dict[str, Any] = {
        "brought_by": row.brought_by,
        "match": {True: TOGETHER, False: APART}.get(row.belongs_together, ""),
        "flatness": row.flatness or "",
        "gap": row.gap_um,
        "base_tip": row.tip_um,
        "base_middle": row.middle_um,
        "base_tail": row.tail_um,
        "remarks": row.remarks,
    }
    for stored in row.conditions:
        one = Condition.from_json(stored)
        left, right, spot, words = names_of(one.key)
        data[left], data[right] = one.side is not Side.RIGHT, one.side is not Side.LEFT
        data |= {spot: one.spot or "", words: one.words}
    return data
