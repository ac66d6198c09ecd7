"""The bench card: what stands beside the stone for a run or for one pair, to read with wet hands and to write on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from portal.documents.fonts import REGULAR, faces
from portal.documents.layout import (
    CELL,
    CELL_HEAD,
    FIGURES,
    FIGURES_HEAD,
    LEAD,
    SMALL,
    Said,
    Sheet,
    Strong,
    TickBox,
    Typesetter,
)
from portal.documents.letterhead import Letterhead
from portal.domain.base_life import Place, would_pass_minimum
from portal.domain.layers import Layer
from portal.domain.pressure import PressureLine
from portal.domain.words import N_, Phrase
from portal.i18n import Voice
from portal.pictures import pressure_line, section

CAUTION = N_(
    "A stone machine turns, throws water and grit and runs on mains electricity beside water. Local rules, the maker's "
    "manual and what trained people show you come first, wherever they say something else. Only people trained on it "
    "dress and grind, with guards closed, eyes and ears protected, dry hands at the switch and nothing loose near the "
    "stone. Switch off and wait until the stone stands still before you reach in. Ground edges cut: carry skis base to "
    "base."
)
PRESSURE_HEIGHT, SECTION_HEIGHT = 150, 130
# Rows to write on: what is measured at the bench.
WRITTEN = (N_("Before, µm"), N_("After, µm"), N_("Taken off, µm"))


@dataclass(frozen=True)
class PairOnCard:
    """A pair as it is called at the bench. Thickness and removal in whole µm, nothing where the base was never measured.

    ``clear`` is what the stone must not touch; ``pressure`` is there where the camber was measured.
    """

    tag: str
    title: str
    mark: str
    booking: str
    promised: date
    step: int
    steps: int
    thinnest_um: int | None
    removal_um: int
    clear: tuple[Phrase | str, ...] = ()
    pressure: PressureLine | None = None
    note: Phrase | str = ""


@dataclass(frozen=True)
class BenchCard:
    """All that the card shows; nothing else is looked up. ``layers`` are in the base once the run is through."""

    workshop: Letterhead
    reference: str
    layer: Phrase | str
    day: date
    grinder: Phrase | str
    settings: tuple[tuple[str, Phrase | str], ...]
    cut: Phrase | str
    layers: tuple[Layer, ...]
    minimum_um: int
    pairs: tuple[PairOnCard, ...]
    made_at: datetime


def render(
    card: BenchCard,
    voice: Voice,
    *,
    paper: str = "A4",
    fallback_fonts: Sequence[Path] | None = None,
    one_pair: bool = False,
) -> bytes:
    """The PDF on ``A4`` or ``letter``, of the run with all its pairs; ``one_pair`` makes it the card of its first pair."""
    setter = Typesetter(faces(fallback_fonts), paper)
    return (_PairPaper if one_pair else _Paper)(card, voice, setter).render()


class _Paper:
    """The card of a run."""

    def __init__(self, card: BenchCard, voice: Voice, setter: Typesetter) -> None:
        self.card, self.voice, self.set = card, voice, setter
        self.say = voice.say

    def render(self) -> bytes:
        sheet = Sheet(
            title=self.title(),
            language=self.voice.language.replace("_", "-"),
            running=self.card.workshop.name,
            reference=self.card.reference,
            foot=self.say(N_("Made %(moment)s"), moment=self.voice.moment(self.card.made_at)),
            page=lambda number, total: self.say(
                N_("Page %(number)s of %(total)s"), number=number, total=total
            ),
        )
        return self.set.build(sheet, self.story)

    def title(self) -> str:
        return self.say(N_("Bench card: %(layer)s"), layer=self.say(self.card.layer))

    def story(self) -> list[Flowable]:
        return [
            self.set.heading(self.title(), 1),
            self.set.space(1),
            self.set.text(Strong(self.where()), LEAD),
            self.set.caution(self.say(N_("Caution")), self.say(CAUTION)),
            *self.dressing(),
            *self.set.section(self.say(N_("Pairs in the order of work"))),
            self._pairs(),
        ]

    def where(self) -> str:
        day = self.voice.date(self.card.day)
        return f"{day}, {self.say(self.card.grinder)}" if self.card.grinder else day

    def dressing(self) -> list[Flowable]:
        """How the stone is dressed, and what it should leave on the base."""
        facts: list[tuple[str, Said]] = [
            (self.say(N_("Layer")), self.say(self.card.layer)),
            (self.say(N_("Test cut")), self.say(self.card.cut)),
            *((self.say(label), self.say(value)) for label, value in self.card.settings),
        ]
        parts: list[Flowable] = [
            self.set.together(self.set.heading(self.say(N_("Dressing")), 2), self.set.facts(facts, columns=2))
        ]
        if not self.card.layers:
            return parts
        drawing = section.draw(self.card.layers, self.voice, self.set.width, SECTION_HEIGHT, REGULAR)
        return [
            *parts,
            self.set.together(
                self.set.heading(self.say(N_("The base after it, across the ski")), 2),
                self.set.picture(drawing, section.describe(self.card.layers, self.voice)),
            ),
        ]

    def _pairs(self) -> Flowable:
        zones = max((len(pair.pressure.zones) for pair in self.card.pairs if pair.pressure), default=0)
        names = (N_("Base, µm"), N_("Takes off, µm"), *([N_("Wheel force of each zone, N")] if zones else []))
        head = [
            [
                self.set.text(self.say(N_("Done")), CELL_HEAD),
                self.set.text(self.say(N_("Tag")), CELL_HEAD),
                self.set.text(self.say(N_("Pair")), CELL_HEAD),
                *(self.set.text(self.say(name), FIGURES_HEAD) for name in names),
            ]
        ]
        rows = [self._row(pair, zones) for pair in self.card.pairs]
        widths = [12 * mm, 18 * mm, 0, 16 * mm, 20 * mm, *([38 * mm] if zones else [])]
        return self.set.table(head, rows, widths, row_head=2, tight=(0,))

    def _row(self, pair: PairOnCard, zones: int) -> list[Flowable | Sequence[Flowable]]:
        title: list[Said] = [pair.title]
        if pair.mark:
            title += ["  ", Strong(pair.mark)]
        told: list[Flowable] = [self.set.text(title, CELL)]
        told += [self.set.text(line, SMALL) for line in self._lines(pair)]
        forces: list[Flowable | Sequence[Flowable]] = (
            [self.set.text(self._forces(pair.pressure), FIGURES)] if zones else []
        )
        return [
            TickBox(),
            self.set.text(Strong(pair.tag), CELL),
            told,
            self.set.text(self._um(pair.thinnest_um), FIGURES),
            self.set.text(self._um(pair.removal_um), FIGURES),
            *forces,
        ]

    def _lines(self, pair: PairOnCard) -> list[Said | list[Said]]:
        """What to look out for."""
        found: list[Said | list[Said]] = [
            self.say(
                N_("%(booking)s, promised for %(day)s"),
                booking=pair.booking,
                day=self.voice.short_date(pair.promised),
            )
            + (f". {self.step(pair)}" if pair.steps > 1 else "")
        ]
        if pair.clear:
            found.append(Strong(" ".join(self.say(one) for one in pair.clear)))
        if self.is_short(pair):
            found.append(Strong(self.short(pair)))
        if pair.note:
            found.append(Strong(self.say(pair.note)))
        return found

    def step(self, pair: PairOnCard) -> str:
        return self.say(
            N_("Step %(step)s of %(steps)s"),
            step=self.voice.number(pair.step),
            steps=self.voice.number(pair.steps),
        )

    def is_short(self, pair: PairOnCard) -> bool:
        return pair.thinnest_um is not None and would_pass_minimum(
            pair.thinnest_um, self.card.minimum_um, pair.removal_um
        )

    def short(self, pair: PairOnCard) -> str:
        return self.say(
            N_(
                "Less than the workshop's minimum of %(um)s µm would be left. Measure before you grind, and ask."
            ),
            um=self.voice.number(self.card.minimum_um),
        )

    def _um(self, um: int | None) -> str:
        return "\N{EN DASH}" if um is None else str(um)

    def _forces(self, line: PressureLine | None) -> str:
        if line is None:
            return "\N{EN DASH}"
        return " / ".join(self.voice.number(zone.middle.evened_n) for zone in line.zones)


class _PairPaper(_Paper):
    """The card of one pair."""

    def __init__(self, card: BenchCard, voice: Voice, setter: Typesetter) -> None:
        super().__init__(card, voice, setter)
        self.pair = card.pairs[0]

    def title(self) -> str:
        return self.say(N_("Bench card: %(pair)s"), pair=self.pair.title)

    def story(self) -> list[Flowable]:
        pair = self.pair
        lead = f"{self.say(self.card.layer)}, {self.where()}"
        warnings = [self.short(pair)] if self.is_short(pair) else []
        warnings += [self.say(pair.note)] if pair.note else []
        return [
            self.set.heading(self.title(), 1),
            self.set.space(1),
            self.set.text(Strong(lead), LEAD),
            self.set.space(3),
            self.set.facts(self._facts(), columns=2),
            *(self.set.text(Strong(one)) for one in warnings),
            *self._clear(),
            *self._to_write_on(),
            self.set.caution(self.say(N_("Caution")), self.say(CAUTION)),
            *self._pressure(),
            *self.dressing(),
        ]

    def _facts(self) -> list[tuple[str, Said | Sequence[Said]]]:
        pair = self.pair
        base = (
            N_("never measured")
            if pair.thinnest_um is None
            else Phrase(N_("%(um)s µm"), {"um": pair.thinnest_um})
        )
        left = (
            "\N{EN DASH}"
            if pair.thinnest_um is None
            else self.say(N_("%(um)s µm"), um=max(0, pair.thinnest_um - pair.removal_um))
        )
        facts: list[tuple[str, Said | Sequence[Said]]] = [
            (self.say(N_("Tag")), Strong(pair.tag)),
            (self.say(N_("Booking")), pair.booking),
            (self.say(N_("Mark")), pair.mark or "\N{EN DASH}"),
            (self.say(N_("Promised")), self.voice.short_date(pair.promised)),
            (self.say(N_("Base at its thinnest")), self.say(base)),
            (self.say(N_("Takes off about")), self.say(N_("%(um)s µm"), um=pair.removal_um)),
            (self.say(N_("Step")), self.step(pair)),
            (self.say(N_("Leaves about")), left),
        ]
        return facts

    def _clear(self) -> list[Flowable]:
        if not self.pair.clear:
            return []
        return [
            *self.set.section(self.say(N_("What the stone must not touch"))),
            self.set.text(Strong(" ".join(self.say(one) for one in self.pair.clear))),
        ]

    def _to_write_on(self) -> list[Flowable]:
        head = [
            [
                self.set.text(self.say(N_("Measured")), CELL_HEAD),
                *(self.set.text(self.say(place.label), CELL_HEAD) for place in Place),
                self.set.text(self.say(N_("By")), CELL_HEAD),
            ]
        ]
        rows: list[list[Flowable | Sequence[Flowable]]] = [
            [[self.set.text(self.say(name), CELL), self.set.space(2)], [], [], [], []] for name in WRITTEN
        ]
        table = self.set.table(head, rows, [34 * mm, 26 * mm, 26 * mm, 26 * mm, 0], row_head=0)
        return [*self.set.section(self.say(N_("To write on"))), table]

    def _pressure(self) -> list[Flowable]:
        heading = self.say(N_("Force on the stone along the ski"))
        line = self.pair.pressure
        if line is None:
            told = N_(
                "Camber height and contact length were not measured, so the force along the ski is not known."
            )
            return [*self.set.section(heading), self.set.text(self.say(told))]
        drawing = pressure_line.draw(line, self.voice, self.set.width, PRESSURE_HEIGHT, REGULAR)
        forces = self.say(
            N_("Wheel force that evens it out, zone by zone from the tip: %(forces)s N."),
            forces=self._forces(line),
        )
        limits = N_(
            "Worked out with a rigid arch, so it is the most that the camber does. The limits in the machine maker's "
            "manual and the trained operator decide, not this paper."
        )
        return [
            self.set.together(
                self.set.heading(heading, 2),
                self.set.picture(drawing, pressure_line.describe(line, self.voice)),
                self.set.text(forces),
                self.set.text(self.say(limits), SMALL),
            )
        ]
