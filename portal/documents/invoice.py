"""An invoice or a credit note on paper, with a code that a telephone pays by."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from portal.documents.bill_parts import BillParts
from portal.documents.fonts import faces
from portal.documents.layout import LEAD, SMALL, Said, Sheet, Strong, Typesetter
from portal.documents.squares import square_code
from portal.domain.epc_qr import NAME, Transfer, payload
from portal.domain.invoices import Category, Invoice, InvoiceKind, Party
from portal.domain.words import N_
from portal.i18n import voice

COUNT, EACH, RATE, AMOUNT = 14 * mm, 25 * mm, 16 * mm, 27 * mm
SQUARE = 30 * mm


def render(it: Invoice, *, paper: str = "A4", fallback_fonts: Sequence[Path] | None = None) -> bytes:
    """The PDF on ``A4`` or ``letter`` in the language it was issued in; the same invoice gives the same bytes."""
    return _Paper(it, Typesetter(faces(fallback_fonts), paper)).render()


def transfer_code(it: Invoice) -> str:
    """What the square code says; nothing where there is nothing to pay, no account, or another currency than the euro."""
    if it.account is None or it.currency != "EUR" or it.payable <= 0 or it.kind is not InvoiceKind.INVOICE:
        return ""
    account = it.account
    transfer = Transfer(account.holder[:NAME], account.iban, it.payable, bic=account.bic, text=it.remittance)
    try:
        return payload(transfer)
    except ValueError:
        # What an account was called once may not fit; the paper says it in words all the same.
        return ""


class _Paper:
    def __init__(self, it: Invoice, setter: Typesetter) -> None:
        self.it, self.set = it, setter
        self.voice = voice(it.language)
        self.say = self.voice.say
        self.parts = BillParts(setter, self.voice, it.currency)
        self.money = self.parts.money
        self.is_credit = it.kind is InvoiceKind.CREDIT_NOTE
        self.states_tax = all(part.category is not Category.OUTSIDE for part in it.amounts.taxes)

    def render(self) -> bytes:
        it = self.it
        title = N_("Credit note %(number)s") if self.is_credit else N_("Invoice %(number)s")
        number = self.say(title, number=it.number)
        sheet = Sheet(
            title=number,
            language=self.voice.language.replace("_", "-"),
            running=it.trading_as,
            reference=number,
            foot=self.say(N_("Booking %(reference)s"), reference=it.booking),
            page=lambda page, total: self.say(N_("Page %(number)s of %(total)s"), number=page, total=total),
        )
        return self.set.build(sheet, self.story)

    def story(self) -> list[Flowable]:
        it = self.it
        reach = [*self._address(it.seller), *filter(None, (it.seller.phone, it.seller.email))]
        return [
            self.set.text(" \N{MIDDLE DOT} ".join(reach), SMALL),
            self.set.space(3),
            self.set.heading(self.say(it.kind.label), 1),
            self.set.space(1),
            self.set.text(Strong(self._in_short()), LEAD),
            self.set.space(4),
            self.set.facts(self._facts(), columns=2),
            *self._lines(),
            *self._taxes(),
            *self._payment(),
            *([self.set.space(4), self.set.text(it.remark, SMALL)] if it.remark else []),
        ]

    def _in_short(self) -> str:
        it = self.it
        if self.is_credit:
            return self.say(N_("Credited: %(amount)s"), amount=self.money(it.billed))
        if it.payable < 0:
            return self.say(N_("To give back: %(amount)s"), amount=self.money(-it.payable))
        if not it.payable or it.due_on is None:
            return self.say(N_("Everything is paid."))
        return self.say(
            N_("To pay by %(day)s: %(amount)s"),
            day=self.voice.date(it.due_on),
            amount=self.money(it.payable),
        )

    def _facts(self) -> list[tuple[str, Said]]:
        it = self.it
        numbers = (
            (N_("VAT number %(number)s"), it.seller.vat_number),
            (N_("Tax number %(number)s"), it.seller.tax_number),
            (N_("Registered as %(number)s"), it.seller.register_number),
        )
        seller = [
            it.seller.name,
            *self._address(it.seller),
            *(self.say(text, number=number) for text, number in numbers if number),
        ]
        buyer = [it.buyer.name, *self._address(it.buyer), *_own_numbers(it.buyer)]
        corrected = ""
        if it.corrects and it.corrects_of:
            corrected = self.say(
                N_("Invoice %(number)s of %(day)s"), number=it.corrects, day=self.voice.date(it.corrects_of)
            )
        facts = [
            (N_("To"), "\n".join(buyer)),
            (N_("From"), "\n".join(seller)),
            (N_("Number"), it.number),
            (N_("Issued on"), self.voice.date(it.issued_on)),
            (N_("Takes back"), corrected),
            (N_("Reason"), it.reason),
            (N_("Booking"), it.booking),
            (N_("Work done on"), self.voice.date(it.supplied_on) if it.supplied_on else ""),
            (N_("Your reference"), it.buyer_reference),
        ]
        return [(self.say(name), value) for name, value in facts if value]

    def _address(self, party: Party) -> list[str]:
        """The lines below a name; the country only on what crosses a border."""
        town = " ".join(filter(None, (party.post_code, party.city)))
        abroad = self.it.seller.country != self.it.buyer.country
        return [*party.lines, *filter(None, (town, self.voice.country(party.country) if abroad else ""))]

    def _lines(self) -> list[Flowable]:
        amounts, money = self.it.amounts, self.money
        rows = [
            self._row(
                line.name, str(line.count), money(line.each), self._rate(line.rate), line.net, line.gross
            )
            for line in amounts.lines
        ]
        rows += [
            self._row(one.reason, "", "", self._rate(one.rate), -one.net, -one.gross)
            for one in amounts.allowances
        ]
        rows.append(self._row(self.say(N_("Total")), "", "", "", amounts.net, self.it.billed, strong=True))
        for name, amount in self._sums():
            rows.append(self._row(self.say(name), "", "", "", None, amount, strong=True))
        figures: tuple[str, ...] = (N_("Count"), N_("Each"), N_("Amount"))
        widths: tuple[float, ...] = (0, COUNT, EACH, AMOUNT)
        if self.states_tax:
            figures = (N_("Count"), N_("Each, with tax"), N_("Rate"), N_("Without tax"), N_("With tax"))
            widths = (0, COUNT, EACH, RATE, AMOUNT, AMOUNT)
        head = self.parts.heads(N_("What"), *figures)
        return [
            *self.set.section(self.say(N_("What is credited") if self.is_credit else N_("What it is for"))),
            self.set.table([head], rows, widths, row_head=0),
        ]

    def _row(
        self,
        name: str,
        count: str,
        each: str,
        rate: str,
        net: Decimal | None,
        gross: Decimal,
        *,
        strong: bool = False,
    ) -> list[Flowable]:
        cells = [count, each]
        if self.states_tax:
            cells += [rate, "" if net is None else self.money(net)]
        return self.parts.row(name, *cells, self.money(gross), strong=strong)

    def _rate(self, rate: Decimal | None) -> str:
        return "" if rate is None else self.parts.rate(rate)

    def _sums(self) -> list[tuple[str, Decimal]]:
        it = self.it
        if not it.prepaid and not self.is_credit:
            return [(N_("Still to pay"), it.payable)]
        paid = [(N_("Paid before"), it.prepaid)] if it.prepaid else []
        if self.is_credit:
            return [*paid, (N_("Taken off what is to pay"), it.payable)] if it.prepaid else []
        left = (N_("To give back"), -it.payable) if it.payable < 0 else (N_("Still to pay"), it.payable)
        return [*paid, left]

    def _taxes(self) -> list[Flowable]:
        amounts = self.it.amounts
        reasons = [part.reason for part in amounts.taxes if part.reason]
        shown: list[Flowable] = []
        if self.states_tax:
            rows = [
                self.parts.row(
                    self._rate(part.rate),
                    self.money(part.taxable),
                    self.money(part.tax),
                    self.money(part.taxable + part.tax),
                )
                for part in amounts.taxes
            ]
            if amounts.rounding:
                rows.append(self.parts.row(self.say(N_("Rounded by")), "", "", self.money(amounts.rounding)))
            head = self.parts.heads(N_("Rate"), N_("Without tax"), N_("Tax"), N_("With tax"))
            shown = [self.set.table([head], rows, (0, 30 * mm, 30 * mm, AMOUNT), row_head=0)]
        said = [part for reason in reasons for part in (self.set.space(1), self.set.text(reason, SMALL))]
        if not shown and not said:
            return []
        return [self.set.together(self.set.heading(self.say(N_("Tax")), 2), *shown, *said)]

    def _payment(self) -> list[Flowable]:
        it = self.it
        if it.account is None or it.payable <= 0:
            return [self.set.space(4), self.set.text(it.terms)] if it.terms else []
        facts = [
            (N_("Account holder"), it.account.holder),
            (N_("IBAN"), " ".join(it.account.iban[at : at + 4] for at in range(0, len(it.account.iban), 4))),
            (N_("BIC"), it.account.bic),
            (N_("Amount"), self.money(it.payable)),
            (N_("Reference"), it.remittance),
        ]
        code = transfer_code(it)
        scan: list[Flowable] = []
        if code:
            alt = self.say(N_("Square code with the payment, for a banking app"))
            caption = self.say(
                N_("Payment code: a banking app that reads it fills in the transfer. Compare before you pay.")
            )
            scan = [
                self.set.space(2),
                self.set.picture(square_code(code, SQUARE), alt),
                self.set.text(caption, SMALL),
            ]
        return [
            self.set.together(
                self.set.heading(self.say(N_("How to pay")), 2),
                self.set.facts([(self.say(name), value) for name, value in facts if value], columns=2),
                *scan,
            )
        ]


def _own_numbers(party: Party) -> list[str]:
    return [number for number in (party.vat_number, party.tax_number) if number]
