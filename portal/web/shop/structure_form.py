"""The whole form of one structure: what it is and its layers, which can be added, removed and moved."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from flask import request
from werkzeug.datastructures import MultiDict

from portal.domain.checked import BadValue
from portal.domain.layers import MOST_LAYERS, Layer
from portal.domain.snow import SnowKind
from portal.domain.structures import StatedRange, Structure
from portal.domain.surfaces import lay_of, least_removal_um
from portal.domain.words import N_, Phrase
from portal.web.shop.about_form import AboutForm, about_values, suits_name
from portal.web.shop.faults import sentence
from portal.web.shop.layer_forms import FRESH, KINDS, DressingForm, LayerForm, layer_values
from portal.web.shop.measures import as_written

if TYPE_CHECKING:
    from portal.db.catalogue import StructureFamily
    from portal.db.diamonds import Diamond


class Editor:
    """The whole form: ``about`` and up to ``MOST_LAYERS`` ``layers``."""

    def __init__(
        self,
        about: AboutForm,
        layers: list[LayerForm],
        families: Sequence[StructureFamily],
        register: Sequence[Diamond],
    ) -> None:
        self.about, self.layers = about, layers
        # What could be read of it so far, whether or not the rest is right.
        self.cuts: tuple[Layer, ...] | None = None
        self.stated: StatedRange | None = None
        about.offer(families)
        for number, layer in enumerate(layers, 1):
            layer.number = number
            if isinstance(layer, DressingForm):
                layer.offer(register)

    @classmethod
    def sent(
        cls, families: Sequence[StructureFamily], register: Sequence[Diamond], *, is_new: bool
    ) -> Editor:
        """As it was posted, after the layers were added, removed or moved as the pressed button says."""
        act = request.form.get("do", "")
        rows = _arranged(_posted_layers(), act)
        about = AboutForm(formdata=request.form)
        about.is_new = is_new
        layers = [
            KINDS[row["kind"]](
                formdata=MultiDict({f"layer-{at}-{name}": value for name, value in row.items()}),
                prefix=f"layer-{at}-",
            )
            for at, row in enumerate(rows)
        ]
        return cls(about, layers, families, register)

    @classmethod
    def filled(
        cls,
        families: Sequence[StructureFamily],
        register: Sequence[Diamond],
        structure: Structure | None,
        *,
        is_new: bool,
    ) -> Editor:
        """From a structure; or, with none, blank but for one layer to begin with."""
        about = AboutForm(data={} if structure is None else about_values(structure))
        about.is_new = is_new
        cuts = structure.layers if structure else ()
        rows = [layer_values(layer, register) for layer in cuts] if structure else [dict(FRESH["dressing"])]
        layers = [KINDS[row["kind"]](data=row, prefix=f"layer-{at}-") for at, row in enumerate(rows)]
        return cls(about, layers, families, register)

    def structure(self, key: str | None = None) -> Structure | None:
        """The structure as it was entered, or nothing after every fault has been hung on its field."""
        about = self.about
        right = about.validate()
        layers = self.cuts = self._cut_layers()
        self.stated = about.stated_range()
        if not right or layers is None:
            return None
        if not layers and not about.states_a_surface():
            return None
        given = {
            "key": key or about.key.data,
            "name": about.name.data,
            "family": about.family.data,
            "summary": about.summary.data,
            "range": about.range_json(),
            "disciplines": list(about.disciplines.data or ()),
            "void_ml_m2": about.void_ml_m2.value or 0.0,
            "plateau": (about.plateau_pct.value or 0.0) / 100,
            "minutes": about.minutes.value,
            "removal_um": about.removal_um.value,
            "lay": lay_of(layers).value,
            **({"layers": [layer.to_json() for layer in layers]} if layers else {}),
        }
        try:
            read = Structure.from_json(given)
        except BadValue as fault:
            self._blame(fault)
            return None
        if layers and read.removal_um < least_removal_um(layers):
            problem = Phrase(
                N_("Enter at least %(least)s µm: that is how deep the layers cut"),
                {"least": least_removal_um(layers)},
            )
            about.blame("removal_um", problem)
            return None
        return read

    def _cut_layers(self) -> tuple[Layer, ...] | None:
        read = [layer.layer() for layer in self.layers]
        return None if None in read else tuple(layer for layer in read if layer is not None)

    def _blame(self, fault: BadValue) -> None:
        name = str(fault.place[-1]) if fault.place else ""
        if "suits" in fault.place:
            name = suits_name(SnowKind(name)) if name in set(SnowKind) else suits_name(SnowKind.NEW)
        self.about.blame(name if name in self.about else "name", sentence(fault))

    def forget_problems(self) -> None:
        """Nothing was asked yet, so nothing is wrong."""
        for form in (self.about, *self.layers):
            for field in form:
                field.errors = ()

    @property
    def problems(self) -> list[tuple[str, Any]]:
        """(field id, message) for the summary at the top of the page, in the order of the page."""
        return [*self.about.problems, *(problem for layer in self.layers for problem in layer.problems)]


FIELD = re.compile(r"layer-(\d)-(\w+)")


def _posted_layers() -> list[dict[str, str]]:
    """What was posted for each layer: names without their prefix -> text; one of an unknown kind is left out."""
    found: dict[int, dict[str, str]] = {}
    for name, value in request.form.items():
        parts = FIELD.fullmatch(name)
        if parts:
            found.setdefault(int(parts[1]), {})[parts[2]] = value
    return [row for _, row in sorted(found.items()) if row.get("kind") in KINDS][:MOST_LAYERS]


def _arranged(rows: list[dict[str, str]], act: str) -> list[dict[str, str]]:
    """The rows after a button was pressed: add-dressing, add-profile, remove-N or up-N with N from 0."""
    what, _, which = act.partition("-")
    if what == "add" and which in KINDS and len(rows) < MOST_LAYERS:
        # A further layer mostly differs from the last one in little, so it begins as a copy.
        like = next((row for row in reversed(rows) if row["kind"] == which), None)
        fresh = {
            name: as_written(value) if isinstance(value, float) else value
            for name, value in FRESH[which].items()
        }
        return [*rows, dict(like) if like else fresh]
    numbers = [str(number) for number in range(len(rows))]
    if what in {"remove", "up"} and which in numbers:
        at = numbers.index(which)
        row = rows[at]
        rest = rows[:at] + rows[at + 1 :]
        if what == "remove":
            return rest
        rest.insert(max(0, at - 1), row)
        return rest
    return rows
