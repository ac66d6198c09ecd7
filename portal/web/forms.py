"""The base form of all audiences, and fields that forgive how people write numbers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Self

from flask import request
from wtforms import Form, StringField
from wtforms.form import BaseForm
from wtforms.validators import ValidationError

from portal.domain.words import N_, Phrase

DIGITS = 10


class Problem(ValidationError):
    """What is wrong with an answer, as a phrase that says what to do."""

    def __init__(self, text: str, **values: object) -> None:
        self.phrase = Phrase(text, values)
        super().__init__(self.phrase)  # type: ignore[arg-type]


class PortalForm(Form):
    """Turns posted text into values, and nothing more. Labels and errors stay message ids until they are shown."""

    @classmethod
    def posted(cls, **data: Any) -> Self:
        """The form as it was sent, or filled from ``data`` when the page is only opened."""
        if request.method == "POST":
            return cls(formdata=request.form, data=data)
        return cls(data=data)

    def is_sent_and_right(self) -> bool:
        """Whether the form was posted and every answer can be used."""
        return request.method == "POST" and self.validate()

    def __getitem__(self, name: str) -> Any:
        """A field by its name; what kind it is, whoever asks knows better than the type checker."""
        return super().__getitem__(name)

    @property
    def problems(self) -> list[tuple[str, Any]]:
        """(field id, message) for the summary at the top of the page, in the order of the fields."""
        found = []
        for field in self:
            for error in field.errors:
                anchor = field.id
                if isinstance(error, Sequence | Phrase | str):
                    found.append((anchor, error))
        return found


class NumberField(StringField):
    """A whole number, however it is spaced or followed by its unit; empty means not known."""

    number: int | None = None

    def __init__(
        self, label: str, validators: Sequence[Any] = (), *, least: int, most: int, unit: str = "", **kw: Any
    ) -> None:
        super().__init__(label, list(validators), **kw)
        self.least, self.most, self.unit = least, most, unit

    def process_formdata(self, valuelist: list[Any]) -> None:
        super().process_formdata(valuelist)
        self.number = None

    def process_data(self, value: Any) -> None:
        self.number = value
        self.data = "" if value is None else str(value)

    def pre_validate(self, form: BaseForm) -> None:
        text = (self.data or "").replace(" ", "").replace("\u00a0", "").replace("\u202f", "").lower()
        text = text.removesuffix(self.unit.lower()) if self.unit else text
        if not text:
            self.number = None
            return
        if not text.isascii() or not text.isdecimal():
            raise Problem(
                N_("Enter a whole number from %(least)s to %(most)s, or leave it empty"),
                least=self.least,
                most=self.most,
            )
        # So many digits are never a number of ours, and Python refuses to read thousands of them.
        self.number = int(text) if len(text) < DIGITS else None
        if self.number is None or not self.least <= self.number <= self.most:
            raise Problem(N_("Enter a number from %(least)s to %(most)s"), least=self.least, most=self.most)


def said(text: str) -> Any:
    """A validator: the field may not be empty; ``text`` says what to enter."""

    def check(_form: Form, field: Any) -> None:
        if not (field.data.strip() if isinstance(field.data, str) else field.data):
            raise Problem(text)

    return check


def at_most(length: int) -> Any:
    """A validator: no longer than ``length`` characters."""

    def check(_form: Form, field: Any) -> None:
        if field.data and len(field.data) > length:
            raise Problem(N_("Shorten this to %(most)s characters"), most=length)

    return check


def trimmed(value: str | None) -> str:
    """A filter: without white space at either end, and without the one character that no database text holds."""
    return (value or "").replace("\0", "").strip()
