"""A bill on paper: its lines with sums below them, and the tax of each rate."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from portal.documents.layout import CELL, CELL_HEAD, FIGURES, FIGURES_HEAD, Strong, Typesetter
from portal.domain.prices import Bill, TaxSum
from portal.domain.words import N_
from portal.i18n import Voice

COUNT, EACH, AMOUNT = 16 * mm, 30 * mm, 32 * mm


class BillParts:
    """The parts, in one currency and one reader's language."""

    def __init__(self, setter: Typesetter, voice: Voice, currency: str) -> None:
        self.set, self.voice, self.currency = setter, voice, currency

    def money(self, amount: Decimal) -> str:
        """An amount as the reader writes it."""
        return self.voice.money(amount, self.currency)

    def rate(self, rate: Decimal) -> str:
        """A rate of tax with as many places as it has."""
        places = max(0, -int(rate.normalize().as_tuple().exponent))
        return f"{self.voice.number(rate, places)} %"

    def heads(self, first: str, *figures: str) -> list[Flowable]:
        """The head of a table: words, then columns of figures."""
        return [
            self.set.text(self.voice.say(first), CELL_HEAD),
            *(self.set.text(self.voice.say(text), FIGURES_HEAD) for text in figures),
        ]

    def row(self, first: str, *figures: str, strong: bool = False) -> list[Flowable]:
        """A line of a table, bold where it is a sum."""
        return [
            self.set.text(Strong(first) if strong else first, CELL),
            *(self.set.text(Strong(text) if strong and text else text, FIGURES) for text in figures),
        ]

    def bill(self, bill: Bill, sums: Sequence[tuple[str, Decimal]]) -> Flowable:
        """The lines of a bill, and sums below them."""
        rows = [
            self.row(
                self.voice.say(line.label), str(line.count), self.money(line.each), self.money(line.amount)
            )
            for line in bill.lines
        ]
        rows += [
            self.row(self.voice.say(name), "", "", self.money(amount), strong=True) for name, amount in sums
        ]
        head = self.heads(N_("What"), N_("Count"), N_("Each"), N_("Amount"))
        return self.set.table([head], rows, (0, COUNT, EACH, AMOUNT), row_head=0)

    def taxes(self, parts: Sequence[TaxSum]) -> Flowable:
        """The tax of each rate, with what it is on and what it comes to."""
        rows = [
            self.row(self.rate(part.rate), self.money(part.net), self.money(part.tax), self.money(part.gross))
            for part in parts
        ]
        head = self.heads(N_("Rate"), N_("Without tax"), N_("Tax"), N_("With tax"))
        return self.set.table([head], rows, (0, EACH, EACH, AMOUNT), row_head=0)
