"""A field for an amount of money, with a decimal comma or point, with or without the currency behind it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from wtforms import StringField
from wtforms.form import BaseForm

from portal.domain.words import N_, Phrase
from portal.web.forms import Problem

# As much as a column of money holds with two decimals, and a limit nobody reaches by mistake.
MOST = Decimal("99999.99")
AMOUNT = re.compile(r"[0-9]{1,7}(?:[.,][0-9]{1,2})?")
CURRENCY = re.compile(r"[A-Za-z]{3}$")


class DecimalField(StringField):
    """A number with at most two decimals; ``amount`` holds it once it has been read, and until then there is none."""

    amount: Decimal | None = None

    def process_data(self, value: Any) -> None:
        self.amount = value
        self.data = "" if value is None else f"{value:.2f}"

    def process_formdata(self, valuelist: list[Any]) -> None:
        super().process_formdata(valuelist)
        self.amount = None


class AmountField(DecimalField):
    """An amount that may be left out unless it is ``needed``; what is wrong is told with the field's name, since pages have several."""

    def __init__(
        self, label: str, validators: Sequence[Any] = (), *, needed: bool = False, **kw: Any
    ) -> None:
        super().__init__(label, list(validators), **kw)
        self.needed = needed

    def pre_validate(self, form: BaseForm) -> None:
        text = CURRENCY.sub("", "".join((self.data or "").replace("\0", "").split()))
        what = Phrase(self.label.text)
        if not text:
            if self.needed:
                raise Problem(N_("%(what)s: enter an amount, or 0"), what=what)
            return
        if not AMOUNT.fullmatch(text):
            raise Problem(N_("%(what)s: enter an amount such as 49 or 49.50"), what=what)
        amount = Decimal(text.replace(",", "."))
        if amount > MOST:
            raise Problem(N_("%(what)s: enter no more than %(most)s"), what=what, most=MOST)
        self.amount = amount.quantize(Decimal("0.01"))


def posted_amount(text: str | None) -> Decimal:
    """The amount that a page of ours sent along unseen; nothing where it is none."""
    return Decimal(text) if text and AMOUNT.fullmatch(text) else Decimal("0.00")
