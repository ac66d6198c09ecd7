"""The sheet that goes into a parcel with skis: where it goes, whose it is, and the code of each pair for the scanner."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from portal.documents.fonts import faces
from portal.documents.layout import CELL, CELL_HEAD, SMALL, TITLE, Sheet, Strong, TickBox, Typesetter
from portal.documents.squares import square_code
from portal.domain.words import N_, Phrase
from portal.i18n import Voice

SQUARE = 18 * mm
BOX, TAG = 10 * mm, 34 * mm
LARGE = ParagraphStyle("large", TITLE, fontSize=16, leading=20)


@dataclass(frozen=True)
class SentPair:
    """A pair in the parcel: its title, its code as it is read, and what the square says."""

    title: str
    code: str
    address: str


@dataclass(frozen=True)
class AddressSheet:
    """All that the sheet shows; ``packing`` are the steps, ``packing_said`` what they rest on."""

    workshop: str
    address_lines: tuple[str, ...]
    reach: tuple[str, ...]
    reference: str
    sender: str
    sender_reach: str
    by: str
    pairs: tuple[SentPair, ...]
    packing: tuple[str | Phrase, ...]
    packing_said: str | Phrase


def render(
    it: AddressSheet, voice: Voice, *, paper: str = "A4", fallback_fonts: Sequence[Path] | None = None
) -> bytes:
    """The PDF on ``A4`` or ``letter``; the same sheet gives the same bytes."""
    return _Paper(it, voice, Typesetter(faces(fallback_fonts), paper)).render()


class _Paper:
    def __init__(self, it: AddressSheet, voice: Voice, setter: Typesetter) -> None:
        self.it, self.voice, self.set = it, voice, setter
        self.say = voice.say

    def render(self) -> bytes:
        sheet = Sheet(
            title=self.say(N_("Address sheet for booking %(reference)s"), reference=self.it.reference),
            language=self.voice.language.replace("_", "-"),
            running=self.it.workshop,
            reference=self.it.reference,
            foot=self.it.sender,
            page=lambda page, total: self.say(N_("Page %(number)s of %(total)s"), number=page, total=total),
        )
        return self.set.build(sheet, self.story)

    def story(self) -> list[Flowable]:
        it = self.it
        return [
            self.set.heading(self.say(N_("Address sheet")), 1),
            self.set.space(1),
            self.set.text(self.say(N_("Put this sheet inside the parcel, on top of the skis.")), SMALL),
            self.set.space(3),
            self.set.text(self.say(N_("To")), CELL_HEAD),
            # Large enough to be cut out for the outside of the box.
            *(self.set.text(Strong(line), LARGE) for line in (it.workshop, *it.address_lines)),
            self.set.space(4),
            self.set.facts(
                [
                    (self.say(N_("Booking")), Strong(it.reference)),
                    (self.say(N_("From")), it.sender),
                    (self.say(N_("Reach them at")), it.sender_reach),
                    (self.say(N_("At the workshop by")), it.by),
                    *([(self.say(N_("Questions")), ", ".join(it.reach))] if it.reach else []),
                ]
            ),
            *self._pairs(),
            *self._packing(),
        ]

    def _pairs(self) -> list[Flowable]:
        head: list[Flowable] = [
            self.set.text(self.say(text), CELL_HEAD)
            for text in (N_("Pair"), N_("Tag"), N_("For the scanner"))
        ]
        rows: list[list[Flowable]] = [
            [
                self.set.text(pair.title, CELL),
                self.set.text(Strong(pair.code), CELL),
                self.set.picture(
                    square_code(pair.address, SQUARE),
                    self.say(N_("Square code of tag %(code)s"), code=pair.code),
                ),
            ]
            for pair in self.it.pairs
        ]
        return [
            *self.set.section(self.say(N_("What is inside")), 50 * mm),
            self.set.table([head], rows, (0, TAG, SQUARE + 2 * mm), row_head=0),
        ]

    def _packing(self) -> list[Flowable]:
        head: list[Flowable] = [
            self.set.text(self.say(text), CELL_HEAD) for text in (N_("Done"), N_("Before you close the box"))
        ]
        rows: list[list[Flowable]] = [
            [TickBox(), self.set.text(self.say(step), CELL)] for step in self.it.packing
        ]
        return [
            *self.set.section(self.say(N_("Packing")), 40 * mm),
            self.set.caution(
                self.say(N_("Caution")),
                self.say(
                    N_(
                        "Edges and tips cut. Cover them before you lift the skis, and tape no bare edge to the box."
                    )
                ),
            ),
            self.set.space(6),
            self.set.table([head], rows, (BOX, 0)),
            self.set.space(1),
            self.set.text(self.say(self.it.packing_said), SMALL),
        ]
