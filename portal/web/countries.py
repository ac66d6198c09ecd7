"""A country to choose by its name in the reader's language; kept by its two letters."""

from __future__ import annotations

from typing import Any

from wtforms import SelectField
from wtforms.fields.choices import SelectChoice  # type: ignore[attr-defined]
from wtforms.form import BaseForm

from portal.domain.words import N_
from portal.web.forms import Problem
from portal.web.language import speak


class CountryField(SelectField):
    """A country, or none where ``may_be_empty`` says what that means."""

    def __init__(self, label: str, *, may_be_empty: str = "", **kw: Any) -> None:
        super().__init__(label, validate_choice=False, **kw)
        self.empty = may_be_empty
        self.choices = [
            SelectChoice("", may_be_empty or N_("Choose a country")),
            *(SelectChoice(code, name) for code, name in speak().countries()),
        ]

    def pre_validate(self, form: BaseForm) -> None:
        known = {code for code, _name in speak().countries()}
        if self.data in known or (self.empty and not self.data):
            return
        raise Problem(N_("Choose a country"))
