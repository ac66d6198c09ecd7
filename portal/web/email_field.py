"""A field for an e-mail address, and names on one line: for accounts and for whoever is made known at the counter."""

from __future__ import annotations

from unicodedata import category

from wtforms import StringField
from wtforms.form import BaseForm

from portal.domain.words import N_
from portal.services.addresses import normal_email
from portal.web.forms import Problem
from portal.web.request import portal

EMAIL_WORDS = N_("Enter an e-mail address such as name@example.org")
NEVER_TYPED = {"Cc", "Zl", "Zp"}


class EmailField(StringField):
    """An e-mail address; ``address`` is its normal form."""

    address: str = ""

    def post_validate(self, form: BaseForm, validation_stopped: bool) -> None:
        if validation_stopped or self.errors:
            return
        # In the demo world every address is below a reserved name.
        found = normal_email(self.data or "", test_names=portal().settings.demo)
        if found is None:
            raise Problem(EMAIL_WORDS)
        self.address = found


def on_one_line(value: str | None) -> str:
    """A filter: line ends and control characters, which come from pasting, become spaces."""
    plain = (" " if category(letter) in NEVER_TYPED else letter for letter in value or "")
    return " ".join("".join(plain).split())
