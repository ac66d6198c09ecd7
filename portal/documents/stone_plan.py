"""The stone plan on paper: for each day what the stone is dressed for and with which settings, and the pairs to tick off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from portal.documents.fonts import faces
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
    Typesetter,
)
from portal.documents.letterhead import Letterhead
from portal.documents.stone_plan_day import DayLine, DaySetter, PairLine, RunLine
from portal.domain.words import N_, Phrase
from portal.i18n import Voice

__all__ = ["DayLine", "OrderLine", "PairLine", "RunLine", "StonePlan", "render"]

CAUTION = N_(
    "A stone machine turns, throws water and grit and runs on mains electricity beside water. Local rules, the maker's "
    "manual and what trained people show you come first, wherever they say something else. Only people "
    "trained on it dress and grind, with guards closed, eyes and ears protected, dry hands at the switch and nothing "
    "loose near the stone. Switch off and wait until the stone stands still before you reach in."
)


@dataclass(frozen=True)
class OrderLine:
    """An order with the day it is promised for and the one on which it gets ready, None where the plan leaves it unfinished.

    ``days`` are the working days between them, below zero where it is late; ``why`` says then why it is.
    """

    title: str
    due: date
    finished: date | None
    days: int
    why: str | Phrase = ""


@dataclass(frozen=True)
class StonePlan:
    """All that the paper shows; nothing else is looked up. ``notes`` say what else is known of the plan as a whole."""

    workshop: Letterhead
    reference: str
    made_at: datetime
    days: tuple[DayLine, ...]
    orders: tuple[OrderLine, ...]
    notes: tuple[str | Phrase, ...] = ()


def render(
    plan: StonePlan,
    voice: Voice,
    *,
    paper: str = "A4",
    fallback_fonts: Sequence[Path] | None = None,
    page_a_day: bool = False,
) -> bytes:
    """The PDF on ``A4`` or ``letter``; ``page_a_day`` begins each day and grinder on a page of its own."""
    return _Paper(plan, voice, Typesetter(faces(fallback_fonts), paper), page_a_day).render()


class _Paper:
    def __init__(self, plan: StonePlan, voice: Voice, setter: Typesetter, page_a_day: bool) -> None:
        self.plan, self.voice, self.set = plan, voice, setter
        self.days = DaySetter(voice, setter, page_a_day)
        self.say = voice.say
        self.late = [order for order in plan.orders if order.days < 0]

    def render(self) -> bytes:
        sheet = Sheet(
            title=self.say(N_("Stone plan: %(days)s"), days=self._span()),
            language=self.voice.language.replace("_", "-"),
            running=self.plan.workshop.name,
            reference=self.plan.reference,
            foot=self.say(N_("Made %(moment)s"), moment=self.voice.moment(self.plan.made_at)),
            page=lambda number, total: self.say(
                N_("Page %(number)s of %(total)s"), number=number, total=total
            ),
        )
        return self.set.build(sheet, self.story)

    def story(self) -> list[Flowable]:
        first = next((day for day in self.plan.days if day.runs), None)
        return [
            *self._opening(),
            *self._late(),
            *(part for day in self.plan.days for part in self.days.parts(day, key=day is first)),
            *self._slack(),
        ]

    def _span(self) -> str:
        days = [line.day for line in self.plan.days]
        if not days:
            return self.say(N_("no days"))
        first, last = self.voice.date(min(days)), self.voice.date(max(days))
        return first if first == last else self.say(N_("%(first)s to %(last)s"), first=first, last=last)

    # --- the whole ----------------------------------------------------------------------------------------------

    def _opening(self) -> list[Flowable]:
        runs = [run for day in self.plan.days for run in day.runs]
        dressings = sum(run.dressings for run in runs)
        minutes = sum(run.dressings * run.dress_minutes for run in runs)
        late: Said = self.say(N_("None"))
        if self.late:
            late = Strong(
                self.say(
                    N_("%(late)s of %(orders)s"),
                    late=self.voice.number(len(self.late)),
                    orders=self.voice.number(len(self.plan.orders)),
                )
            )
        facts: list[tuple[str, Said]] = [
            (self.say(N_("Made")), self.voice.moment(self.plan.made_at)),
            (
                self.say(N_("Dressings")),
                self.say(
                    N_("%(dressings)s, %(minutes)s minutes"),
                    dressings=self.voice.number(dressings),
                    minutes=self.voice.number(minutes),
                ),
            ),
            (self.say(N_("Late orders")), late),
        ]
        return [
            self.set.heading(self.say(N_("Stone plan")), 1),
            self.set.space(1),
            self.set.text(Strong(self._span()), LEAD),
            self.set.space(4),
            self.set.facts(facts),
            self.set.space(2),
            *(self.set.text(self.say(note), SMALL) for note in self.plan.notes),
            self.set.caution(self.say(N_("Caution")), self.say(CAUTION)),
        ]

    def _late(self) -> list[Flowable]:
        if not self.late:
            return []
        names = (N_("Order"), N_("Promised"), N_("Ready"), N_("Why"))
        head = [[self.set.text(self.say(name), CELL_HEAD) for name in names]]
        rows: list[list[Flowable | Sequence[Flowable]]] = [
            [
                self.set.text(Strong(order.title), CELL),
                self.set.text(self.voice.short_date(order.due), CELL),
                [self.set.text(self._ready(order), CELL), self.set.text(self._how_late(order), SMALL)],
                self.set.text(self.say(order.why), CELL),
            ]
            for order in self.late
        ]
        table = self.set.table(head, rows, [42 * mm, 24 * mm, 32 * mm, 0], row_head=0)
        return [*self.set.section(self.say(N_("What gets late"))), table]

    def _ready(self, order: OrderLine) -> str:
        if order.finished is None:
            return self.say(N_("not in this plan"))
        return self.voice.short_date(order.finished)

    def _how_late(self, order: OrderLine) -> str:
        if order.finished is None:
            return ""
        text = self.voice.plural(N_("%(num)s working day late"), N_("%(num)s working days late"), -order.days)
        return text % {"num": self.voice.number(-order.days)}

    def _slack(self) -> list[Flowable]:
        if not self.plan.orders:
            return []
        heads = [(N_("Order"), CELL_HEAD), (N_("Ready"), CELL_HEAD), (N_("Promised"), CELL_HEAD)]
        head = [
            [
                *(self.set.text(self.say(name), style) for name, style in heads),
                self.set.text(self.say(N_("Working days left")), FIGURES_HEAD),
            ]
        ]
        ordered = sorted(self.plan.orders, key=lambda order: (order.days, order.due, order.title))
        rows: list[list[Flowable | Sequence[Flowable]]] = [
            [
                self.set.text(order.title, CELL),
                self.set.text(self._ready(order), CELL),
                self.set.text(self.voice.short_date(order.due), CELL),
                self.set.text(self._days_left(order), FIGURES),
            ]
            for order in ordered
        ]
        table = self.set.table(head, rows, [0, 34 * mm, 30 * mm, 30 * mm], row_head=0)
        return [*self.set.section(self.say(N_("How much room is left"))), table]

    def _days_left(self, order: OrderLine) -> str:
        if order.days >= 0:
            return self.voice.number(order.days)
        if order.finished is None:
            return self.say(N_("late"))
        return self.say(N_("%(days)s late"), days=self.voice.number(-order.days))
