"""The forms about money: prices, tax, savings, terms, payments."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal
from typing import Any

from wtforms import HiddenField, RadioField, SelectField, StringField
from wtforms.form import BaseForm

from portal.domain.payments import Method
from portal.domain.prices import Item
from portal.domain.words import N_
from portal.web.amounts import AMOUNT, DecimalField
from portal.web.forms import NumberField, PortalForm, Problem, at_most, said, trimmed
from portal.web.shop.forms import DayField, choice, offered
from portal.web.shop.reasons import ReasonForm

REMARK_LENGTH = 200
KEY_LENGTH = 40
PERCENT = re.compile(r"\d{1,3}([.,]\d{1,2})?", re.ASCII)
# Signs and letters that people write beside an amount: spaces of any width, and a currency.
BESIDE = re.compile(r"[\s\u00a0\u202f]|[A-Za-z]{3}|[€£$]")


class SumField(DecimalField):
    """The amount that a form is about, which is never left out."""

    def pre_validate(self, form: BaseForm) -> None:
        text = BESIDE.sub("", (self.data or "").replace("\0", ""))
        if not AMOUNT.fullmatch(text):
            raise Problem(N_("Enter an amount such as 49 or 49.50"))
        self.amount = Decimal(text.replace(",", "."))


class PercentField(DecimalField):
    """Per cent with at most two decimals, from 0 to 100."""

    def process_data(self, value: Any) -> None:
        self.amount = value
        self.data = "" if value is None else f"{value.normalize():f}"

    def pre_validate(self, form: BaseForm) -> None:
        text = "".join((self.data or "").replace("\0", "").split()).removesuffix("%")
        number = Decimal(text.replace(",", ".")) if PERCENT.fullmatch(text) else None
        if number is None or number > 100:
            raise Problem(N_("Enter a number from 0 to 100, such as 25 or 25.5"))
        self.amount = number


class FromDayForm(PortalForm):
    """Something of an item from a day on; the view sets ``earliest``, the day it is."""

    earliest: date

    item = SelectField(
        N_("For what?"),
        [offered(N_("Choose what it is for"))],
        choices=[choice(item.value, item.label) for item in Item],
        validate_choice=False,
    )
    valid_from = DayField(N_("From which day on?"), ask=N_("Enter the first day"))

    def validate_valid_from(self, field: DayField) -> None:
        if field.day is not None and field.day < self.earliest:
            raise Problem(N_("Enter today or a later day: what was charged before stays as it was"))


class PriceForm(FromDayForm):
    """What an item costs."""

    amount = SumField(N_("Price, tax included"))


class RateForm(FromDayForm):
    """The tax within the price of an item."""

    percent = PercentField(N_("Rate of tax"))


class TierForm(PortalForm):
    """What a club saves."""

    from_pairs = NumberField(
        N_("From how many pairs on?"), [said(N_("Enter a number of pairs"))], least=1, most=10_000
    )
    percent = PercentField(N_("What does a club save?"))


class TermsForm(PortalForm):
    """Which ready days are express, and the deposit."""

    express_days = NumberField(
        N_("Working days that are express"),
        [said(N_("Enter a number of working days, or 0 for none"))],
        least=0,
        most=30,
    )
    deposit_percent = NumberField(
        N_("Deposit"), [said(N_("Enter a number of per cent, or 0 for none"))], least=0, most=100, unit="%"
    )


def _methods() -> RadioField:
    return RadioField(
        N_("How?"),
        [offered(N_("Choose how it is paid"))],
        choices=[choice(method.value, method.label) for method in Method],
        validate_choice=False,
    )


class PaymentForm(PortalForm):
    """Money that is taken; ``key`` makes sure that a form that is sent twice is taken once."""

    amount = SumField(N_("How much?"))
    method = _methods()
    remark = StringField(N_("Remark"), [at_most(REMARK_LENGTH)], filters=[trimmed])
    key = HiddenField(validators=[said(N_("Open the page again")), at_most(KEY_LENGTH)], filters=[trimmed])


class RefundForm(ReasonForm):
    """Money that is given back, and why."""

    amount = SumField(N_("How much?"))
    method = _methods()
    key = HiddenField(validators=[said(N_("Open the page again")), at_most(KEY_LENGTH)], filters=[trimmed])
