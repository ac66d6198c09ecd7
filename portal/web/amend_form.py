"""The form for a pair of a booking that is added or changed: which one, and what is done to it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from flask import request
from wtforms import BooleanField, SelectField
from wtforms.fields.choices import SelectChoice  # type: ignore[attr-defined]

from portal.domain.words import N_
from portal.queries import catalogue as find_structures
from portal.services.bookings import Wanted
from portal.web.forms import PortalForm, Problem
from portal.web.language import say
from portal.web.request import db

if TYPE_CHECKING:
    from portal.db.bookings import Booking, BookingItem
    from portal.db.pairs import Pair


class PairWorkForm(PortalForm):
    """Which pair, and what is done to it. Without a structure it gets the one that most pairs of its kind get."""

    pair = SelectField(N_("Which pair?"), validate_choice=False)
    structure = SelectField(N_("Structure"), validate_choice=False)
    flattening = BooleanField(
        N_("Base flattening"), description=N_("For bases that are no longer flat; takes off some base")
    )
    saturation = BooleanField(
        N_("Hot-wax saturation"), description=N_("The freshly cut base is filled with wax")
    )
    # Pair -> the structure that it gets when none is chosen.
    usual: Mapping[str, int] = MappingProxyType({})

    @property
    def has_pair(self) -> bool:
        """Whether a pair of the list is chosen."""
        return bool(self.pair.data) and any(choice.selected for choice in self["pair"].iter_choices())

    def validate_pair(self, _field: Any) -> None:
        if not self.has_pair:
            raise Problem(N_("Choose a pair from the list"))

    def validate_structure(self, field: Any) -> None:
        if not any(choice.selected for choice in field.iter_choices()):
            raise Problem(N_("Choose a structure from the list"))
        if not field.data and self.has_pair and self.pair.data not in self.usual:
            raise Problem(N_("No pair of this kind is in the booking yet. Choose a structure"))

    @property
    def wanted(self) -> Wanted:
        """What is chosen, once it is right."""
        structure_id = int(self.structure.data) if self.structure.data else self.usual[self.pair.data]
        return Wanted(
            int(self.pair.data), structure_id, bool(self.flattening.data), bool(self.saturation.data)
        )


def pair_work_form(booking: Booking, pairs: Sequence[Pair], item: BookingItem | None) -> PairWorkForm:
    """The form for a pair more, out of ``pairs``, or for what is changed about ``item``; opened with what the address says."""
    given = request.args
    start = {
        "pair": given.get("pair") or (str(item.pair_id) if item else ""),
        "structure": given.get("structure") or (str(item.structure_id) if item else ""),
        "flattening": "flattening" in given or (item is not None and item.flattening and "pair" not in given),
        "saturation": "saturation" in given or (item is not None and item.saturation and "pair" not in given),
    }
    form = PairWorkForm.posted(**start)
    rows = find_structures.all_current(db())
    form["pair"].choices = [SelectChoice(str(pair.id), pair_words(pair)) for pair in pairs]
    form["structure"].choices = [
        SelectChoice(str(row.id), f"{row.name} ({say(row.family.name)})")
        for row in rows
        if any(pair.discipline in find_structures.value(row).disciplines for pair in pairs)
    ]
    if item is None:
        form["pair"].choices.insert(0, SelectChoice("", N_("Choose a pair")))
        form["structure"].choices.insert(0, SelectChoice("", N_("As most pairs of its kind in the booking")))
        form.usual = _usual(booking, pairs, {row.id for row in rows})
    elif str(item.structure_id) not in {choice.value for choice in form["structure"].choices}:
        # It was on offer when it was ordered.
        form["structure"].choices.insert(0, SelectChoice(str(item.structure_id), item.structure.name))
    return form


def _usual(booking: Booking, pairs: Sequence[Pair], offered: set[int]) -> dict[str, int]:
    """Pair -> the structure that most pairs of its discipline get in the booking, where it is still on offer."""
    most: dict[Any, int] = {}
    for discipline in {pair.discipline for pair in pairs}:
        found = Counter(
            item.structure_id
            for item in booking.items
            if item.pair.discipline is discipline and item.structure_id in offered
        )
        if found:
            most[discipline] = found.most_common(1)[0][0]
    return {str(pair.id): most[pair.discipline] for pair in pairs if pair.discipline in most}


def pair_words(pair: Pair) -> str:
    """A pair in one line of a list: who skis it, what it is, and its mark."""
    named = " ".join(filter(None, (pair.title, pair.mark)))
    return f"{pair.junior.display_name}: {named}" if pair.junior else named
