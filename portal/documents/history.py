"""The service history of a pair: what is on the base now, every grind, the base that is left, and how to care for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
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
    NUMBER,
    SMALL,
    Said,
    Sheet,
    Strong,
    Typesetter,
)
from portal.documents.letterhead import Letterhead
from portal.domain.base_life import BaseLife, Place, Thickness
from portal.domain.words import N_, Phrase
from portal.i18n import Voice
from portal.pictures import base_life as base_life_picture

# A remark that is longer stands below the table, so that no row of it grows tall.
SHORT_REMARK = 90

CLOSING_CAUTION = N_(
    "This is general advice. Local rules, the manuals of those who made your skis, iron, wax and cleaner, and what "
    "trained people show you come first wherever they say something else. If you are not sure, ask the workshop before "
    "you heat, scrape or clean."
)


@dataclass(frozen=True)
class PairFacts:
    """What is said of the pair; an empty value is left out."""

    maker: str
    model: str
    discipline: str
    length_cm: int | None
    year: int | None
    mark: str
    base: str
    grip: str
    owner: str
    reference: str


@dataclass(frozen=True)
class StructureNow:
    """The structure on the base."""

    name: str
    family: str
    since: date


@dataclass(frozen=True)
class GrindLine:
    """One grind as the bench recorded it."""

    day: date
    structure: str
    family: str
    before_um: Thickness | None
    after_um: Thickness | None
    technician: str
    flattened: bool = False
    saturated: bool = False
    remarks: str = ""
    # That it was bad and made good, or what it makes good.
    again: tuple[str | Phrase, ...] = ()


@dataclass(frozen=True)
class CareStep:
    """One thing to do after a grind; without a source it is common practice, and the paper says so."""

    when: str | Phrase
    text: str | Phrase
    caution: str | Phrase = ""
    source: str | Phrase = ""


@dataclass(frozen=True)
class History:
    """All that the paper shows; nothing else is looked up."""

    workshop: Letterhead
    pair: PairFacts
    structure_now: StructureNow | None
    grinds: tuple[GrindLine, ...]
    base_life: BaseLife
    care: tuple[CareStep, ...]
    made_on: date


def render(
    history: History, voice: Voice, *, paper: str = "A4", fallback_fonts: Sequence[Path] | None = None
) -> bytes:
    """The PDF on ``A4`` or ``letter``; ``fallback_fonts`` are TrueType files for letters that Fira Sans lacks."""
    return _Paper(history, voice, Typesetter(faces(fallback_fonts), paper)).render()


class _Paper:
    def __init__(self, history: History, voice: Voice, setter: Typesetter) -> None:
        self.history, self.voice, self.set = history, voice, setter
        self.say = voice.say
        self.places = base_life_picture.places_for(history.base_life)

    def render(self) -> bytes:
        pair = self.history.pair
        sheet = Sheet(
            title=self.say(N_("Service history: %(pair)s"), pair=_pair_name(pair)),
            language=self.voice.language.replace("_", "-"),
            running=self.history.workshop.name,
            reference=pair.reference,
            foot=self.say(N_("As of %(day)s"), day=self.voice.date(self.history.made_on)),
            page=lambda number, total: self.say(
                N_("Page %(number)s of %(total)s"), number=number, total=total
            ),
        )
        return self.set.build(sheet, self.story)

    def story(self) -> list[Flowable]:
        return [
            *self._opening(),
            *self._now(),
            *self._life(),
            *self._grinds(),
            self._care(),
        ]

    def _opening(self) -> list[Flowable]:
        pair, shop = self.history.pair, self.history.workshop
        reach = [*shop.address_lines, *filter(None, (shop.phone, shop.email, shop.web, shop.hours))]
        facts = [
            (N_("Owner"), pair.owner),
            (N_("Use"), self.say(pair.discipline)),
            (N_("Year"), str(pair.year or "")),
            (N_("Mark"), pair.mark),
            (N_("Base"), self.say(pair.base)),
            (N_("Grip"), self.say(pair.grip)),
            (N_("Reference"), pair.reference),
        ]
        shown = [(self.say(name), value) for name, value in facts if value]
        title = self.set.heading(self.say(N_("Service history")), 1)
        return [
            self.set.text(" \N{MIDDLE DOT} ".join(reach), SMALL),
            self.set.space(6),
            title,
            self.set.space(1),
            self.set.text(Strong(_pair_name(pair)), LEAD),
            self.set.space(4),
            self.set.facts(shown, columns=2),
        ]

    def _now(self) -> list[Flowable]:
        now, life = self.history.structure_now, self.history.base_life
        structure: Said | tuple[Said, ...] = self.say(N_("Not known: no grind is recorded here."))
        if now is not None:
            said = (
                N_(", %(family)s, on the base since %(day)s")
                if now.family
                else N_(", on the base since %(day)s")
            )
            day = self.voice.date(now.since)
            structure = (Strong(now.name), self.say(said, family=self.say(now.family), day=day))
        facts: list[tuple[str, Said | tuple[Said, ...]]] = [
            (self.say(N_("Structure")), structure),
            (self.say(N_("Thinnest measured base")), self._thinnest()),
            (self.say(N_("Workshop's minimum")), self.voice.mm(life.minimum_um, self.places)),
            (self.say(N_("Grinds left")), self._left()),
        ]
        return [*self.set.section(self.say(N_("What matters now"))), self.set.facts(facts)]

    def _thinnest(self) -> Said | tuple[Said, ...]:
        reading = self.history.base_life.reading
        if reading is None:
            return self.say(N_("Not measured"))
        where = self.say(
            N_(" at the %(place)s, measured on %(day)s. "),
            place=self.say(reading.place.spoken),
            day=self.voice.date(reading.day),
        )
        told: list[Said] = [Strong(self.voice.mm(reading.um, self.places)), where]
        if reading.grinds_since:
            told.append(
                self.voice.plural(
                    N_("%(num)s grind came after this measurement."),
                    N_("%(num)s grinds came after this measurement."),
                    reading.grinds_since,
                )
                % {"num": reading.grinds_since}
            )
        return tuple(told)

    def _left(self) -> Said | tuple[Said, ...]:
        life = self.history.base_life
        if life.grinds_left is None:
            return self.say(N_("Not measured: ask for a measurement when the skis are handed in."))
        if life.grinds_left == 0:
            return (
                Strong(self.say(N_("None"))),
                self.say(N_(": another grind would pass the workshop's minimum.")),
            )
        each = self.say(N_(", at an expected %(removal)s each"), removal=self.voice.mm(life.removal_um, 3))
        return (Strong(self.say(N_("About %(left)s"), left=life.grinds_left)), each)

    def _life(self) -> list[Flowable]:
        life = self.history.base_life
        if not life.grinds:
            return []
        title = self.say(N_("Base life"))
        if life.reading is None:
            return [
                *self.set.section(title),
                self.set.text(
                    self.say(N_("The base was not measured, so nothing is said about how long it lasts."))
                ),
            ]
        drawing = base_life_picture.draw(life, self.voice, int(self.set.width), font=REGULAR)
        picture = self.set.picture(drawing, base_life_picture.describe(life, self.voice))
        room = drawing.height + 40 * mm
        return [
            *self.set.section(title, room),
            picture,
            self.set.space(1),
            self.set.text(self._rule(), SMALL),
        ]

    def _rule(self) -> str:
        life = self.history.base_life
        stated = self.voice.mm(life.stated_um, 3)
        counted = self.say(
            N_("Grinds left are counted from the thinnest measured point down to the workshop's minimum. ")
        )
        if not life.compared:
            return counted + self.say(
                N_(
                    "The structure states %(stated)s a grind; no grind of this pair was measured before and after."
                ),
                stated=stated,
            )
        return counted + self.say(
            N_(
                "The structure states %(stated)s a grind; what %(compared)s measured grinds of this pair really took "
                "off makes that %(removal)s. The statement counts as much as three measured grinds."
            ),
            stated=stated,
            compared=life.compared,
            removal=self.voice.mm(life.removal_um, 3),
        )

    def _grinds(self) -> list[Flowable]:
        ordered = sorted(self.history.grinds, key=lambda grind: grind.day)
        # A row that tells of a rework is taller, and the heading stays with the first one.
        room = 70 * mm if ordered and ordered[0].again else 44 * mm
        heading = self.set.section(self.say(N_("Grinds")), room)
        if not self.history.grinds:
            empty = N_(
                "No grind is recorded yet. The first one appears here when the skis come back from the bench."
            )
            return [*heading, self.set.text(self.say(empty))]
        places = [self.set.text(self.say(place.label), FIGURES_HEAD) for place in Place] * 2
        blank = [""] * 2
        before, after = self.say(N_("Base before, mm")), self.say(N_("Base after, mm"))
        names = [self.say(name) for name in (N_("No."), N_("Day"), N_("Structure"))]
        head: list[list[Flowable | str]] = [
            [
                *(self.set.text(name, CELL_HEAD) for name in names),
                self.set.text(before, FIGURES_HEAD),
                *blank,
                self.set.text(after, FIGURES_HEAD),
                *blank,
                self.set.text(self.say(N_("Work")), CELL_HEAD),
            ],
            ["", "", "", *places, ""],
        ]
        spans = {
            (0, 0): (1, 2),
            (1, 0): (1, 2),
            (2, 0): (1, 2),
            (3, 0): (3, 1),
            (6, 0): (3, 1),
            (9, 0): (1, 2),
        }
        widths = [8 * mm, 21 * mm, 0, *[11.5 * mm] * 5, 14 * mm, 36 * mm]
        rows = [self._row(number, grind) for number, grind in enumerate(ordered, 1)]
        note = self.say(N_("Thickness of the base. A dash means not measured."))
        return [
            *heading,
            self.set.text(note, SMALL),
            self.set.space(2),
            self.set.table(head, rows, widths, spans=spans, row_head=1, tight=(3, 4, 5, 6, 7)),
            *self._long_remarks(ordered),
        ]

    def _row(self, number: int, grind: GrindLine) -> list[Flowable | list[Flowable]]:
        work = [
            self.say(N_("Base flattened.")) if grind.flattened else "",
            self.say(N_("Saturated with hot wax.")) if grind.saturated else "",
            *(words for words in self._remarks(grind) if len(words) <= SHORT_REMARK),
            self.say(N_("Remarks below the table.")) if self._long(grind) else "",
        ]
        notes: list[Flowable] = [self.set.text(" ".join(filter(None, work)), CELL)] if any(work) else []
        structure: list[Flowable] = [self.set.text(grind.structure, CELL)]
        if grind.family:
            structure.append(self.set.text(self.say(grind.family), CELL_HEAD))
        by = self.set.text(self.say(N_("By %(technician)s"), technician=grind.technician), CELL_HEAD)
        return [
            self.set.text(str(number), NUMBER),
            self.set.text(self.voice.short_date(grind.day), CELL),
            structure,
            *(self.set.text(self._mm(grind.before_um, place), FIGURES) for place in Place),
            *(self.set.text(self._mm(grind.after_um, place), FIGURES) for place in Place),
            [*notes, *([by] if grind.technician else [])],
        ]

    def _mm(self, thickness: Thickness | None, place: Place) -> str:
        um = thickness.at(place) if thickness is not None else None
        return "\N{EN DASH}" if um is None else self.voice.number(um / 1000, self.places)

    def _remarks(self, grind: GrindLine) -> list[str]:
        return [*(self.say(line) for line in grind.again), grind.remarks]

    def _long(self, grind: GrindLine) -> list[str]:
        return [words for words in self._remarks(grind) if len(words) > SHORT_REMARK]

    def _long_remarks(self, grinds: Sequence[GrindLine]) -> list[Flowable]:
        long = [
            (number, grind, words) for number, grind in enumerate(grinds, 1) for words in self._long(grind)
        ]
        parts: list[Flowable] = []
        for number, grind, words in long:
            lead = self.say(
                N_("No. %(number)s, %(day)s"), number=number, day=self.voice.short_date(grind.day)
            )
            parts += [self.set.space(2), self.set.text((Strong(f"{lead}. "), words), CELL)]
        return [*self.set.section(self.say(N_("Remarks"))), *parts[1:]] if parts else []

    def _care(self) -> Flowable:
        """Advice and its closing caution, on one page wherever they fit on one, so that it can be put up on a wall."""
        heading = self.set.heading(self.say(N_("After a grind")), 2)
        caution = self.set.caution(self.say(N_("Caution")), self.say(CLOSING_CAUTION))
        if not self.history.care:
            none = self.set.text(self.say(N_("The workshop has written no care advice yet.")))
            return self.set.together(heading, none, caution)
        head = [
            [
                self.set.text(self.say(name), CELL_HEAD)
                for name in (N_("When"), N_("What to do"), N_("Take care"))
            ]
        ]
        rows = [
            [
                self.set.text(Strong(self.say(step.when)), CELL),
                [self.set.text(self.say(step.text), CELL), self.set.text(self._source(step), SMALL)],
                self._step_caution(step),
            ]
            for step in self.history.care
        ]
        table = self.set.table(head, rows, [30 * mm, 0, 52 * mm], row_head=0)
        return self.set.together(heading, table, caution)

    def _source(self, step: CareStep) -> str:
        if not step.source:
            return self.say(N_("Common practice"))
        return self.say(N_("Source: %(source)s"), source=self.say(step.source))

    def _step_caution(self, step: CareStep) -> Flowable | list[Flowable]:
        if not step.caution:
            return []
        return self.set.text((Strong(self.say(N_("Caution")) + ". "), self.say(step.caution)), CELL)


def _pair_name(pair: PairFacts) -> str:
    length = f"{pair.length_cm} cm" if pair.length_cm else ""
    return " ".join(part for part in (pair.maker, pair.model, length) if part)
