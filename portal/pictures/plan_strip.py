"""The plan strip: a row for each day and grinder, minutes along it, every dressing a hatched block and every run an open one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.graphics.shapes import Drawing, Path, Polygon, Rect

from portal.domain.words import N_
from portal.pictures.ink import FONT, INK, SOFT, WIDTH, Anchor, Pen, Speaker, Table, spread, wrapped
from portal.pictures.plan_rows import Block, Part, Row, Strip, parts

SIZE, LEADING = 9, 12
BAR, HEAD, GAP = 20, 19, 8
# Below the bar: a tick of the axis with its number, or the number of a run that has no room for its words.
FOOT = 12
EDGE = 4
AXIS, KEY = 16, 18
# What a letter of the page's own type takes at most, in parts of its size.
LETTER = 0.56
FLAG = 5
# Minutes between two numbers of the axis.
STEPS = (5, 10, 15, 30, 60, 120, 240, 480)
# From this width on the head of a row has room for the day of the week.
ROOMY = 400
HATCH_PT = 2.8


def describe(shown: Strip, speaker: Speaker) -> str:
    """The drawing in words, for who cannot see it."""
    blocks = [block for row in shown.rows for block in row.blocks]
    if not shown.rows:
        return speaker.say(N_("No day is planned."))
    told = [
        speaker.say(
            N_(
                "Work at the stone from %(first)s to %(last)s: %(runs)s, %(dressings)s, %(minutes)s minutes in all."
            ),
            first=speaker.short_date(shown.rows[0].day),
            last=speaker.short_date(shown.rows[-1].day),
            runs=_many(N_("%(num)s run"), N_("%(num)s runs"), len(blocks), speaker),
            dressings=_many(
                N_("%(num)s dressing"),
                N_("%(num)s dressings"),
                sum(block.dressings for block in blocks),
                speaker,
            ),
            minutes=speaker.number(sum(row.used for row in shown.rows)),
        )
    ]
    fullest = max(
        (row for row in shown.rows if row.minutes), key=lambda row: row.used / row.minutes, default=None
    )
    if fullest is not None and fullest.used:
        told.append(
            speaker.say(
                N_("Fullest: %(row)s, %(used)s of %(minutes)s minutes."),
                row=_name(fullest, speaker),
                used=speaker.number(fullest.used),
                minutes=speaker.number(fullest.minutes),
            )
        )
    told += [
        speaker.say(
            N_("%(row)s has %(over)s minutes of work too many."),
            row=_name(row, speaker),
            over=speaker.number(row.over),
        )
        for row in shown.rows
        if row.over
    ]
    late = sum(block.late_pairs > 0 for block in blocks)
    if late:
        told.append(
            _many(N_("%(num)s run has late pairs."), N_("%(num)s runs have late pairs."), late, speaker)
        )
    return " ".join(told)


def table(shown: Strip, speaker: Speaker) -> Table:
    """Every run in numbers, in the order of work, and for each row the minutes that are left or too many."""
    heads = (
        N_("Day"),
        N_("Run"),
        N_("Dressings"),
        N_("Pairs"),
        N_("Late pairs"),
        N_("From minute"),
        N_("Minutes"),
    )
    rows: list[tuple[str, ...]] = []
    for row in shown.rows:
        name, at = _name(row, speaker), 0
        for block in row.blocks:
            numbers = (block.dressings, block.pairs, block.late_pairs, at, block.minutes)
            rows.append((name, block.label, *(speaker.number(number) for number in numbers)))
            at += block.minutes
        word = N_("too many") if row.over else N_("free")
        rows.append((name, speaker.say(word), "", "", "", "", speaker.number(row.over or row.free)))
    return Table(tuple(speaker.say(head) for head in heads), tuple(rows))


def draw(
    shown: Strip,
    speaker: Speaker,
    width: float = 2 * WIDTH,
    font: str = FONT,
    *,
    key: bool = True,
    heads: bool = True,
) -> Drawing:
    """The drawing, as high as its rows need; ``width`` is in points, 288 for a phone.

    A run whose words have no room on its block bears its number in the order of work, and the words stand below the bar.
    ``key`` says below it all what the blocks mean, ``heads`` above each bar which day it is and how its minutes go.
    """
    return _Plot(shown, speaker, width, font, key, heads).drawn()


def _many(one: str, many: str, n: int, speaker: Speaker) -> str:
    return speaker.plural(one, many, n) % {"num": speaker.number(n)}


def _name(row: Row, speaker: Speaker, roomy: bool = True) -> str:
    day = speaker.date(row.day) if roomy else speaker.short_date(row.day)
    return f"{day}, {row.grinder}" if row.grinder else day


@dataclass(frozen=True)
class _Placed:
    """A block with its stretches of the day, its words, and the stretch that has room for them."""

    block: Block
    parts: tuple[Part, ...]
    words: str
    widest: Part
    fits: bool


class _Plot:
    def __init__(
        self, shown: Strip, speaker: Speaker, width: float, font: str, key: bool, heads: bool
    ) -> None:
        self.speaker, self.key, self.roomy = speaker, key, width >= ROOMY
        # Without a head there is room for the flags.
        self.heads, self.above = heads, HEAD if heads else FLAG + 3
        # Behind the end of the longest day there is room for the mark of an over-full one.
        self.left, self.right = EDGE, width - EDGE - 14
        self.most = max((row.minutes for row in shown.rows), default=0) or 60
        self.step = next((step for step in STEPS if self.most / step <= width / 48), STEPS[-1])
        self.rows = [(row, self._placed(row)) for row in shown.rows]
        # A rough number of letters, since the page uses its own.
        letters = int((width - 2 * EDGE) / (LETTER * SIZE))
        self.notes = [wrapped(self._told(placed), letters) for _row, placed in self.rows]
        height = sum(
            self._height(row, notes) for (row, _placed), notes in zip(self.rows, self.notes, strict=True)
        )
        self.drawing = Drawing(width, height + AXIS + 2 * KEY * key + EDGE, initialFontName=font)
        self.pen = Pen(self.drawing, font, SIZE)

    def x(self, minute: float) -> float:
        return self.left + minute * (self.right - self.left) / self.most

    def drawn(self) -> Drawing:
        top = self.drawing.height - EDGE
        for (row, placed), notes in zip(self.rows, self.notes, strict=True):
            if self.heads:
                self._head(row, top - HEAD + 9)
            if row.minutes or row.blocks:
                foot = top - self.above - BAR
                self._bar(row, placed, foot)
                for number, line in enumerate(notes, 1):
                    self.pen.text(self.left, foot - FOOT - LEADING * number + 3, line, colour=INK)
            top -= self._height(row, notes)
        self._axis(top)
        if self.key:
            self._key()
        return self.drawing

    def _height(self, row: Row, notes: Sequence[str]) -> float:
        if not row.minutes and not row.blocks:
            return self.above + GAP
        return self.above + BAR + FOOT + LEADING * len(notes) + GAP

    # --- words --------------------------------------------------------------------------------------------------

    def _head(self, row: Row, y: float) -> None:
        self.pen.text(self.left, y, _name(row, self.speaker, self.roomy), colour=INK)
        numbers = {
            name: self.speaker.number(value)
            for name, value in (
                ("used", row.used),
                ("minutes", row.minutes),
                ("free", row.free),
                ("over", row.over),
            )
        }
        if not row.minutes and not row.blocks:
            text = N_("closed")
        elif row.over:
            text = N_("%(used)s of %(minutes)s min, %(over)s too many")
        else:
            text = N_("%(used)s of %(minutes)s min, %(free)s free")
        self.pen.text(self.right, y, self.speaker.say(text, **numbers), "end", INK if row.over else SOFT)

    def _say(self, block: Block) -> str:
        """``Fern × 8``, with its late pairs in words."""
        numbers = {"label": block.label, "pairs": self.speaker.number(block.pairs)}
        if not block.late_pairs:
            return self.speaker.say(N_("%(label)s × %(pairs)s"), **numbers)
        return self.speaker.say(
            N_("%(label)s × %(pairs)s (%(late)s late)"), **numbers, late=self.speaker.number(block.late_pairs)
        )

    def _placed(self, row: Row) -> list[_Placed]:
        found, begin = [], 0
        for block in row.blocks:
            stretches = parts(block, begin)
            open_ones = [part for part in stretches if part.pairs] or stretches
            widest = max(open_ones, key=lambda part: part.end - part.begin)
            words = self._say(block)
            room = self.x(widest.end) - self.x(widest.begin) - 4
            fits = widest.end <= row.minutes and LETTER * SIZE * len(words) <= room
            found.append(_Placed(block, tuple(stretches), words, widest, fits))
            begin += block.minutes
        return found

    def _told(self, placed: Sequence[_Placed]) -> list[str]:
        """The words that have no room on their block, behind its number."""
        return [
            f"{self.speaker.number(number)}\u00a0{one.words}"
            for number, one in enumerate(placed, 1)
            if not one.fits
        ]

    # --- the bar ------------------------------------------------------------------------------------------------

    def _bar(self, row: Row, placed: Sequence[_Placed], foot: float) -> None:
        end = self.x(row.minutes)
        for minute in range(0, row.minutes + 1, self.step):
            self.pen.line((self.x(minute), foot, self.x(minute), foot - 3), SOFT, 0.5)
        self.pen.line((self.left, foot, end, foot), SOFT, 0.6)
        for one in placed:
            self._block(row, one, foot)
        self._numbers(row, placed, foot)
        self.pen.line((end, foot - 4, end, foot + BAR + 2), INK, 1.6)
        if row.over:
            self._over(end, foot + BAR / 2)

    def _block(self, row: Row, one: _Placed, foot: float) -> None:
        """Nothing is drawn past the end of the day; the mark there says that there is more."""
        for part in one.parts:
            if part.begin >= row.minutes:
                break
            x, end = self.x(part.begin), self.x(min(part.end, row.minutes))
            if part.pairs:
                self._open(x, foot, end - x, BAR)
                self._ticks(row, part, foot)
            else:
                self._hatched(x, foot, end - x, BAR)
        if one.fits:
            middle = (self.x(one.widest.begin) + self.x(one.widest.end)) / 2
            self.pen.text(middle, foot + BAR / 2 - 2, one.words, "middle", INK)
        if one.block.late_pairs and one.widest.begin < row.minutes:
            self._flag(self.x(one.widest.begin), foot + BAR)

    def _open(self, x: float, y: float, width: float, height: float) -> None:
        box = Rect(round(x, 2), round(y, 2), round(width, 2), height)
        box.fillColor, box.strokeColor, box.strokeWidth = None, INK, 0.7
        self.drawing.add(box)

    def _hatched(self, x: float, y: float, width: float, height: float) -> None:
        self._open(x, y, width, height)
        self.pen.hatch(x, y, width, height, HATCH_PT)

    def _ticks(self, row: Row, part: Part, foot: float) -> None:
        """A short tick at the foot where one pair ends and the next begins, unless they would run into a grey."""
        each = (part.end - part.begin) / part.pairs
        inner = [part.begin + pair * each for pair in range(1, part.pairs)]
        if not inner or self.x(each) - self.left < 2:
            return
        ticks = Path()
        ticks.strokeColor, ticks.strokeWidth, ticks.fillColor = SOFT, 0.5, None
        for minute in inner:
            if minute < row.minutes:
                ticks.moveTo(round(self.x(minute), 2), round(foot, 2))
                ticks.lineTo(round(self.x(minute), 2), round(foot + 4, 2))
        self.drawing.add(ticks)

    def _flag(self, x: float, y: float) -> None:
        flag = Polygon([round(at, 2) for at in (x, y, x, y + FLAG + 1, x + FLAG + 2, y + FLAG / 2 + 0.5)])
        flag.fillColor, flag.strokeColor = INK, None
        self.drawing.add(flag)

    def _over(self, end: float, middle: float) -> None:
        """An arrow behind the end of the day: there is more work than it holds."""
        self.pen.line((end + 2, middle, end + 12, middle), INK, 1.2)
        self.pen.line((end + 8, middle + 4, end + 12, middle, end + 8, middle - 4), INK, 1.2)

    def _numbers(self, row: Row, placed: Sequence[_Placed], foot: float) -> None:
        """The numbers of blocks without words, below them, moved apart where they would touch."""
        marked = [
            (self.speaker.number(number), self.x(min(row.minutes, (one.widest.begin + one.widest.end) / 2)))
            for number, one in enumerate(placed, 1)
            if not one.fits
        ]
        widths = [LETTER * SIZE * len(mark) + 3 for mark, _middle in marked]
        places = spread([middle for _mark, middle in marked], widths, self.left, self.right)
        for (mark, middle), x in zip(marked, places, strict=True):
            if abs(x - middle) > 2:
                self.pen.line((middle, foot, x, foot - 4), SOFT, 0.4)
            self.pen.text(x, foot - FOOT + 1, mark, "middle", INK)

    def _axis(self, top: float) -> None:
        y = top - 4
        for minute in range(0, self.most + 1, self.step):
            self.pen.line((self.x(minute), y + 4, self.x(minute), y + 1), SOFT, 0.5)
            anchor: Anchor = "middle" if minute else "start"
            self.pen.text(self.x(minute), y - 8, self.speaker.number(minute), anchor)
        self.pen.line((self.left, y + 4, self.right, y + 4), SOFT, 0.5)

    def _key(self) -> None:
        """What the blocks mean, in two rows at the foot."""
        half = self.drawing.width / 2
        upper, lower = KEY + 1, 1
        self._hatched(self.left, upper, 14, 10)
        self.pen.text(self.left + 20, upper + 1, self.speaker.say(N_("dressing")))
        self._open(half, upper, 18, 10)
        self.pen.text(half + 24, upper + 1, self.speaker.say(N_("run, a tick a pair")))
        self._flag(self.left + 3, lower + 2)
        self.pen.text(self.left + 20, lower + 1, self.speaker.say(N_("late pairs")))
        self.pen.text(half, lower + 1, self.speaker.say(N_("minutes along the line")))
