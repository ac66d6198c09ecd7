"""The forms of a run at the bench: how the stone was dressed, what the test cut shows, what a pair was left with."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any, Self, cast

from flask import request
from wtforms import BooleanField, HiddenField, RadioField, SelectField, StringField, TextAreaField

from portal.domain.base_life import Place
from portal.domain.dressing import Dressing, Hand
from portal.domain.layers import Layer
from portal.domain.pressure import FORCE_N, ZONES
from portal.domain.runs import REMOVED_UM, Measured, Points, agrees, zones_given
from portal.domain.words import N_, Phrase
from portal.queries import diamonds as find_diamonds
from portal.services.run_pairs import DoneFacts
from portal.services.runs import DressingFacts, TestCut
from portal.web.forms import NumberField, PortalForm, Problem, at_most, trimmed
from portal.web.request import db
from portal.web.shop.forms import REMARKS_LENGTH, THICKNESS_UM, choice
from portal.web.shop.measures import MeasureField
from portal.web.shop.reasons import ReasonForm

# Of each layer: what is set when the stone is dressed for it.
SET = ("depth_um", "lead_mm", "stone_rpm", "feed_m_min")
NO_DIAMOND = ""
OTHER_DIAMOND = "other"


class OneOfMany(PortalForm):
    """One of the forms of a page: its fields begin with its own word, and it is sent where some of them came."""

    word = ""

    @classmethod
    def posted(cls, **data: Any) -> Self:
        mine = request.method == "POST" and any(name.startswith(cls.word + "-") for name in request.form)
        return cls(formdata=request.form if mine else None, data=data, prefix=cls.word)


class DressForm(OneOfMany):
    """How the stone was dressed; the settings are those of the layer until somebody changes them."""

    word = "dress"

    key = HiddenField(filters=[trimmed])
    diamond = SelectField(N_("Diamond"), validate_choice=False)
    depth_um = MeasureField(N_("Dressing depth"), least=0.1, most=500, unit="µm")
    lead_mm = MeasureField(N_("Dressing lead, per turn"), least=0.01, most=20, unit="mm")
    hand = RadioField(
        N_("Hand"), choices=[choice(one.value, one.label) for one in Hand], validate_choice=False
    )
    stone_rpm = MeasureField(N_("Stone, turns a minute"), least=10, most=5000)
    feed_m_min = MeasureField(N_("Ski feed"), least=0.1, most=100, unit="m/min")
    remarks = TextAreaField(N_("Remarks"), [at_most(REMARKS_LENGTH)], filters=[trimmed])
    layer: Layer | None = None

    @classmethod
    def for_layer(cls, layer: Layer | None, key: str) -> Self:
        """The form with what the layer says; a layer that is no dressing is asked its diamond and remarks only."""
        rows = find_diamonds.in_use(db())
        cut = layer.cut if layer is not None and isinstance(layer.cut, Dressing) else None
        mark = layer.diamond if layer is not None else ""
        given: dict[str, Any] = {
            "key": key,
            "diamond": next((str(row.id) for row in rows if row.mark == mark), ""),
        }
        if cut is not None:
            given |= {name: getattr(cut, name) for name in SET} | {"hand": cut.hand.value}
        form = cls.posted(**given)
        form.layer = layer
        form.diamond.choices = [
            choice(NO_DIAMOND, N_("Choose a diamond")),
            *(choice(row.id, row.mark) for row in rows),
            choice(OTHER_DIAMOND, N_("None of this workshop")),
        ]
        if cut is None:
            for name in (*SET, "hand"):
                del form[name]
        return form

    def validate_diamond(self, field: SelectField) -> None:
        if not field.data or field.data not in {choice[0] for choice in field.iter_choices()}:
            raise Problem(N_("Choose the diamond that the stone was dressed with"))

    def validate_hand(self, field: RadioField) -> None:
        if field.data not in set(Hand):
            raise Problem(N_("Choose the hand of the dressing"))

    @property
    def facts(self) -> DressingFacts:
        number = None if self.diamond.data == OTHER_DIAMOND else int(self.diamond.data)
        settings = None
        if self.layer is not None:
            layer = self.layer
            if isinstance(layer.cut, Dressing):
                values = {name: self[name].value for name in SET}
                layer = replace(layer, cut=replace(layer.cut, hand=Hand(self.hand.data), **values))
            mark = find_diamonds.one(db(), number).mark if number is not None else ""
            settings = replace(layer, diamond=mark).to_json()
        return DressingFacts(settings, number, self.remarks.data or "")


class CutFields(OneOfMany):
    """What a test cut shows."""

    key = HiddenField(filters=[trimmed])
    number = HiddenField()
    depth_um = MeasureField(N_("Depth measured"), least=0, most=500, unit="µm", needed=False)
    pitch_mm = MeasureField(N_("Pitch measured"), least=0, most=50, unit="mm", needed=False)
    seen = TextAreaField(N_("What you looked at"), [at_most(REMARKS_LENGTH)], filters=[trimmed])

    @property
    def facts(self) -> TestCut:
        return TestCut(self.depth_um.value, self.pitch_mm.value, self.seen.data or "")

    @property
    def dressing(self) -> int:
        """Which dressing of the run this is about, from 1; nothing that can be where the page was changed."""
        text = self.number.data or ""
        return int(text) if text.isascii() and text.isdecimal() and len(text) < 6 else 0


class SignOffForm(CutFields):
    """It is good."""

    word = "cut"

    def validate_seen(self, field: TextAreaField) -> None:
        measured = self.depth_um.data or self.pitch_mm.data
        if not field.data and not measured:
            raise Problem(N_("Enter what you measured, or write what you looked at"))


class RejectForm(CutFields, ReasonForm):
    """It is not good, for a reason."""

    word = "reject"


class AddForm(OneOfMany):
    """A pair that is put into a run, by the code of its tag."""

    word = "add"

    key = HiddenField(filters=[trimmed])
    code = StringField(N_("Code of the tag"), filters=[trimmed])
    instead = BooleanField(N_("It gets this structure instead of the booked one"))


def _micrometres(place: Place, when: str, span: tuple[int, int]) -> NumberField:
    return NumberField(
        Phrase(N_("%(place)s"), {"place": Phrase(place.label)}),  # type: ignore[arg-type]
        least=span[0],
        most=span[1],
        unit="µm",
        name=f"{when}_{place}",
    )


class _PairFields(PortalForm):
    key = HiddenField(filters=[trimmed])
    before_tip = _micrometres(Place.TIP, "before", THICKNESS_UM)
    before_middle = _micrometres(Place.MIDDLE, "before", THICKNESS_UM)
    before_tail = _micrometres(Place.TAIL, "before", THICKNESS_UM)
    after_tip = _micrometres(Place.TIP, "after", THICKNESS_UM)
    after_middle = _micrometres(Place.MIDDLE, "after", THICKNESS_UM)
    after_tail = _micrometres(Place.TAIL, "after", THICKNESS_UM)
    removed_tip = _micrometres(Place.TIP, "removed", REMOVED_UM)
    removed_middle = _micrometres(Place.MIDDLE, "removed", REMOVED_UM)
    removed_tail = _micrometres(Place.TAIL, "removed", REMOVED_UM)
    saturated = BooleanField(N_("Hot-wax saturation done"))
    remarks = TextAreaField(N_("Remarks"), [at_most(REMARKS_LENGTH)], filters=[trimmed])


def _zone(number: int) -> NumberField:
    return NumberField(
        Phrase(N_("Zone %(number)s"), {"number": number}),  # type: ignore[arg-type]
        least=FORCE_N[0],
        most=FORCE_N[1],
        unit="N",
        name=f"zone_{number}",
    )


_Zones = type("_Zones", (_PairFields,), {f"zone_{number}": _zone(number) for number in range(1, ZONES + 1)})


class PairForm(_Zones):  # type: ignore[misc, valid-type]
    """What one pair of a run was left with; each pair of a page has a form of its own, told apart by their prefix."""

    @classmethod
    def for_pair(cls, run_pair_id: int, key: str) -> Self:
        prefix = f"p{run_pair_id}-"
        mine = request.method == "POST" and any(name.startswith(prefix) for name in request.form)
        return cls(formdata=request.form, prefix=prefix) if mine else cls(data={"key": key}, prefix=prefix)

    def is_right(self) -> bool:
        """Whether all that was sent can be used."""
        return bool(self.validate())

    def points(self, when: str) -> Points:
        tip, middle, tail = (cast(NumberField, self[f"{when}_{place}"]).number for place in Place)
        return tip, middle, tail

    @property
    def zones(self) -> list[Any]:
        return [self[f"zone_{number}"] for number in range(1, ZONES + 1)]

    @property
    def facts(self) -> DoneFacts:
        measured = Measured(
            self.points("before"),
            self.points("after"),
            self.points("removed"),
            zones_given([zone.number for zone in self.zones]),
        )
        return DoneFacts(measured, self.remarks.data or "", bool(self.saturated.data))

    def written(self) -> Iterator[tuple[Phrase | str, str]]:
        """All that was typed, to be given back where it cannot be kept."""
        for when, label in (
            ("before", N_("Base before, µm: tip / middle / tail")),
            ("after", N_("Base after, µm: tip / middle / tail")),
            ("removed", N_("Taken off, µm: tip / middle / tail")),
        ):
            typed = [self[f"{when}_{place}"].data or "" for place in Place]
            yield label, " / ".join(one or "–" for one in typed) if any(typed) else ""
        forces = [zone.data or "" for zone in self.zones]
        yield (
            N_("Wheel force of each zone, N"),
            " / ".join(one or "–" for one in forces) if any(forces) else "",
        )
        yield N_("The remarks you wrote"), self.remarks.data or ""

    def validate(self, extra_validators: Any = None) -> bool:
        right = bool(super().validate(extra_validators))
        for place in Place:
            fields = [self[f"{when}_{place}"] for when in ("before", "after", "removed")]
            before, after, removed = (field.number for field in fields)
            if any(field.errors for field in fields) or agrees(before, after, removed):
                continue
            right = False
            wrong = fields[1] if removed is None else fields[2]
            wrong.errors = [_disagree(place, before, after, removed)]
        return right


def _disagree(place: Place, before: int, after: int, removed: int | None) -> Phrase:
    values = {"place": Phrase(place.spoken), "before": before, "after": after, "removed": removed}
    if removed is None:
        return Phrase(
            N_(
                "Measure the %(place)s again: %(after)s µm after the grind is more than %(before)s µm before it"
            ),
            values,
        )
    return Phrase(
        N_("Measure the %(place)s again: %(removed)s µm taken off %(before)s µm does not leave %(after)s µm"),
        values,
    )
