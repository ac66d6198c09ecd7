"""The forms on the way of a list into the portal, whatever it is a list of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Self

from flask import request
from markupsafe import Markup, escape
from wtforms import FileField, RadioField, SelectField
from wtforms.fields.choices import SelectChoice  # type: ignore[attr-defined]

from portal.domain.hourly import cleaned_place
from portal.domain.importing.columns import Column
from portal.domain.importing.readings import Content, Reading
from portal.domain.importing.sheets import ROWS_ABOVE
from portal.domain.importing.text_tables import BETWEEN, ENCODINGS, can_be, telling_words, text_of
from portal.domain.words import N_, Phrase
from portal.queries.imports import OpenImport
from portal.web.forms import NumberField, PortalForm

# A tab cannot stand in the value of a radio button as it is.
TAB = "tab"


def choice(value: object, label: Phrase | str, group: str | None = None) -> Any:
    """One choice of a select, under the heading of its group."""
    return SelectChoice(str(value), label, optgroup=group)


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
            if len(content.sheets) == 1:
                del form.sheet
                return form
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
    """What the columns hold; a subclass asks how their cells are meant."""

    columns: Sequence[Column] = ()
    it: OpenImport

    @classmethod
    def about(cls, it: OpenImport, meant: Mapping[int, str], **data: Any) -> Self:
        """The form for the columns of a list, with what each is taken for; ``data`` fills the other questions."""
        choices = [
            choice("", N_("Not needed")),
            *(choice(one.key, one.label, one.group) for one in it.row.subject.fields),
        ]
        questions = {
            f"column_{column.at}": SelectField(
                column.title, choices=choices, default=meant.get(column.at, "")
            )
            for column in it.columns
        }
        made: type[Self] = type("ColumnsFormOfList", (cls,), questions)
        form = made.posted(**data)
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

    def missing(self, taken: frozenset[str]) -> Phrase | None:
        """What no column holds although the list is of no use without it."""
        raise NotImplementedError

    def validate(self, extra_validators: Any = None) -> bool:
        """The answers one by one, then together: no field twice, and enough to know whom a row is about."""
        right = super().validate(extra_validators)
        taken: dict[str, Column] = {}
        for column, field in self.questions:
            if field.data and field.data in taken:
                told = N_("%(other)s is taken for the same already. Choose another meaning for one of them")
                field.errors = [Phrase(told, {"other": taken[field.data].title})]
                right = False
            taken.setdefault(field.data, column)
        missing = self.missing(frozenset(taken))
        if missing is not None:
            first = self.questions[0][1] if self.questions else next(iter(self))
            first.errors = [missing]
            return False
        return right
