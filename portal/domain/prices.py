"""What a booking costs: a price list with dates, extras and club tiers, and the tax within it, in decimals.

Prices include value-added tax, as people pay them. The tax of a bill is worked out once for each rate, on the sum of all lines
with that rate: gross x rate / (100 + rate), rounded half up to the cent. Net is what is left, so that net and tax always
make up what is paid. Nothing else rounds a tax.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum

from portal.domain.errors import NotNow
from portal.domain.words import N_, Phrase

CENT = Decimal("0.01")
ZERO = Decimal("0.00")


class Item(StrEnum):
    """What the workshop charges for."""

    GRIND = "grind"
    FLATTENING = "flattening"
    SATURATION = "saturation"
    EXPRESS = "express"
    RETURN_POST = "return_post"

    @property
    def label(self) -> str:
        return {
            Item.GRIND: N_("Grind"),
            Item.FLATTENING: N_("Base flattening"),
            Item.SATURATION: N_("Hot-wax saturation"),
            Item.EXPRESS: N_("Express"),
            Item.RETURN_POST: N_("Return by post"),
        }[self]

    @property
    def is_saved_on(self) -> bool:
        """Whether a club's tier is taken off it: postage is passed on as it is."""
        return self is not Item.RETURN_POST


@dataclass(frozen=True)
class ListedPrice:
    """An amount, tax included, for an item from a day on."""

    item: Item
    amount: Decimal
    valid_from: date


@dataclass(frozen=True)
class ListedRate:
    """A rate of value-added tax, in per cent, for an item from a day on."""

    item: Item
    percent: Decimal
    valid_from: date


@dataclass(frozen=True)
class Tier:
    """What a club saves, in per cent, from a number of pairs on; ``agreed`` with one club, or the same for all."""

    from_pairs: int
    percent: Decimal
    agreed: bool = False


@dataclass(frozen=True)
class Line:
    """One line of a bill: how many of an item at what each; a saving is a line of its own with a negative amount.

    ``rate`` is the tax within it, in per cent; None where none was stated when the bill was made.
    """

    label: Phrase
    count: int
    each: Decimal
    rate: Decimal | None = None
    item: Item | None = None

    @property
    def amount(self) -> Decimal:
        return self.each * self.count


@dataclass(frozen=True)
class TaxSum:
    """The tax of one rate, in per cent, within a sum."""

    rate: Decimal
    gross: Decimal
    tax: Decimal

    @property
    def net(self) -> Decimal:
        return self.gross - self.tax


@dataclass(frozen=True)
class Bill:
    """The lines, in order."""

    lines: tuple[Line, ...]

    @property
    def total(self) -> Decimal:
        return sum((line.amount for line in self.lines), ZERO)

    @property
    def taxes(self) -> tuple[TaxSum, ...]:
        """The tax of each rate that its lines state, the highest rate first."""
        return _taxes(by_rate(self.lines))


def tax_within(gross: Decimal, rate: Decimal) -> Decimal:
    """The tax in an amount that includes it, at a rate in per cent, rounded half up to the cent."""
    return (gross * rate / (100 + rate)).quantize(CENT, ROUND_HALF_UP)


def by_rate(lines: Iterable[Line]) -> dict[Decimal | None, Decimal]:
    """What the lines of each tax rate come to."""
    sums: dict[Decimal | None, Decimal] = {}
    for line in lines:
        sums[line.rate] = sums.get(line.rate, ZERO) + line.amount
    return sums


def _taxes(sums: Mapping[Decimal | None, Decimal]) -> tuple[TaxSum, ...]:
    stated = [(rate, gross) for rate, gross in sums.items() if rate is not None]
    return tuple(
        TaxSum(rate, gross, tax_within(gross, rate))
        for rate, gross in sorted(stated, key=lambda one: -one[0])
    )


def shared_out(sums: Mapping[Decimal | None, Decimal], amount: Decimal) -> dict[Decimal | None, Decimal]:
    """``amount`` in the proportion of some sums; the last one takes what rounding leaves, so that nothing is lost."""
    whole, left, shares = sum(sums.values(), ZERO), amount, {}
    for number, (rate, part) in enumerate(sums.items(), start=1):
        is_last = number == len(sums) or not whole
        share = left if is_last else (amount * part / whole).quantize(CENT, ROUND_HALF_UP)
        shares[rate] = share
        left -= share
    return shares


def taxes_of_part(asked: Bill, paid: Decimal, stated: Iterable[TaxSum] = ()) -> tuple[TaxSum, ...]:
    """The tax that a receipt states when ``paid`` is what has been paid of a bill with it, and ``stated`` what receipts before it said.

    A part holds each rate in the proportion of the bill. All receipts together always state the tax of what is paid in all.
    """
    if not asked.total:
        return ()
    now = {one.rate: one for one in _taxes(shared_out(by_rate(asked.lines), paid))}
    before: dict[Decimal, TaxSum] = {}
    for one in stated:
        old = before.get(one.rate, TaxSum(one.rate, ZERO, ZERO))
        before[one.rate] = TaxSum(one.rate, old.gross + one.gross, old.tax + one.tax)
    parts = []
    for rate in sorted({*now, *before}, reverse=True):
        nothing = TaxSum(rate, ZERO, ZERO)
        new, old = now.get(rate, nothing), before.get(rate, nothing)
        parts.append(TaxSum(rate, new.gross - old.gross, new.tax - old.tax))
    return tuple(part for part in parts if part.gross or part.tax)


def price_on(prices: Iterable[ListedPrice], item: Item, day: date) -> Decimal:
    """The amount for ``item`` on ``day``: the latest price that is valid by then. ``NotNow`` when there is none."""
    amount = price_or_none(prices, item, day)
    if amount is None:
        raise NotNow(
            Phrase(
                N_("The workshop has no price for “%(item)s” on that day. Ask the workshop."),
                {"item": Phrase(item.label)},
            )
        )
    return amount


def price_or_none(prices: Iterable[ListedPrice], item: Item, day: date) -> Decimal | None:
    """The same, or nothing when there is no price by then."""
    valid = [price for price in prices if price.item is item and price.valid_from <= day]
    return max(valid, key=lambda price: price.valid_from).amount if valid else None


def rate_on(rates: Iterable[ListedRate], item: Item, day: date) -> Decimal | None:
    """The tax rate of ``item`` on ``day`` in per cent, or nothing where the workshop states none."""
    valid = [rate for rate in rates if rate.item is item and rate.valid_from <= day]
    return max(valid, key=lambda rate: rate.valid_from).percent if valid else None


def bill(
    items: Sequence[frozenset[Item]],
    prices: Iterable[ListedPrice],
    day: date,
    tiers: Iterable[Tier] = (),
    *,
    rates: Iterable[ListedRate] = (),
    once: Iterable[Item] = (),
    beside: int = 0,
) -> Bill:
    """The bill for some pairs, each with the items it gets, and what is charged ``once``, at the prices of ``day``.

    What a club saves is taken off what the work costs, rounded half up to the cent once, on the sum: the best of its tiers
    and of what was agreed with it, never both. Pairs ``beside`` these, in other parts of the order, count for the tier.
    """
    prices, rates, once = tuple(prices), tuple(rates), frozenset(once)
    lines = []
    for item in Item:
        count = sum(1 for wanted in items if item in wanted) + (item in once)
        if count:
            rate = rate_on(rates, item, day)
            lines.append(Line(Phrase(item.label), count, price_on(prices, item, day), rate, item))
    return Bill((*lines, *_savings(lines, len(items) + beside, tiers)))


AGREED_SAVING = N_("Agreed club saving of %(percent)s %%")


def agreed_in(asked: Bill) -> tuple[Tier, ...]:
    """What was agreed with a club when a bill was made, as its saving says; nothing where another saving counted."""
    percents = {line.label.values["percent"] for line in asked.lines if line.label.text == AGREED_SAVING}
    return tuple(Tier(0, Decimal(str(percent)), agreed=True) for percent in percents)


def _savings(lines: Sequence[Line], pairs: int, tiers: Iterable[Tier]) -> list[Line]:
    """What a club saves: one line, or one for each tax rate, which together are the saving that is rounded once."""
    reached = [tier for tier in tiers if tier.from_pairs <= pairs]
    best = max(reached, key=lambda tier: tier.percent, default=Tier(0, ZERO))
    saved_on = [line for line in lines if line.item is None or line.item.is_saved_on]
    saved = (Bill(tuple(saved_on)).total * best.percent / 100).quantize(CENT, ROUND_HALF_UP)
    if not saved:
        return []
    words = AGREED_SAVING if best.agreed else N_("Club saving of %(percent)s %% for %(pairs)s pairs")
    values = {"percent": as_percent(best.percent), "pairs": pairs}
    return spread(Phrase(words, values), -saved, saved_on)


def spread(label: Phrase, amount: Decimal, over: Iterable[Line]) -> list[Line]:
    """An amount that goes with some lines as a whole: one line for each tax rate among them, in proportion to the cent."""
    shares = shared_out(by_rate(over), amount)
    return [Line(label, 1, share, rate) for rate, share in shares.items() if share]


def as_percent(percent: Decimal) -> str:
    """A rate as people write it: ``12.5``, and ``10`` without zeros after it."""
    return f"{percent.normalize():f}"


def is_express(work_days: Iterable[date], arrival: date, ready: date, within: int) -> bool:
    """Whether ``ready`` is no more than so many working days after the day the skis reach the workshop; 0 means never."""
    return 0 < sum(1 for day in set(work_days) if arrival < day <= ready) <= within
