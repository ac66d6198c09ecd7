"""The forms about invoices: what stands on them, whom one is to, what is taken back, which are listed."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Any, cast
from zoneinfo import ZoneInfo

from wtforms import HiddenField, RadioField, SelectField, StringField, TextAreaField

from portal.domain.epc_qr import is_bic, is_iban, tidy
from portal.domain.invoices import InvoiceKind
from portal.domain.words import N_
from portal.services.invoice_content import VAT_NUMBER, Buyer
from portal.services.invoicing import IssuerFacts
from portal.web.countries import CountryField
from portal.web.email_field import on_one_line
from portal.web.forms import NumberField, PortalForm, Problem, at_most, said, trimmed
from portal.web.shop.audit_form import PerhapsDay
from portal.web.shop.forms import choice, offered
from portal.web.shop.money_forms import KEY_LENGTH
from portal.web.shop.reasons import ReasonForm

WHOLE, PART = "whole", "part"
MOST_DAYS, MOST_YEARS = 120, 30
FIRST_YEAR, LAST_YEAR = 2000, 9000


def _line(label: str, most: int, *more: Any) -> StringField:
    return StringField(label, [*more, at_most(most)], filters=[on_one_line])


class IssuerForm(PortalForm):
    """Who issues invoices, and where money is sent."""

    legal_name = _line(
        N_("Name of who issues invoices"), 120, said(N_("Enter the name that the business is registered by"))
    )
    street = _line(N_("Street"), 120, said(N_("Enter the street and number")))
    post_code = _line(N_("Post code"), 20)
    city = _line(N_("Town"), 80, said(N_("Enter the town")))
    country = CountryField(N_("Country"))
    vat_number = _line(N_("VAT number"), 40)
    tax_number = _line(N_("Tax number"), 40)
    register_number = _line(N_("Register number"), 40)
    no_tax_reason = _line(N_("Why there is no tax"), 200)
    account_holder = _line(N_("Account holder"), 70)
    iban = _line(N_("IBAN"), 60)
    bic = _line(N_("BIC"), 20)
    pay_days = NumberField(
        N_("To be paid within"), [said(N_("Enter a number of days"))], least=0, most=MOST_DAYS, unit="days"
    )
    keep_invoices_years = NumberField(
        N_("Names stay on invoices for"),
        [said(N_("Enter a number of years"))],
        description=N_(
            "Years after the year of the invoice, for people who erased their account; ten is common, ask your accountant"
        ),
        least=0,
        most=MOST_YEARS,
        unit="years",
    )
    invoice_remark = TextAreaField(N_("At the foot of each invoice"), [at_most(500)], filters=[trimmed])

    def validate_vat_number(self, field: StringField) -> None:
        if field.data and not VAT_NUMBER.fullmatch(tidy(field.data)):
            raise Problem(N_("Begin with the two letters of the country, such as NO123456789MVA"))

    def validate_iban(self, field: StringField) -> None:
        if field.data and not is_iban(tidy(field.data)):
            raise Problem(N_("Compare it with a statement: its check digits are not right"))

    def validate_bic(self, field: StringField) -> None:
        if field.data and not is_bic(tidy(field.data)):
            raise Problem(N_("Enter the 8 or 11 letters and digits of the bank, or leave it empty"))
        if field.data and not self.iban.data:
            raise Problem(N_("Enter the IBAN too, or leave both empty"))

    @property
    def facts(self) -> IssuerFacts:
        """The same as values, once the form is right."""
        text = {
            name: self[name].data or ""
            for name in (
                "legal_name",
                "street",
                "post_code",
                "city",
                "country",
                "tax_number",
                "register_number",
                "account_holder",
                "no_tax_reason",
                "invoice_remark",
            )
        }
        numbers = {name: tidy(self[name].data or "") for name in ("vat_number", "iban", "bic")}
        return IssuerFacts(
            **text,
            **numbers,
            pay_days=cast(int, self.pay_days.number),
            keep_invoices_years=cast(int, self.keep_invoices_years.number),
        )


class BuyerForm(PortalForm):
    """Whom an invoice is to; ``key`` makes sure that a form that is sent twice is one invoice."""

    name = _line(N_("Name"), 120, said(N_("Enter the name of whoever pays")))
    address = TextAreaField(N_("Address"), [at_most(500)], filters=[trimmed])
    country = CountryField(N_("Country"))
    tax_number = _line(N_("VAT number or tax number"), 40)
    reference = _line(N_("Their reference"), 80)
    key = HiddenField(validators=[said(N_("Open the page again")), at_most(KEY_LENGTH)], filters=[trimmed])
    # What was to pay when the page was shown.
    payable = HiddenField(validators=[at_most(20)])

    @property
    def buyer(self) -> Buyer:
        """The same as values, once the form is right."""
        return Buyer(
            self.name.data or "",
            self.address.data or "",
            self.country.data or "",
            self.tax_number.data or "",
            self.reference.data or "",
        )


class CreditForm(ReasonForm):
    """How much of an invoice is taken back, and why."""

    how_much = RadioField(
        N_("What is taken back?"),
        [offered(N_("Choose what is taken back"))],
        choices=[
            choice(WHOLE, N_("The whole invoice")),
            choice(PART, N_("What the booking costs less by now")),
        ],
        validate_choice=False,
    )
    key = HiddenField(validators=[said(N_("Open the page again")), at_most(KEY_LENGTH)], filters=[trimmed])


class IssuedForm(PortalForm):
    """Which invoices to list; read from the address."""

    kind = SelectField(
        N_("What"),
        choices=[choice("", N_("Both")), *(choice(kind.value, kind.label) for kind in InvoiceKind)],
        validate_choice=False,
    )
    first = PerhapsDay(N_("From day"))
    last = PerhapsDay(N_("To day"))

    def validate_last(self, field: PerhapsDay) -> None:
        if field.day is not None and self.first.day is not None and field.day < self.first.day:
            raise Problem(N_("Enter a last day that is not before the first"))

    @property
    def wanted(self) -> InvoiceKind | None:
        return next((kind for kind in InvoiceKind if kind.value == self.kind.data), None)

    def span(self, today: date, zone: ZoneInfo) -> tuple[datetime, datetime]:
        """From midnight to midnight by the workshop's clock; this year's, where no day is named."""
        first = self.first.day or date(today.year, 1, 1)
        last = self.last.day or max(today, first)
        # Clocks of the first and the last years are beyond what can be reckoned with.
        first, last = (max(date(FIRST_YEAR, 1, 1), min(day, date(LAST_YEAR, 1, 1))) for day in (first, last))
        return datetime.combine(first, time(), zone), datetime.combine(last + timedelta(days=1), time(), zone)
