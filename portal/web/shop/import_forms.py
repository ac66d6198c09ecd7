"""The forms that a list of customers needs beside those of every list."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from wtforms import RadioField, SelectField, StringField
from wtforms.validators import Optional

from portal.domain.answers import Discipline
from portal.domain.importing.cells import DayOrder, ThicknessUnit, has_slashed_days, slashed_order
from portal.domain.importing.columns import cell_at
from portal.domain.importing.customers import NAME_LENGTH, Options
from portal.domain.importing.sheets import Cell
from portal.domain.words import N_, Phrase
from portal.queries.customer_lists import options_of
from portal.queries.imports import OpenImport
from portal.web.forms import PortalForm, Problem, at_most, trimmed
from portal.web.list_forms import ColumnsForm
from portal.web.shop.forms import choice


class CustomerColumnsForm(ColumnsForm):
    """What the columns of a list of customers hold, and how their cells are meant."""

    order = RadioField(
        N_("Days with slashes"),
        choices=[
            choice("", N_("There are none, or one of them tells")),
            *(choice(one.value, one.label) for one in DayOrder),
        ],
    )
    unit = RadioField(
        N_("Thickness of the base"), choices=[choice(one.value, one.label) for one in ThicknessUnit]
    )
    discipline = RadioField(
        N_("Pairs for which the list does not say classic or skate"),
        choices=[
            choice("", N_("Leave their rows out")),
            *(choice(one.value, one.label) for one in Discipline),
        ],
    )
    technician = StringField(
        N_("Ground by, where the list does not say"), [Optional(), at_most(NAME_LENGTH)], filters=[trimmed]
    )

    @classmethod
    def of(cls, it: OpenImport, meant: Mapping[int, str], technician: str) -> CustomerColumnsForm:
        """The form for the columns of a list, with what each is taken for."""
        options = options_of(it) if it.said else Options(technician=technician)
        return cls.about(
            it,
            meant,
            order=options.order or "",
            unit=options.unit,
            discipline=options.discipline or "",
            technician=options.technician,
        )

    @property
    def options(self) -> Options:
        """How the cells are meant; the order of a column of days that tells it is taken from there."""
        order = DayOrder(self.order.data) if self.order.data else slashed_order(self._days())
        return Options(
            order=order,
            unit=ThicknessUnit(self.unit.data),
            discipline=Discipline(self.discipline.data) if self.discipline.data else None,
            technician=self.technician.data or "",
            structures=options_of(self.it).structures,
        )

    def _days(self) -> list[Cell]:
        at = next((at for at, key in self.meant.items() if key == "day"), None)
        return [cell_at(row, at) for row in self.it.sheet.rows[self.it.reading.heading :]]

    def validate_order(self, field: RadioField) -> None:
        days = self._days()
        if not field.data and has_slashed_days(days) and slashed_order(days) is None:
            raise Problem(N_("Choose what stands first: days such as 3/4/23 in this list could be two days"))

    def missing(self, taken: frozenset[str]) -> Phrase | None:
        if not {"email", "phone"} & taken:
            told = N_("Say which column holds the e-mail address or the telephone: customers are known by it")
            return Phrase(told)
        if not {"name", "last_name", "first_name"} & taken:
            return Phrase(N_("Say which column holds the name of the customer"))
        return None


def structures_form(unknown: Sequence[tuple[str, str, int]], choices: Sequence[Any]) -> PortalForm:
    """A question for each name of a structure that none of ours has: (as it stands in the list, key chosen before, rows)."""
    questions = {
        f"name_{at}": SelectField(name, choices=list(choices), default=chosen)
        for at, (name, chosen, _rows) in enumerate(unknown)
    }
    made: type[PortalForm] = type("StructuresForm", (PortalForm,), questions)
    return made.posted()
