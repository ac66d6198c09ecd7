"""A day of the stone plan on paper: how its minutes go, its strip, and the work to tick off."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, PageBreak

from portal.documents.fonts import REGULAR
from portal.documents.layout import (
    CELL,
    CELL_HEAD,
    FIGURES,
    FIGURES_HEAD,
    NUMBER,
    SMALL,
    Said,
    Strong,
    TickBox,
    Typesetter,
)
from portal.domain.words import N_, Phrase
from portal.i18n import Voice
from portal.pictures import plan_strip
from portal.pictures.plan_rows import Block, Row, Strip, parts


@dataclass(frozen=True)
class PairLine:
    """A pair as it is called at the bench: what is on its tag, and its title. ``note`` may say what to look out for.

    ``minutes`` are its own where they are not those of the run.
    """

    tag: str
    title: str
    note: str | Phrase = ""
    is_late: bool = False
    minutes: int | None = None


@dataclass(frozen=True)
class RunLine:
    """Pairs on one layer, in the order of work, with the words for the layer and for the settings of its dressing.

    ``dressings`` take ``dress_minutes`` each, 0 goes on with the dressing that is on the stone; each serves ``life_pairs``.
    """

    layer: str | Phrase
    settings: tuple[str | Phrase, ...]
    dressings: int
    dress_minutes: int
    pair_minutes: int
    life_pairs: int
    pairs: tuple[PairLine, ...]

    @property
    def each(self) -> tuple[int, ...]:
        """Minutes of each pair."""
        return tuple(self.pair_minutes if pair.minutes is None else pair.minutes for pair in self.pairs)


@dataclass(frozen=True)
class DayLine:
    """A grinder on a day; ``grinder`` is empty where there is one only."""

    day: date
    grinder: str
    minutes: int
    runs: tuple[RunLine, ...]
    note: str | Phrase = ""


class DaySetter:
    """Sets one day after the other; ``page_a_day`` begins each on a page of its own."""

    def __init__(self, voice: Voice, setter: Typesetter, page_a_day: bool) -> None:
        self.voice, self.set, self.page_a_day = voice, setter, page_a_day
        self.say = voice.say

    def parts(self, line: DayLine, *, key: bool) -> list[Flowable]:
        """The day with its heading; ``key`` says below its strip what the blocks mean."""
        day = self.voice.date(line.day)
        name = f"{day}, {line.grinder}" if line.grinder else day
        row = self._row(line)
        begin: list[Flowable] = [PageBreak()] if self.page_a_day else [CondPageBreak(70 * mm)]
        opening = [
            *begin,
            self.set.heading(name, 2),
            self.set.text(self._minutes(line, row)),
            *([self.set.text(self.say(line.note))] if line.note else []),
        ]
        if not line.runs:
            return opening
        shown = Strip((row,))
        drawing = plan_strip.draw(shown, self.voice, self.set.width, REGULAR, key=key, heads=False)
        picture = self.set.picture(drawing, plan_strip.describe(shown, self.voice))
        return [*opening, self.set.space(2), picture, self.set.space(2), self._work(line, name)]

    def _row(self, line: DayLine) -> Row:
        """The day as the strip shows it: a run is called by its number in the table."""
        return Row(
            line.day,
            line.grinder,
            line.minutes,
            tuple(
                Block(
                    self.say(N_("Run %(number)s"), number=self.voice.number(number)),
                    run.dressings,
                    run.dress_minutes,
                    len(run.pairs),
                    run.pair_minutes,
                    run.life_pairs,
                    sum(pair.is_late for pair in run.pairs),
                    run.each,
                )
                for number, run in enumerate(line.runs, 1)
            ),
        )

    def _minutes(self, line: DayLine, row: Row) -> str:
        if not line.minutes and not line.runs:
            return self.say(N_("Closed."))
        dressing = sum(run.dressings * run.dress_minutes for run in line.runs)
        values = {
            "minutes": self.voice.number(line.minutes),
            "dressing": self.voice.number(dressing),
            "running": self.voice.number(row.used - dressing),
            "free": self.voice.number(row.free),
            "over": self.voice.number(row.over),
        }
        if row.over:
            return self.say(
                N_(
                    "%(minutes)s minutes: %(dressing)s for dressing, %(running)s for running pairs, %(over)s more than "
                    "there are."
                ),
                **values,
            )
        return self.say(
            N_(
                "%(minutes)s minutes: %(dressing)s for dressing, %(running)s for running pairs, %(free)s free."
            ),
            **values,
        )

    def _work(self, line: DayLine, name: str) -> Flowable:
        """Dressings and pairs in the order of work, each with a box; a run's head is never left alone at a page's foot."""
        head = [
            [
                self.set.text(self.say(N_("Run")), CELL_HEAD),
                self.set.text(self.say(N_("Done")), CELL_HEAD),
                self.set.text(self.say(N_("Tag")), CELL_HEAD),
                self.set.text(self.say(N_("Work of %(day)s"), day=name), CELL_HEAD),
                self.set.text(self.say(N_("Minutes")), FIGURES_HEAD),
                self.set.text(self.say(N_("Until minute")), FIGURES_HEAD),
            ]
        ]
        rows: list[list[Flowable | Sequence[Flowable]]] = []
        heads: list[int] = []
        at = 0
        for number, run in enumerate(line.runs, 1):
            for minutes, work in self._steps(run):
                if not isinstance(work, PairLine):
                    heads.append(len(rows) + 1)
                at += minutes
                rows.append(self._line(number, work, minutes, at))
        table = self.set.table(
            head, rows, [10 * mm, 12 * mm, 30 * mm, 0, 18 * mm, 22 * mm], row_head=3, tight=(0, 1)
        )
        table.setStyle([("NOSPLIT", (0, row), (-1, min(row + 1, len(rows)))) for row in heads])
        return table

    def _line(
        self, number: int, work: PairLine | list[Flowable], minutes: int, until: int
    ) -> list[Flowable | Sequence[Flowable]]:
        is_pair = isinstance(work, PairLine)
        said = self._pair(work) if isinstance(work, PairLine) else work
        return [
            self.set.text(self.voice.number(number), NUMBER),
            TickBox() if minutes or is_pair else [],
            self.set.text(Strong(work.tag), CELL) if isinstance(work, PairLine) else [],
            said,
            self.set.text(self.voice.number(minutes), FIGURES) if minutes or is_pair else [],
            self.set.text(self.voice.number(until), FIGURES) if minutes or is_pair else [],
        ]

    def _steps(self, run: RunLine) -> Iterator[tuple[int, PairLine | list[Flowable]]]:
        """Minutes and what is done in them: dressings as what is said of them, and pairs."""
        if not run.dressings:
            on = self.say(N_("Go on with %(layer)s: the stone is dressed for it"), layer=self.say(run.layer))
            yield 0, [self.set.text(Strong(on), CELL), *self._settings(run)]
        pairs = zip(run.each, run.pairs, strict=True)
        dressings = 0
        block = Block("", run.dressings, run.dress_minutes, len(run.pairs), run.pair_minutes, run.life_pairs)
        for part in parts(block, 0):
            if part.pairs:
                yield from (next(pairs) for _pair in range(part.pairs))
                continue
            dressings += 1
            text = N_("Dress the stone for %(layer)s") if dressings == 1 else N_("Dress again for %(layer)s")
            told = self.set.text(Strong(self.say(text, layer=self.say(run.layer))), CELL)
            yield run.dress_minutes, [told, *(self._settings(run) if dressings == 1 else [])]

    def _settings(self, run: RunLine) -> list[Flowable]:
        return [self.set.text(self.say(line), SMALL) for line in run.settings]

    def _pair(self, pair: PairLine) -> list[Flowable]:
        said: list[Said] = [pair.title]
        if pair.is_late:
            said += ["  ", Strong(self.say(N_("late")))]
        told: list[Flowable] = [self.set.text(said, CELL)]
        return [*told, self.set.text(self.say(pair.note), SMALL)] if pair.note else told
