"""What a club ordered and the workshop agreed to: pairs, work, days, place and price, on paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from portal.documents.bill_parts import BillParts
from portal.documents.fonts import faces
from portal.documents.layout import CELL, CELL_HEAD, LEAD, SMALL, Sheet, Strong, Typesetter
from portal.documents.letterhead import Letterhead
from portal.domain.prices import Bill
from portal.domain.words import N_, Phrase
from portal.i18n import Voice

WHOSE, WORK = 38 * mm, 62 * mm


@dataclass(frozen=True)
class OrderedPair:
    """One pair: whose it is, what it is, and the work in words."""

    whose: str
    title: str
    work: tuple[Phrase | str, ...]


@dataclass(frozen=True)
class OrderConfirmation:
    """All that the paper shows; ``agreed`` are sentences, ``place`` has its address below its name."""

    workshop: Letterhead
    club: str
    reference: str
    ordered_by: str
    standing: Phrase | str
    confirmed_on: date | None
    place: tuple[str, ...]
    hand_in: date
    arrives: date
    ready: date
    pairs: tuple[OrderedPair, ...]
    bill: Bill
    currency: str
    agreed: tuple[Phrase | str, ...]
    note: str
    made_on: date


def render(
    it: OrderConfirmation,
    voice: Voice,
    *,
    paper: str = "A4",
    fallback_fonts: Sequence[Path] | None = None,
) -> bytes:
    """The PDF on ``A4`` or ``letter``; the same order gives the same bytes."""
    return _Paper(it, voice, Typesetter(faces(fallback_fonts), paper)).render()


class _Paper:
    def __init__(self, it: OrderConfirmation, voice: Voice, setter: Typesetter) -> None:
        self.it, self.voice, self.set = it, voice, setter
        self.say = voice.say

    def render(self) -> bytes:
        number = self.say(N_("Order %(reference)s"), reference=self.it.reference)
        sheet = Sheet(
            title=self.say(N_("Confirmation of order %(reference)s"), reference=self.it.reference),
            language=self.voice.language.replace("_", "-"),
            running=self.it.workshop.name,
            reference=number,
            foot=self.say(N_("Printed on %(day)s"), day=self.voice.date(self.it.made_on)),
            page=lambda page, total: self.say(N_("Page %(number)s of %(total)s"), number=page, total=total),
        )
        return self.set.build(sheet, self.story)

    def story(self) -> list[Flowable]:
        it, head = self.it, self.it.workshop
        reach = [*head.address_lines, *filter(None, (head.phone, head.email))]
        ready = self.say(N_("Ready by the end of %(day)s"), day=self.voice.date(it.ready))
        bill = BillParts(self.set, self.voice, it.currency)
        agreed = [
            self.set.text(["\N{BULLET} ", self.say(one)] if len(it.agreed) > 1 else self.say(one))
            for one in it.agreed
        ]
        taxes: list[Flowable] = []
        if it.bill.taxes:
            title = self.set.heading(self.say(N_("Tax in it")), 2)
            taxes = [self.set.together(title, bill.taxes(it.bill.taxes))]
        return [
            self.set.text(" \N{MIDDLE DOT} ".join(reach), SMALL),
            self.set.space(6),
            self.set.heading(self.say(N_("Order confirmation")), 1),
            self.set.space(1),
            self.set.text(Strong(ready), LEAD),
            self.set.space(4),
            self.set.facts(self._facts()),
            *self._pairs(),
            *self.set.section(self.say(N_("Price"))),
            bill.bill(it.bill, [(N_("Total, tax included"), it.bill.total)]),
            *taxes,
            *([self.set.together(self.set.heading(self.say(N_("Agreed")), 2), *agreed)] if agreed else []),
        ]

    def _facts(self) -> list[tuple[str, str]]:
        it = self.it
        confirmed = self.voice.date(it.confirmed_on) if it.confirmed_on else ""
        facts = [
            (N_("For"), it.club),
            (N_("Order"), it.reference),
            (N_("Ordered by"), it.ordered_by),
            (N_("Stands"), self.say(it.standing)),
            (N_("Confirmed on"), confirmed),
            (N_("Hand in at"), "\n".join(it.place)),
            (N_("Hand in by"), self.voice.date(it.hand_in)),
            (N_("At the workshop"), self.voice.date(it.arrives) if it.arrives != it.hand_in else ""),
            (N_("Ready by the end of"), self.voice.date(it.ready)),
            (N_("Note"), it.note),
        ]
        return [(self.say(name), value) for name, value in facts if value]

    def _pairs(self) -> list[Flowable]:
        heads = (N_("Junior"), N_("Pair"), N_("Work"))
        rows = [
            [
                self.set.text(pair.whose or "–", CELL),
                self.set.text(pair.title, CELL),
                self.set.text(", ".join(self.say(one) for one in pair.work), CELL),
            ]
            for pair in self.it.pairs
        ]
        head = [self.set.text(self.say(name), CELL_HEAD) for name in heads]
        return [
            *self.set.section(self.say(N_("Pairs"))),
            self.set.table([head], rows, (WHOSE, 0, WORK), row_head=1),
        ]
