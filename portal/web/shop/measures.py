"""A field for a measurement: a number with a decimal comma or point, with or without its unit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from wtforms import StringField
from wtforms.form import BaseForm

from portal.domain.questions import MINUS, NUMBER
from portal.domain.words import N_, Phrase
from portal.web.forms import Problem

MOST_CHARACTERS = 20


class MeasureField(StringField):
    """``value`` holds the number once it has been read, or None where the field is empty and may be."""

    value: float | None = None

    def __init__(
        self,
        label: str,
        validators: Sequence[Any] = (),
        *,
        least: float,
        most: float,
        unit: str = "",
        needed: bool = True,
        whole: bool = False,
        **kw: Any,
    ) -> None:
        super().__init__(label, list(validators), **kw)
        self.least, self.most, self.unit, self.needed, self.whole = least, most, unit, needed, whole

    def process_data(self, value: Any) -> None:
        self.value = value
        self.data = "" if value is None else as_written(value)

    def process_formdata(self, valuelist: list[Any]) -> None:
        super().process_formdata(valuelist)
        self.value = None

    def pre_validate(self, form: BaseForm) -> None:
        text = "".join((self.data or "").translate(MINUS).replace("\0", "").split())
        if self.unit and text.endswith(self.unit):
            text = text.removesuffix(self.unit)
        what = Phrase(self.label.text)
        if not text:
            if self.needed:
                raise Problem(N_("%(what)s: enter a number"), what=what)
            return
        if len(text) > MOST_CHARACTERS or not NUMBER.fullmatch(text):
            raise Problem(N_("%(what)s: enter digits only, with a decimal comma or point"), what=what)
        value = float(text.replace(",", "."))
        if self.whole and value != int(value):
            raise Problem(N_("%(what)s: enter a whole number"), what=what)
        if not self.least <= value <= self.most:
            raise Problem(
                N_("%(what)s: enter a number from %(least)s to %(most)s"),
                what=what,
                least=as_written(self.least),
                most=as_written(self.most),
            )
        self.value = value


def as_written(value: float) -> str:
    """A number as people write it: no trailing noughts, no powers of ten, a real minus sign."""
    return f"{value:.6f}".rstrip("0").rstrip(".").replace("-", "\N{MINUS SIGN}")
