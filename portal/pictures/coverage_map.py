"""The coverage map: air temperature by kind of snow, darker where a skier is more often, hatched where a pair covers it."""

from __future__ import annotations

from reportlab.graphics.shapes import Drawing, Rect
from reportlab.lib.colors import Color

from portal.domain.coverage import CoverageMap
from portal.domain.words import N_
from portal.pictures.ink import FONT, HAIR, INK, LETTERS, SOFT, WIDTH, Pen, Speaker, Table

TOP, ROW, GAP, FOOT, KEY = 4, 22, 6, 24, 38
# From this share of a cell's days on it is hatched closely, from that on widely.
WELL, PARTLY = 0.7, 0.35
CLOSE_PT, WIDE_PT = 4.0, 8.0
# The darkest cell still lets the hatching be seen.
DARKEST = 0.45
# Cells with fewer days than this, of all, are left empty.
LEAST_DAYS = 0.002


def describe(shown: CoverageMap, speaker: Speaker) -> str:
    """The drawing in words, for who cannot see it."""
    most = max(
        ((share, kind, at) for kind, row in enumerate(shown.days) for at, share in enumerate(row)),
        default=None,
    )
    if most is None:
        return speaker.say(N_("No day is known."))
    share, kind, at = most
    covered = sum(
        one * part
        for row, parts in zip(shown.days, shown.covered, strict=True)
        for one, part in zip(row, parts, strict=True)
    )
    return " ".join(
        (
            speaker.say(
                N_("Air temperature from %(low)s to %(high)s °C across, %(kinds)s kinds of snow down."),
                low=_degrees(shown.edges_c[0], speaker),
                high=_degrees(shown.edges_c[-1], speaker),
                kinds=speaker.number(len(shown.kinds)),
            ),
            speaker.say(
                N_("Most days: %(kind)s at %(air)s, %(days)s of 100."),
                kind=speaker.say(shown.kinds[kind].label),
                air=_bin(shown, at, speaker),
                days=_days(share, speaker),
            ),
            speaker.say(N_("Covered: %(days)s of 100 of all days."), days=_days(covered, speaker)),
        )
    )


def table(shown: CoverageMap, speaker: Speaker) -> Table:
    """The same in numbers, a row for each cell that is met."""
    rows = [
        (
            speaker.say(kind.label),
            _bin(shown, at, speaker),
            _days(share, speaker),
            speaker.say(N_("%(days)s of 100"), days=_days(part, speaker)),
        )
        for kind, row, parts in zip(shown.kinds, shown.days, shown.covered, strict=True)
        for at, (share, part) in enumerate(zip(row, parts, strict=True))
        if share >= LEAST_DAYS
    ]
    heads = (N_("Kind of snow"), N_("Air, °C"), N_("Days of 100"), N_("Of these covered"))
    return Table(tuple(speaker.say(head) for head in heads), tuple(rows))


def draw(shown: CoverageMap, speaker: Speaker, width: int = 2 * WIDTH, font: str = FONT) -> Drawing:
    """The drawing; its rows are the kinds of snow, its columns the bins of air."""
    return _Plot(shown, speaker, width, font).drawn()


def _degrees(value: float, speaker: Speaker) -> str:
    return speaker.number(value).replace("-", "\u2212")


def _bin(shown: CoverageMap, at: int, speaker: Speaker) -> str:
    low, high = shown.edges_c[at], shown.edges_c[at + 1]
    return speaker.say(N_("%(low)s to %(high)s"), low=_degrees(low, speaker), high=_degrees(high, speaker))


def _days(share: float, speaker: Speaker) -> str:
    """Days of 100; less than half a day is still some."""
    if 0 < share < 0.005:
        return speaker.say(N_("under 1"))
    return speaker.number(round(100 * share))


class _Plot:
    def __init__(self, shown: CoverageMap, speaker: Speaker, width: int, font: str) -> None:
        self.shown, self.speaker = shown, speaker
        self.drawing = Drawing(width, TOP + ROW * len(shown.kinds) + FOOT + GAP + KEY, initialFontName=font)
        self.pen = Pen(self.drawing, font)
        names = [speaker.say(kind.label) for kind in shown.kinds]
        # A rough width, since the page uses its own letters.
        self.left = min(width * 0.42, max((0.52 * LETTERS * len(name) for name in names), default=0) + 8)
        self.names = names
        self.column = (width - self.left - 10) / (len(shown.edges_c) - 1)
        self.top = self.drawing.height - TOP
        self.most = max((share for row in shown.days for share in row), default=0.0) or 1.0

    def drawn(self) -> Drawing:
        for row, name in enumerate(self.names):
            self.pen.text(self.left - 6, self._y(row) + ROW * 0.32, name, "end", INK)
            for at, share in enumerate(self.shown.days[row]):
                if share >= LEAST_DAYS:
                    self._cell(self._x(at), self._y(row), self.column, share / self.most)
                    self._hatch(
                        self._x(at) + 0.5,
                        self._y(row) + 0.5,
                        self.column - 1,
                        ROW - 1,
                        self.shown.covered[row][at],
                    )
        self._axis()
        self._key()
        return self.drawing

    def _x(self, at: float) -> float:
        return self.left + self.column * at

    def _y(self, row: int) -> float:
        return self.top - ROW * (row + 1)

    def _cell(self, x: float, y: float, width: float, darkness: float) -> None:
        self._box(x + 0.5, y + 0.5, width - 1, ROW - 1, max(0.08, darkness))

    def _box(self, x: float, y: float, width: float, height: float, darkness: float) -> None:
        grey = round(1 - DARKEST * darkness, 2)
        box = Rect(round(x, 2), round(y, 2), round(width, 2), height)
        box.fillColor, box.strokeColor, box.strokeWidth = Color(grey, grey, grey), HAIR, 0.4
        self.drawing.add(box)

    def _hatch(self, x: float, y: float, width: float, height: float, covered: float) -> None:
        """Closely, widely or not at all."""
        if covered >= PARTLY:
            self.pen.hatch(x, y, width, height, CLOSE_PT if covered >= WELL else WIDE_PT)

    def _axis(self) -> None:
        foot = self._y(len(self.shown.kinds) - 1)
        self.pen.line((self.left, foot - 2, self._x(len(self.shown.edges_c) - 1), foot - 2), SOFT, 0.6)
        every = 1 if self.column >= 26 else 2
        for at, edge in enumerate(self.shown.edges_c):
            self.pen.line((self._x(at), foot - 2, self._x(at), foot - 5), SOFT, 0.6)
            if at % every == 0:
                self.pen.text(self._x(at), foot - 16, _degrees(edge, self.speaker), "middle")
        self.pen.text(self.left - 18, foot - 16, self.speaker.say(N_("Air, °C")), "end")

    def _key(self) -> None:
        """What lightness and hatching mean, in two rows below the plot."""
        side = 22.0
        rows = (
            ((0.15, 0.0, N_("few of your days")), (1.0, 0.0, N_("many of your days"))),
            ((0.3, 0.5, N_("covered in part")), (0.3, 1.0, N_("covered well"))),
        )
        for number, row in enumerate(rows):
            y = KEY + 2 - (number + 1) * (ROW - 4)
            for step, (darkness, covered, text) in enumerate(row):
                x = 2 + step * (self.drawing.width / 2)
                self._box(x, y, side, 11, darkness)
                self._hatch(x, y, side, 11, covered)
                self.pen.text(x + side + 6, y + 2, self.speaker.say(text))
