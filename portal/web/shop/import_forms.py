"""The forms on the way of a list into the portal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from flask import request
from markupsafe import Markup, escape
from wtforms import FileField, RadioField, SelectField, StringField
from wtforms.validators import Optional

from portal.domain.answers import Discipline
from portal.domain.hourly import cleaned_place
from portal.domain.importing.cells import DayOrder, ThicknessUnit, has_slashed_days, slashed_order
from portal.domain.importing.columns import Column, cell_at
from portal.domain.importing.customers import NAME_LENGTH, Options
from portal.domain.importing.readings import Content, Reading
from portal.domain.importing.sheets import ROWS_ABOVE, Cell
from portal.domain.importing.text_tables import BETWEEN, ENCODINGS, can_be, telling_words, text_of
from portal.domain.words import N_, Phrase
from portal.queries.imports import OpenImport
from portal.web.forms import NumberField, PortalForm, Problem, at_most, trimmed
from portal.web.shop.forms import choice

# A tab cannot stand in the value of a radio button as it is.
TAB = "tab"


class SendListForm(PortalForm):
    """A file with a list."""

    file = FileField(N_("File with the list"))

    def sent(self) -> tuple[str, bytes] | None:
        """The name and the content of the file that was sent along; nothing when none was chosen."""
        found = request.files.get("file")
        if found is None or not found.filename:
            return None
        return cleaned_place(found.filename), found.read()


class ReadingForm(PortalForm):
    """How the file is read; what does not concern a kind of file is left out of its page."""

    sheet = RadioField(N_("Which sheet holds the list?"), coerce=int)
    encoding = RadioField(N_("Which letters look right?"))
    between = RadioField(N_("What stands between two cells?"))
    heading = NumberField(N_("Row with the headings"), least=1, most=ROWS_ABOVE)

    @classmethod
    def about(cls, content: Content, reading: Reading) -> ReadingForm:
        """The form for a file, filled in with how it is read now."""
        form = cls.posted(
            sheet=reading.sheet,
            encoding=reading.encoding,
            between=TAB if reading.between == "\t" else reading.between,
            heading=reading.heading,
        )
        if content.is_text:
            del form.sheet
            data = content.text
            form.encoding.choices = [
                choice(one, label) for one, label in ENCODINGS.items() if can_be(data, one)
            ]
            form.between.choices = [
                choice(TAB if one == "\t" else one, label) for one, label in BETWEEN.items()
            ]
        else:
            del form.encoding, form.between
            form.sheet.choices = [choice(at, escape(sheet.name)) for at, sheet in enumerate(content.sheets)]
        return form

    def read(self, before: Reading) -> Reading:
        """The answers, with what was not asked as it was ``before``."""
        between = self["between"].data if "between" in self else before.between
        return Reading(
            heading=self["heading"].number or 1,
            sheet=self["sheet"].data if "sheet" in self else before.sheet,
            encoding=self["encoding"].data if "encoding" in self else before.encoding,
            between="\t" if between == TAB else between,
        )


def samples(content: Content) -> dict[str, Markup]:
    """For each way of writing letters, what the telling words are in it."""
    data = content.text
    return {
        one: escape(" · ".join(telling_words(text_of(data, one)))) for one in ENCODINGS if can_be(data, one)
    }


class ColumnsForm(PortalForm):
    """How the cells are meant; the questions for the columns are hung on by ``about``."""

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
    columns: Sequence[Column] = ()
    it: OpenImport

    @classmethod
    def about(cls, it: OpenImport, meant: Mapping[int, str], technician: str) -> ColumnsForm:
        """The form for the columns of a list, with what each is taken for."""
        options = it.options if it.row.options else Options(technician=technician)
        fields = it.row.subject.fields
        choices = [
            choice("", N_("Not needed")),
            *(choice(one.key, one.label, one.group) for one in fields),
        ]
        questions = {
            f"column_{column.at}": SelectField(
                column.title, choices=choices, default=meant.get(column.at, "")
            )
            for column in it.columns
        }
        made: type[ColumnsForm] = type("ColumnsFormOfList", (cls,), questions)
        form = made.posted(
            order=options.order or "",
            unit=options.unit,
            discipline=options.discipline or "",
            technician=options.technician,
        )
        form.columns, form.it = it.columns, it
        return form

    @property
    def questions(self) -> list[tuple[Column, Any]]:
        """Each column with its question."""
        return [(column, self[f"column_{column.at}"]) for column in self.columns]

    @property
    def meant(self) -> dict[int, str]:
        """What each column holds."""
        return {column.at: field.data for column, field in self.questions if field.data}

    @property
    def options(self) -> Options:
        """How the cells are meant; the order of a column of days that tells it is taken from there."""
        order = DayOrder(self.order.data) if self.order.data else slashed_order(self._days())
        return Options(
            order=order,
            unit=ThicknessUnit(self.unit.data),
            discipline=Discipline(self.discipline.data) if self.discipline.data else None,
            technician=self.technician.data or "",
            structures=self.it.options.structures,
        )

    def _days(self) -> list[Cell]:
        at = next((at for at, key in self.meant.items() if key == "day"), None)
        return [cell_at(row, at) for row in self.it.sheet.rows[self.it.reading.heading :]]

    def validate_order(self, field: RadioField) -> None:
        days = self._days()
        if not field.data and has_slashed_days(days) and slashed_order(days) is None:
            raise Problem(N_("Choose what stands first: days such as 3/4/23 in this list could be two days"))

    def validate(self, extra_validators: Any = None) -> bool:
        """The answers one by one, then together: no field twice, and enough to know a customer."""
        right = super().validate(extra_validators)
        taken: dict[str, Column] = {}
        for column, field in self.questions:
            if field.data and field.data in taken:
                told = N_("%(other)s is taken for the same already. Choose another meaning for one of them")
                field.errors = [Phrase(told, {"other": taken[field.data].title})]
                right = False
            taken.setdefault(field.data, column)
        first = self.questions[0][1] if self.questions else self.technician
        if not {"email", "phone"} & set(taken):
            told = N_("Say which column holds the e-mail address or the telephone: customers are known by it")
            first.errors = [Phrase(told)]
            return False
        if not {"name", "last_name", "first_name"} & set(taken):
            first.errors = [Phrase(N_("Say which column holds the name of the customer"))]
            return False
        return right


def structures_form(unknown: Sequence[tuple[str, str, int]], choices: Sequence[Any]) -> PortalForm:
    """A question for each name of a structure that none of ours has: (as it stands in the list, key chosen before, rows)."""
    questions = {
        f"name_{at}": SelectField(name, choices=list(choices), default=chosen)
        for at, (name, chosen, _rows) in enumerate(unknown)
    }
    made: type[PortalForm] = type("StructuresForm", (PortalForm,), questions)
    return made.posted()
