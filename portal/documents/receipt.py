"""A receipt: what was paid or given back for a booking, with the tax within it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from pathlib import Path

from reportlab.platypus import Flowable

from portal.documents.bill_parts import BillParts
from portal.documents.fonts import faces
from portal.documents.layout import LEAD, SMALL, Said, Sheet, Strong, Typesetter
from portal.documents.letterhead import Letterhead
from portal.domain.payments import Method, PaymentKind
from portal.domain.prices import Bill, TaxSum
from portal.domain.words import N_
from portal.i18n import Voice


@dataclass(frozen=True)
class Receipt:
    """All that the paper shows. ``before`` is what was paid earlier; ``taxes`` are those within ``amount``, below zero in a refund.

    ``is_copy`` marks every paper after the first as one.
    """

    workshop: Letterhead
    number: str
    kind: PaymentKind
    method: Method
    amount: Decimal
    currency: str
    at: datetime
    taken_by: str
    remark: str
    payer: str
    booking: str
    bill: Bill
    before: Decimal
    taxes: tuple[TaxSum, ...]
    is_copy: bool = False

    @property
    def paid(self) -> Decimal:
        """What is paid in all once this is counted."""
        return self.before + (-self.amount if self.kind is PaymentKind.REFUND else self.amount)


def render(
    it: Receipt, voice: Voice, *, paper: str = "A4", fallback_fonts: Sequence[Path] | None = None
) -> bytes:
    """The PDF on ``A4`` or ``letter``; the same receipt gives the same bytes."""
    return _Paper(it, voice, Typesetter(faces(fallback_fonts), paper)).render()


class _Paper:
    def __init__(self, it: Receipt, voice: Voice, setter: Typesetter) -> None:
        self.it, self.voice, self.set = it, voice, setter
        self.parts = BillParts(setter, voice, it.currency)
        self.say = voice.say

    def render(self) -> bytes:
        number = self.say(N_("Receipt %(number)s"), number=self.it.number)
        sheet = Sheet(
            title=number,
            language=self.voice.language.replace("_", "-"),
            running=self.it.workshop.name,
            reference=f"{number}, {self.say(N_('copy'))}" if self.it.is_copy else number,
            foot=self.say(N_("Booking %(reference)s"), reference=self.it.booking),
            page=lambda page, total: self.say(N_("Page %(number)s of %(total)s"), number=page, total=total),
        )
        return self.set.build(sheet, self.story)

    def story(self) -> list[Flowable]:
        it = self.it
        reach = [*it.workshop.address_lines, *filter(None, (it.workshop.phone, it.workshop.email))]
        refund = it.kind is PaymentKind.REFUND
        said = N_("Given back: %(amount)s") if refund else N_("Paid: %(amount)s")
        story = [
            self.set.text(" \N{MIDDLE DOT} ".join(reach), SMALL),
            self.set.space(6),
            self.set.heading(self.say(N_("Refund") if refund else N_("Receipt")), 1),
            self.set.space(1),
            self.set.text(Strong(self.say(said, amount=self.parts.money(it.amount))), LEAD),
        ]
        if it.is_copy:
            story += [self.set.space(2), self.set.text(Strong(self.say(N_("Copy of the receipt"))))]
        return [
            *story,
            self.set.space(4),
            self.set.facts(self._facts(), columns=1),
            *self._bill(),
            *self._taxes(),
        ]

    def _facts(self) -> list[tuple[str, Said]]:
        it = self.it
        facts = [
            (N_("Number"), it.number),
            (N_("When"), self.voice.moment(it.at)),
            (N_("How"), self.say(it.method.label)),
            (N_("From"), it.payer) if it.kind is PaymentKind.PAYMENT else (N_("To"), it.payer),
            (N_("Booking"), it.booking),
            (N_("Taken by") if it.kind is PaymentKind.PAYMENT else N_("Given by"), it.taken_by),
            (N_("Remark"), it.remark),
        ]
        return [(self.say(name), value) for name, value in facts if value]

    def _bill(self) -> list[Flowable]:
        it = self.it
        if not it.bill.lines:
            return []
        left = it.bill.total - it.paid
        sums = [
            (N_("Total of the booking, tax included"), it.bill.total),
            *([(N_("Paid before"), it.before)] if it.before else []),
            (N_("Given back now"), -it.amount)
            if it.kind is PaymentKind.REFUND
            else (N_("Paid now"), it.amount),
            *([(N_("Still to pay"), left)] if left > 0 and it.kind is PaymentKind.PAYMENT else []),
        ]
        return [*self.set.section(self.say(N_("The booking"))), self.parts.bill(it.bill, sums)]

    def _taxes(self) -> list[Flowable]:
        it = self.it
        if not it.taxes:
            return []
        title = (
            N_("Tax in what was given back")
            if it.kind is PaymentKind.REFUND
            else N_("Tax in what was paid now")
        )
        return [*self.set.section(self.say(title)), self.parts.taxes(it.taxes)]
