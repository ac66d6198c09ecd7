"""The pairs of a skier or of a club on one paper: one row a pair first, then each pair, and once what is the same for all."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, PageBreak

from portal.documents.fonts import faces
from portal.documents.history.care import Care
from portal.documents.history.genuine import Genuine
from portal.documents.history.now import say_left
from portal.documents.history.paper import CARE_ROOM, of_pair, reach, sheet_of
from portal.documents.history.part import Part
from portal.documents.history.surface import SMALL_SIDE, Surface
from portal.documents.history.values import Fleet, FleetPair, History
from portal.documents.layout import CELL, FIGURES, FIGURES_HEAD, LEAD, SMALL, Strong, Typesetter
from portal.domain.words import N_
from portal.i18n import Voice
from portal.pictures.base_life import places_for

# What a pair is and what matters now; a structure with its heading.
PAIR_ROOM, SURFACE_ROOM = 102 * mm, 120 * mm


def render_fleet(
    fleet: Fleet, voice: Voice, *, paper: str = "A4", fallback_fonts: Sequence[Path] | None = None
) -> bytes:
    """The PDF on ``A4`` or ``letter``; ``fallback_fonts`` are TrueType files for letters that Fira Sans lacks."""
    setter = Typesetter(faces(fallback_fonts), paper)
    title = voice.say(N_("Service histories: %(owner)s"), owner=fleet.owner)
    sheet = sheet_of(title, fleet.owner, fleet, voice)
    return setter.build(sheet, lambda: _Fleet(fleet, setter, voice).story())


class _Fleet(Part):
    def __init__(self, fleet: Fleet, setter: Typesetter, voice: Voice) -> None:
        super().__init__(setter, voice)
        self.fleet = fleet

    def story(self) -> list[Flowable]:
        fleet = self.fleet
        count = self.voice.plural(N_("%(num)s pair"), N_("%(num)s pairs"), len(fleet.pairs))
        whose = self.set.text((Strong(fleet.owner), ", ", count % {"num": len(fleet.pairs)}), LEAD)
        story: list[Flowable] = [
            self.set.text(reach(fleet.workshop), SMALL),
            self.set.space(6),
            self.set.heading(self.say(N_("Service histories")), 1),
            self.set.space(1),
            Genuine(self.set, self.voice).fleet([whose, self.set.space(2)], fleet.seal)
            if fleet.seal
            else whose,
            self.set.space(3),
        ]
        if fleet.left_out:
            story += [self.set.text(self._left_out()), self.set.space(2)]
        if not fleet.pairs and fleet.left_out:
            return story
        if not fleet.pairs:
            none = N_("No pair is registered. Each pair gets a page here once it is.")
            return [*story, self.set.text(self.say(none))]
        story += [*self.section(N_("All pairs")), self._overview()]
        for number, one in enumerate(fleet.pairs):
            story += self._pair(number, one)
        if fleet.surfaces:
            story += [
                CondPageBreak(SURFACE_ROOM),
                self.set.heading(self.say(N_("Structures on these bases")), 2, mark="surfaces"),
                self.set.text(self.say(N_("The arrow below a relief shows which way the snow runs.")), SMALL),
            ]
            for surface in fleet.surfaces:
                story += Surface(self.set, self.voice, 3).parts(
                    surface, N_("Structure %(structure)s"), SMALL_SIDE
                )
        return [
            *story,
            CondPageBreak(CARE_ROOM),
            self.set.heading(self.say(N_("Care")), 2, mark="care"),
            *Care(self.set, self.voice, 3).parts(fleet.care, fleet.care_facts),
        ]

    def _left_out(self) -> str:
        text = self.voice.plural(
            N_("%(num)s pair is left out: the workshop is clearing up whom it belongs to."),
            N_("%(num)s pairs are left out: the workshop is clearing up whom they belong to."),
            self.fleet.left_out,
        )
        return text % {"num": self.fleet.left_out}

    def _overview(self) -> Flowable:
        names = (*((N_("Skied by"),) if self.fleet.is_club else ()), N_("Pair"), N_("Tag"), N_("On the base"))
        figures = (N_("Thinnest, mm"), N_("Grinds left"), N_("Page"))
        head = [[*self.heads(*names), *(self.set.text(self.say(name), FIGURES_HEAD) for name in figures)]]
        rows = [self._line(number, one) for number, one in enumerate(self.fleet.pairs)]
        skier = [24 * mm] if self.fleet.is_club else []
        return self.set.table(
            head, rows, [*skier, 0, 16 * mm, 30 * mm, 15 * mm, 21 * mm, 10 * mm], row_head=0
        )

    def _line(self, number: int, one: FleetPair) -> list[Flowable | Sequence[Flowable]]:
        it = one.history
        now, reading = it.structure_now, it.base_life.reading
        pair: list[Flowable] = [self.set.text(Strong(it.pair.name), CELL)]
        if it.pair.mark:
            pair.append(self.set.text(it.pair.mark, SMALL))
        on_base: list[Flowable] = [self.set.text(now.name if now else self.say(N_("Not known")), CELL)]
        if now is not None:
            since = self.say(N_("since %(day)s"), day=self.voice.short_date(now.since))
            on_base.append(self.set.text(since, SMALL))
        dash = "\N{EN DASH}"
        thinnest = self.voice.number(reading.um / 1000, places_for(it.base_life)) if reading else dash
        page = self.set.pages.get(_mark(number))
        return [
            *([self.set.text(one.skier or dash, CELL)] if self.fleet.is_club else []),
            pair,
            self.set.text(it.pair.tag, CELL),
            on_base,
            self.set.text(thinnest, FIGURES),
            self.set.text(say_left(it.base_life, self.voice), FIGURES),
            self.set.text("" if page is None else self.voice.number(page), FIGURES),
        ]

    def _pair(self, number: int, one: FleetPair) -> list[Flowable]:
        history: History = one.history
        title = f"{one.skier}: {history.pair.name}" if one.skier else history.pair.name
        return [
            # The first one begins after the list; any other where that has room.
            CondPageBreak(PAIR_ROOM) if number else PageBreak(),
            *([self.set.space(8)] if number else []),
            self.set.heading(title, 2, mark=_mark(number)),
            self.set.space(1),
            *of_pair(history, self.set, self.voice, 3),
        ]


def _mark(number: int) -> str:
    return f"pair-{number}"
