"""What the papers of a crate share: its head with the code of the order, and a table with a box to tick for each pair."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from portal.documents.beside import Beside
from portal.documents.fonts import faces
from portal.documents.layout import CELL, CELL_HEAD, LEAD, SMALL, Sheet, Strong, TickBox, Typesetter
from portal.documents.letterhead import Letterhead
from portal.documents.squares import square_code
from portal.domain.words import N_, Phrase
from portal.i18n import Voice

SQUARE = 28 * mm


@dataclass(frozen=True)
class CratePair:
    """One pair: its tag, who skis it (a display name and nothing more), what it is, and the work in words."""

    code: str
    skier: str
    title: str
    mark: str
    discipline: Phrase | str
    work: tuple[Phrase | str, ...]


@dataclass(frozen=True)
class CratePaper:
    """An order as its crate is packed or given back; ``address`` is what the square code says, ``place`` empty for the counter."""

    workshop: Letterhead
    reference: str
    address: str
    club: str
    place: str
    hand_in: date
    ready: date
    pairs: tuple[CratePair, ...]
    made_on: date


class CrateSheet:
    """Sets one of the papers; what each adds stands in its own module."""

    name = ""
    column = ""

    def __init__(self, it: CratePaper, voice: Voice, fallback_fonts: Sequence[Path] | None) -> None:
        self.it, self.voice, self.say = it, voice, voice.say
        self.set = Typesetter(faces(fallback_fonts))

    def render(self) -> bytes:
        """The PDF, tagged; the same paper gives the same bytes."""
        sheet = Sheet(
            title=self.title(),
            language=self.voice.language.replace("_", "-"),
            running=f"{self.it.club} \N{MIDDLE DOT} {self.it.workshop.name}",
            reference=self.it.reference,
            foot=self.say(N_("As of %(day)s"), day=self.voice.date(self.it.made_on)),
            page=lambda number, total: self.say(
                N_("Page %(number)s of %(total)s"), number=number, total=total
            ),
        )
        return self.set.build(sheet, self.story)

    def title(self) -> str:
        """Its name and the reference of the order."""
        return self.say(self.name, reference=self.it.reference)

    def facts(self) -> list[tuple[str, str]]:
        """What stands beside the code: words already said."""
        return []

    def after(self) -> list[Flowable]:
        """What stands below the pairs."""
        return []

    def story(self) -> list[Flowable]:
        return [
            self.set.heading(self.title(), 1),
            self._head(),
            self.set.space(2),
            self.set.facts(self.facts()),
            *self.set.section(
                self.voice.plural(N_("%(num)s pair"), N_("%(num)s pairs"), len(self.it.pairs))
                % {"num": len(self.it.pairs)}
            ),
            self._pairs(),
            *self.after(),
        ]

    def _head(self) -> Flowable:
        """Whose skis they are and who grinds them, with the square code of the order beside it."""
        shop = self.it.workshop
        reach = (*shop.address_lines, *filter(None, (shop.phone, shop.email)))
        words = [
            self.set.text(Strong(self.it.club), LEAD),
            self.set.space(1),
            self.set.text(" \N{MIDDLE DOT} ".join((shop.name, *reach)), SMALL),
            *([self.set.text(shop.hours, SMALL)] if shop.hours else []),
        ]
        code = self.set.picture(
            square_code(self.it.address, SQUARE),
            self.say(N_("Square code of order %(reference)s"), reference=self.it.reference),
        )
        return Beside([words, [code]], [self.set.width - SQUARE, SQUARE])

    def _pairs(self) -> Flowable:
        heads = (self.column, N_("Tag"), N_("Skied by"), N_("Pair"), N_("Kind"), N_("Work"))
        rows = [
            [
                TickBox(),
                self.set.text(Strong(pair.code), CELL),
                self.set.text(pair.skier or "–", CELL),
                self.set.text(", ".join(filter(None, (pair.title, pair.mark))), CELL),
                self.set.text(self.say(pair.discipline), CELL),
                self.set.text(", ".join(self.say(one) for one in pair.work), CELL),
            ]
            for pair in self.it.pairs
        ]
        head = [self.set.text(self.say(name), CELL_HEAD) for name in heads]
        widths = (14 * mm, 18 * mm, 26 * mm, 0, 16 * mm, 38 * mm)
        return self.set.table([head], rows, widths, row_head=1, tight=(0,))
