"""An invoice as it is for ever, after EN 16931-1: who, what, the tax of each rate, and what is to be paid.

Prices include tax and the standard reckons from amounts without, so a bill is turned round here. The tax of a rate is the one
that the bill states (``domain/prices.py``); the taxable amount is the one whose tax that is (BR-CO-17), and where the two miss
the bill by a cent, the rounding amount (BT-114) carries it. What is paid is always the bill to the cent.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal
from enum import StrEnum

from portal.domain.prices import CENT, ZERO, Bill, Line, tax_within
from portal.domain.words import N_, Phrase

# Prices without tax are written with so much of a cent; where that is not exact, the price is for all pieces together.
FINE = Decimal("0.0001")


class InvoiceKind(StrEnum):
    """Whether money is asked for, or an invoice is taken back in whole or in part."""

    INVOICE = "invoice"
    CREDIT_NOTE = "credit_note"

    @property
    def label(self) -> str:
        return {InvoiceKind.INVOICE: N_("Invoice"), InvoiceKind.CREDIT_NOTE: N_("Credit note")}[self]

    @property
    def type_code(self) -> str:
        """What UNTDID 1001 calls it."""
        return {InvoiceKind.INVOICE: "380", InvoiceKind.CREDIT_NOTE: "381"}[self]


class Category(StrEnum):
    """The kinds of tax that occur here, with their codes of UNCL 5305."""

    STANDARD = "S"
    ZERO = "Z"
    EXEMPT = "E"
    OUTSIDE = "O"


@dataclass(frozen=True)
class Party:
    """The seller or the buyer; ``lines`` are street and whatever else stands above the town."""

    name: str
    lines: tuple[str, ...] = ()
    post_code: str = ""
    city: str = ""
    # Two letters of ISO 3166-1.
    country: str = ""
    vat_number: str = ""
    tax_number: str = ""
    register_number: str = ""
    phone: str = ""
    email: str = ""


@dataclass(frozen=True)
class Account:
    """Where money is sent."""

    holder: str
    iban: str
    bic: str = ""


@dataclass(frozen=True)
class InvoiceLine:
    """So many of something: ``net`` in all, at ``price`` for ``per`` pieces, without tax; ``gross`` and ``each`` with it."""

    name: str
    count: int
    net: Decimal
    price: Decimal
    per: int
    category: Category
    rate: Decimal | None
    each: Decimal
    gross: Decimal


@dataclass(frozen=True)
class Allowance:
    """What is taken off the whole, as amounts above zero, and why."""

    reason: str
    net: Decimal
    category: Category
    rate: Decimal | None
    gross: Decimal


@dataclass(frozen=True)
class TaxPart:
    """The tax of one category and rate, in per cent; ``reason`` says why there is none."""

    category: Category
    rate: Decimal | None
    taxable: Decimal
    tax: Decimal
    reason: str = ""


@dataclass(frozen=True)
class Amounts:
    """What a bill comes to by the rules of the standard."""

    lines: tuple[InvoiceLine, ...]
    allowances: tuple[Allowance, ...]
    taxes: tuple[TaxPart, ...]
    # What is added so that people pay what the bill says (BT-114).
    rounding: Decimal = ZERO

    @property
    def lines_net(self) -> Decimal:
        """BT-106."""
        return sum((line.net for line in self.lines), ZERO)

    @property
    def allowances_net(self) -> Decimal:
        """BT-107."""
        return sum((one.net for one in self.allowances), ZERO)

    @property
    def net(self) -> Decimal:
        """BT-109."""
        return self.lines_net - self.allowances_net

    @property
    def tax(self) -> Decimal:
        """BT-110."""
        return sum((part.tax for part in self.taxes), ZERO)

    @property
    def total(self) -> Decimal:
        """BT-112, before it is rounded to what the bill says."""
        return self.net + self.tax


@dataclass(frozen=True)
class Invoice:
    """All that an invoice or a credit note says, in the words it was issued with; nothing in it ever changes."""

    kind: InvoiceKind
    number: str
    issued_on: date
    due_on: date | None
    currency: str
    language: str
    booking: str
    buyer_reference: str
    seller: Party
    # The name that people know the seller by.
    trading_as: str
    buyer: Party
    account: Account | None
    # What the payer writes beside the payment, and by when it is expected or what becomes of it.
    remittance: str
    terms: str
    supplied_on: date | None
    amounts: Amounts
    prepaid: Decimal
    # The number and day of the invoice that a credit note takes back, and why.
    corrects: str = ""
    corrects_of: date | None = None
    reason: str = ""
    remark: str = ""

    @property
    def billed(self) -> Decimal:
        """What the bill comes to, tax included."""
        return self.amounts.total + self.amounts.rounding

    @property
    def payable(self) -> Decimal:
        """BT-115: what is still to pay; below zero where money is given back."""
        return self.billed - self.prepaid


def invoice_number(kind: InvoiceKind, year: int, number: int) -> str:
    """The number as it is read: invoices and credit notes of a year are counted together, without gaps."""
    return f"{'INV' if kind is InvoiceKind.INVOICE else 'CN'}-{year}-{number:05d}"


def amounts(bill: Bill, say: Callable[[Phrase], str], no_tax: str = "") -> Amounts:
    """A bill by the rules of the standard; ``no_tax`` is why a rate of nothing, or none at all, is on it.

    The bill states a rate for all lines or for none (``is_mixed``).
    """
    lines: dict[int, InvoiceLine] = {}
    allowances: dict[int, Allowance] = {}
    taxes = []
    rounding = ZERO
    for rate in sorted({line.rate for line in bill.lines}, key=lambda one: -(one or 0)):
        mine = [(at, line) for at, line in enumerate(bill.lines) if line.rate == rate]
        category = _category(rate, no_tax)
        gross = sum((line.amount for _at, line in mine), ZERO)
        tax = tax_within(gross, rate or ZERO)
        taxable = _taxable(gross, tax, rate or ZERO)
        rounding += gross - taxable - tax
        nets = _without_tax([line.amount for _at, line in mine], rate or ZERO, taxable)
        for (at, line), net in zip(mine, nets, strict=True):
            if line.amount < ZERO:
                allowances[at] = Allowance(say(line.label), -net, category, rate, -line.amount)
            else:
                lines[at] = _line(line, say(line.label), net, category)
        reason = no_tax if category in (Category.EXEMPT, Category.OUTSIDE) else ""
        taxes.append(TaxPart(category, rate, taxable, tax, reason))
    return Amounts(
        tuple(lines[at] for at in sorted(lines)),
        tuple(allowances[at] for at in sorted(allowances)),
        tuple(taxes),
        rounding,
    )


def is_mixed(bill: Bill) -> bool:
    """Whether some lines state a rate and some none, which no invoice can say (BR-O-11)."""
    return len({line.rate is None for line in bill.lines}) > 1


def _category(rate: Decimal | None, no_tax: str) -> Category:
    if rate is None:
        return Category.OUTSIDE
    if rate:
        return Category.STANDARD
    return Category.EXEMPT if no_tax else Category.ZERO


def _taxable(gross: Decimal, tax: Decimal, rate: Decimal) -> Decimal:
    """The amount nearest to ``gross`` less ``tax`` whose tax at ``rate`` is ``tax``: there is one within a cent up to 100 %."""
    for cents in (0, -1, 1):
        taxable = gross - tax + cents * CENT
        if (taxable * rate / 100).quantize(CENT, ROUND_HALF_UP) == tax:
            return taxable
    raise ValueError(f"no amount has {tax} of tax at {rate} %")


def _without_tax(grosses: Sequence[Decimal], rate: Decimal, taxable: Decimal) -> list[Decimal]:
    """Each amount without its tax, to the cent, so that together they are ``taxable``: who loses most by rounding gets a cent first."""
    exact = [gross * 100 / (100 + rate) for gross in grosses]
    nets = [one.quantize(CENT, ROUND_FLOOR) for one in exact]
    missing = int((taxable - sum(nets, ZERO)) / CENT)
    order = sorted(
        (at for at, gross in enumerate(grosses) if gross), key=lambda at: (nets[at] - exact[at], at)
    )
    for step in range(missing):
        nets[order[step % len(order)]] += CENT
    if missing < 0:
        nets[max(order, key=lambda at: abs(nets[at]))] += missing * CENT
    return nets


def _line(line: Line, name: str, net: Decimal, category: Category) -> InvoiceLine:
    each = (net / line.count).quantize(FINE)
    price, per = (each, 1) if each * line.count == net else (net, line.count)
    return InvoiceLine(name, line.count, net, _short(price), per, category, line.rate, line.each, line.amount)


def _short(price: Decimal) -> Decimal:
    """A price with its cents, and with more places only where they say something."""
    return price.quantize(CENT) if price == price.quantize(CENT) else price.normalize()


def changed(before: Bill, now: Bill) -> Bill:
    """What has to be credited of a bill so that ``now`` is left of it: a line that became dearer is below zero.

    Lines are told apart by what they say, what each costs and the tax within it.
    """
    counts: dict[tuple[str, str, Decimal, Decimal | None], int] = {}
    lines: dict[tuple[str, str, Decimal, Decimal | None], Line] = {}
    for bill, sign in ((before, 1), (now, -1)):
        for line in bill.lines:
            key = (line.label.text, str(line.label), line.each, line.rate)
            counts[key] = counts.get(key, 0) + sign * line.count
            lines.setdefault(key, line)
    left = []
    for key, count in counts.items():
        line = lines[key]
        if count:
            each = line.each if count > 0 else -line.each
            left.append(Line(line.label, abs(count), each, line.rate, line.item))
    return Bill(tuple(left))
