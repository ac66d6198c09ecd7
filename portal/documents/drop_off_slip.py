"""The slip for skis that are handed in: what is left here, what is done with it, by when and for how much, and a line to sign."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from reportlab.lib.pagesizes import A5
from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from portal.documents.fonts import faces
from portal.documents.layout import (
    CELL,
    CELL_HEAD,
    FIGURES,
    FIGURES_HEAD,
    LEAD,
    PAPERS,
    SMALL,
    Sheet,
    Strong,
    Typesetter,
)
from portal.documents.letterhead import Letterhead
from portal.documents.signing import SignatureLine
from portal.domain.words import N_, Phrase
from portal.i18n import Voice

# A slip is small enough for a sheet that no other paper is set on.
SLIP_PAPERS = PAPERS | {"A5": A5}


@dataclass(frozen=True)
class SlipPair:
    """One pair: what it is, its mark, the code of its tag, and the work in words."""

    title: str
    mark: str
    code: str
    work: tuple[Phrase | str, ...]


@dataclass(frozen=True)
class SlipLine:
    """One line of the bill, with its amount as it is written."""

    label: Phrase | str
    count: int
    amount: str


@dataclass(frozen=True)
class DropOffSlip:
    """All that the slip shows; the hours of the workshop stand below its address, as far as it says any."""

    workshop: Letterhead
    reference: str
    customer: str
    contact: tuple[str, ...]
    hand_in: date
    ready: date
    pairs: tuple[SlipPair, ...]
    bill: tuple[SlipLine, ...]
    total: str
    note: str
    made_on: date


def render(
    slip: DropOffSlip, voice: Voice, *, paper: str = "A4", fallback_fonts: Sequence[Path] | None = None
) -> bytes:
    """The PDF on ``A4``, ``A5`` or ``letter``; the same slip gives the same bytes."""
    return _Paper(slip, voice, Typesetter(faces(fallback_fonts), paper, SLIP_PAPERS)).render()


class _Paper:
    def __init__(self, slip: DropOffSlip, voice: Voice, setter: Typesetter) -> None:
        self.slip, self.voice, self.set, self.say = slip, voice, setter, voice.say

    def render(self) -> bytes:
        sheet = Sheet(
            title=self.say(N_("Drop-off slip %(reference)s"), reference=self.slip.reference),
            language=self.voice.language.replace("_", "-"),
            running=self.slip.workshop.name,
            reference=self.slip.reference,
            foot=self.say(N_("As of %(day)s"), day=self.voice.date(self.slip.made_on)),
            page=lambda number, total: self.say(
                N_("Page %(number)s of %(total)s"), number=number, total=total
            ),
        )
        return self.set.build(sheet, self.story)

    def story(self) -> list[Flowable]:
        shop = self.slip.workshop
        reach = [*shop.address_lines, *filter(None, (shop.phone, shop.email))]
        return [
            self.set.text(" \N{MIDDLE DOT} ".join(reach), SMALL),
            *([self.set.text(shop.hours, SMALL)] if shop.hours else []),
            self.set.space(4),
            self.set.heading(self.say(N_("Drop-off slip %(reference)s"), reference=self.slip.reference), 1),
            self.set.text(
                Strong(self.say(N_("Ready on %(day)s"), day=self.voice.date(self.slip.ready))), LEAD
            ),
            self.set.space(3),
            self._facts(),
            *self._section(N_("Skis left with us")),
            self._pairs(),
            *self._section(N_("Price")),
            self._bill(),
            self._signature(),
        ]

    def _section(self, text: str) -> list[Flowable]:
        """A heading; on a small sheet only room, so that the slip of two pairs stays one page."""
        if self.set.size == A5:
            return [self.set.space(2)]
        return self.set.section(self.say(text))

    def _facts(self) -> Flowable:
        facts = [
            (N_("Name"), ", ".join((self.slip.customer, *self.slip.contact))),
            (N_("Handed in on"), self.voice.date(self.slip.hand_in)),
            (N_("Note"), self.slip.note),
        ]
        return self.set.facts([(self.say(name), value) for name, value in facts if value])

    def _pairs(self) -> Flowable:
        heads = (N_("Tag"), N_("Pair"), N_("Work"))
        rows = [
            [
                self.set.text(Strong(pair.code), CELL),
                self.set.text(", ".join(filter(None, (pair.title, pair.mark))), CELL),
                self.set.text(", ".join(self.say(one) for one in pair.work), CELL),
            ]
            for pair in self.slip.pairs
        ]
        head = [self.set.text(self.say(name), CELL_HEAD) for name in heads]
        return self.set.table([head], rows, (24 * mm, 0, self.set.width * 0.36), row_head=0)

    def _bill(self) -> Flowable:
        head = [
            self.set.text(self.say(N_("What")), CELL_HEAD),
            self.set.text(self.say(N_("Count")), FIGURES_HEAD),
            self.set.text(self.say(N_("Amount")), FIGURES_HEAD),
        ]
        rows = [
            [
                self.set.text(self.say(line.label), CELL),
                self.set.text(str(line.count), FIGURES),
                self.set.text(line.amount, FIGURES),
            ]
            for line in self.slip.bill
        ]
        total = [
            self.set.text(Strong(self.say(N_("Total, tax included"))), CELL),
            self.set.text("", FIGURES),
            self.set.text(Strong(self.slip.total), FIGURES),
        ]
        return self.set.table([head], [*rows, total], (0, 16 * mm, 28 * mm), row_head=0)

    def _signature(self) -> Flowable:
        return self.set.together(
            self.set.space(2),
            self.set.text(
                self.say(
                    N_(
                        "I leave these skis for the work named above. What is done beyond it is asked of me first."
                    )
                )
            ),
            SignatureLine(min(self.set.width, 90 * mm)),
            self.set.text(self.say(N_("Day and signature of whoever hands them in")), SMALL),
            self.set.space(2),
            self.set.text(
                self.say(N_("Bring this slip, or its reference, when you collect the skis.")), SMALL
            ),
        )
