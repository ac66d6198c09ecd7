"""The table of grinds and measurements of a service history."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from portal.documents.history.part import Part
from portal.documents.history.values import GrindLine, History
from portal.documents.layout import CELL, CELL_HEAD, FIGURES, FIGURES_HEAD, NUMBER, SMALL, Strong, Typesetter
from portal.domain.base_life import Measured, Place, Thickness
from portal.domain.words import N_
from portal.i18n import Voice
from portal.pictures import base_life as base_life_picture

# A remark that is longer stands below the table, so that no row of it grows tall.
SHORT_REMARK = 90


class Grinds(Part):
    """All that was done to the base, the oldest first."""

    def __init__(self, history: History, setter: Typesetter, voice: Voice, level: int = 2) -> None:
        super().__init__(setter, voice, level)
        self.history = history
        self.places = base_life_picture.places_for(history.base_life)

    def parts(self) -> list[Flowable]:
        """The table, and the remarks that are too long for it."""
        grinds = sorted(self.history.grinds, key=lambda grind: grind.day)
        # A row that tells of a rework is taller, and the heading stays with the first one.
        room = 80 * mm if grinds and grinds[0].again else 60 * mm
        title = N_("Grinds and measurements") if self.history.measured else N_("Grinds")
        parts = self.section(title, room)
        if not grinds:
            empty = N_(
                "No grind is recorded yet. The first one appears here when the skis come back from the bench."
            )
            parts.append(self.set.text(self.say(empty)))
        if not grinds and not self.history.measured:
            return parts
        note = self.say(N_("Thickness of the base. A dash means not measured."))
        return [
            *parts,
            self.set.text(note, SMALL),
            self.set.space(2),
            self._table(grinds),
            *self._long_remarks(grinds),
        ]

    def _table(self, grinds: Sequence[GrindLine]) -> Flowable:
        places = [self.set.text(self.say(place.label), FIGURES_HEAD) for place in Place] * 2
        before, after = self.say(N_("Base before, mm")), self.say(N_("Base after, mm"))
        head: list[list[Flowable | str]] = [
            [
                *self.heads(N_("No."), N_("Day"), N_("Structure")),
                self.set.text(before, FIGURES_HEAD),
                "",
                "",
                self.set.text(after, FIGURES_HEAD),
                "",
                "",
                *self.heads(N_("Work")),
            ],
            ["", "", "", *places, ""],
        ]
        tall = {(0, 0): (1, 2), (1, 0): (1, 2), (2, 0): (1, 2), (9, 0): (1, 2)}
        spans = {**tall, (3, 0): (3, 1), (6, 0): (3, 1)}
        widths = [8 * mm, 21 * mm, 0, *[11.5 * mm] * 5, 14 * mm, 36 * mm]
        return self.set.table(
            head, self._rows(grinds), widths, spans=spans, row_head=1, tight=(3, 4, 5, 6, 7)
        )

    def _rows(self, grinds: Sequence[GrindLine]) -> list[list[Flowable | list[Flowable]]]:
        """Grinds are numbered; what was measured on the day of a grind was measured before it."""
        rows = [((grind.day, 1, number), self._row(number, grind)) for number, grind in enumerate(grinds, 1)]
        rows += [
            ((one.day, 0, number), self._measured(one)) for number, one in enumerate(self.history.measured)
        ]
        return [row for _, row in sorted(rows, key=lambda one: one[0])]

    def _measured(self, one: Measured) -> list[Flowable | list[Flowable]]:
        return [
            [],
            self.set.text(self.voice.short_date(one.day), CELL),
            self.set.text(self.say(N_("Measured")), CELL_HEAD),
            *(self.set.text(self._mm(one.thickness, place), FIGURES) for place in Place),
            *([[]] * len(Place)),
            self.set.text(self.say(N_("When the pair came in.")), CELL_HEAD),
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
        return [*self.section(N_("Remarks")), *parts[1:]] if parts else []
