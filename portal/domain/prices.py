"""What a booking costs: a price list with dates, extras and club tiers, in decimals."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum

from portal.domain.errors import NotNow
from portal.domain.words import N_, Phrase

CENT = Decimal("0.01")


class Item(StrEnum):
    """What the workshop charges for."""

    GRIND = "grind"
    FLATTENING = "flattening"
    SATURATION = "saturation"

    @property
    def label(self) -> str:
        return {
            Item.GRIND: N_("Grind"),
            Item.FLATTENING: N_("Base flattening"),
            Item.SATURATION: N_("Hot-wax saturation"),
        }[self]


@dataclass(frozen=True)
class ListedPrice:
    """An amount, tax included, for an item from a day on."""

    item: Item
    amount: Decimal
    valid_from: date


@dataclass(frozen=True)
class Tier:
    """What a club saves, in per cent, from a number of pairs on."""

    from_pairs: int
    percent: Decimal


@dataclass(frozen=True)
class Line:
    """One line of a bill: how many of an item at what each; a saving is a line of its own with a negative amount."""

    label: Phrase
    count: int
    each: Decimal

    @property
    def amount(self) -> Decimal:
        return self.each * self.count


@dataclass(frozen=True)
class Bill:
    """The lines, in order."""

    lines: tuple[Line, ...]

    @property
    def total(self) -> Decimal:
        return sum((line.amount for line in self.lines), Decimal("0.00"))


def price_on(prices: Iterable[ListedPrice], item: Item, day: date) -> Decimal:
    """The amount for ``item`` on ``day``: the latest price that is valid by then. ``NotNow`` when there is none."""
    valid = [price for price in prices if price.item is item and price.valid_from <= day]
    if not valid:
        raise NotNow(
            Phrase(
                N_("The workshop has no price for “%(item)s” on that day. Ask the workshop."),
                {"item": Phrase(item.label)},
            )
        )
    return max(valid, key=lambda price: price.valid_from).amount


def bill(
    items: Sequence[frozenset[Item]],
    prices: Iterable[ListedPrice],
    day: date,
    tiers: Iterable[Tier] = (),
) -> Bill:
    """The bill for some pairs, each with the items it gets, at the prices of ``day``.

    A club's tier is taken off the whole, rounded half up to the cent once, on the sum.
    """
    prices = tuple(prices)
    lines = []
    for item in Item:
        count = sum(1 for wanted in items if item in wanted)
        if count:
            lines.append(Line(Phrase(item.label), count, price_on(prices, item, day)))
    reached = [tier for tier in tiers if tier.from_pairs <= len(items)]
    if reached and lines:
        percent = max(tier.percent for tier in reached)
        saved = (Bill(tuple(lines)).total * percent / 100).quantize(CENT, ROUND_HALF_UP)
        if saved:
            label = Phrase(
                N_("Club saving of %(percent)s %% for %(pairs)s pairs"),
                {"percent": f"{percent.normalize():f}", "pairs": len(items)},
            )
            lines.append(Line(label, 1, -saved))
    return Bill(tuple(lines))
