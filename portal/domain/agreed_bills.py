"""A bill after something was agreed: another price, a fee, a pair fewer, or its parts when a booking is parted.

Lines are told apart by their labels, since a kept bill is nothing but its lines.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal

from portal.domain.change_rules import Change
from portal.domain.prices import CENT, Bill, Item, Line, spread
from portal.domain.words import N_, Phrase

AGREED = N_("Difference to the agreed price")
FEES = {
    Change.MOVE: N_("Fee for another day"),
    Change.TAKE_OUT: N_("Fee for a pair taken out"),
    Change.CANCEL: N_("Fee for cancelling"),
}


def is_fee(line: Line) -> bool:
    """Whether the line is a fee for a change."""
    return line.label.text in FEES.values()


def fees(bill: Bill) -> Bill:
    """The fees alone: what is left to pay when a booking is called off."""
    return Bill(tuple(line for line in bill.lines if is_fee(line)))


def with_fee(bill: Bill, change: Change, amount: Decimal) -> Bill:
    """The bill with the fee for a change as its last line; the same bill where it costs nothing.

    The fee is part of the price of the grind, so it holds the tax rate that the grind has on this bill.
    """
    if not amount:
        return bill
    rate = next((line.rate for line in bill.lines if line.item is Item.GRIND), None)
    return Bill((*bill.lines, Line(Phrase(FEES[change]), 1, amount, rate)))


def agreed(bill: Bill, total: Decimal) -> Bill:
    """The bill that comes to ``total``: a line for each tax rate says by how much it differs, in place of what was agreed before."""
    rest = tuple(line for line in bill.lines if line.label.text != AGREED)
    return Bill((*rest, *_differing(rest, total - Bill(rest).total)))


def _differing(lines: Collection[Line], difference: Decimal) -> list[Line]:
    """An agreed difference, shared out over the tax rates of what it is agreed on."""
    over = [line for line in lines if not is_fee(line)]
    if Bill(tuple(over)).total:
        return spread(Phrase(AGREED), difference.quantize(CENT), over)
    rate = over[0].rate if over else None
    return [Line(Phrase(AGREED), 1, difference.quantize(CENT), rate)] if difference else []


def without_a_pair(before: Bill, anew: Bill) -> Bill:
    """``anew`` is the bill for the pairs that stay; what was agreed stays in proportion, and fees stay whole."""
    lines = list(anew.lines)
    whole = sum((line.amount for line in before.lines if not is_fee(line) and not _is_agreed(line)), CENT * 0)
    difference = sum((line.amount for line in before.lines if _is_agreed(line)), CENT * 0)
    if difference and whole:
        kept = (difference * anew.total / whole).quantize(CENT, ROUND_HALF_UP)
        lines += _differing(anew.lines, kept)
    return Bill((*lines, *fees(before).lines))


def _is_agreed(line: Line) -> bool:
    return line.label.text == AGREED


def counted(
    stay: Collection[frozenset[Item]], leave: Collection[frozenset[Item]]
) -> dict[str, tuple[int, int]]:
    """For how many pairs an item of the price list stands, by its label: of those that stay and of those that leave."""
    return {
        item.label: (sum(item in one for one in stay), sum(item in one for one in leave)) for item in Item
    }


def parted(bill: Bill, own: Mapping[str, tuple[int, int]], pairs: tuple[int, int]) -> tuple[Bill, Bill]:
    """The bill in two, to the cent: what stays and what leaves.

    ``own`` is how often a label stands for pairs that stay and that leave; such a line is parted by its count. Any other
    line is shared out by what the parts come to, or by ``pairs`` where they come to nothing; fees stay.
    """
    stays, leaves = _by_count(bill.lines, own)
    weight = sum((line.amount for line in stays), CENT * 0), sum((line.amount for line in leaves), CENT * 0)
    if not sum(weight):
        weight = Decimal(pairs[0]), Decimal(pairs[1])
    for line in bill.lines:
        if is_fee(line):
            stays.append(line)
        elif not _is_counted(line, own):
            away = (line.amount * weight[1] / sum(weight)).quantize(CENT, ROUND_HALF_UP)
            stays += _share(line, line.amount - away)
            leaves += _share(line, away)
    return Bill(tuple(stays)), Bill(tuple(leaves))


def _is_counted(line: Line, own: Mapping[str, tuple[int, int]]) -> bool:
    return sum(own.get(line.label.text, (0, 0))) == line.count and not is_fee(line)


def _by_count(lines: Collection[Line], own: Mapping[str, tuple[int, int]]) -> tuple[list[Line], list[Line]]:
    parts: tuple[list[Line], list[Line]] = ([], [])
    for line in lines:
        if _is_counted(line, own):
            for part, count in zip(parts, own[line.label.text], strict=True):
                if count:
                    part.append(replace(line, count=count))
    return parts


def _share(line: Line, amount: Decimal) -> list[Line]:
    return [replace(line, count=1, each=amount)] if amount else []
