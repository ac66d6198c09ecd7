"""The base-life line: the thinnest point of a base at each grind, the workshop's minimum, and the grinds left with their range."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.graphics.shapes import Circle, Drawing, Polygon
from reportlab.lib.colors import Color

from portal.domain.base_life import BaseGrind, BaseLife, Thickness
from portal.domain.words import N_
from portal.pictures.base_life_words import (
    MOST_EXPECTED,
    describe,
    key_words,
    places_for,
    say_grinds_left,
    say_range,
    table,
)
from portal.pictures.ink import (
    DASHED,
    DOTTED,
    FONT,
    HAIR,
    INK,
    LETTERS,
    PAPER,
    SOFT,
    WIDTH,
    Anchor,
    Pen,
    Speaker,
)

__all__ = ["describe", "draw", "draw_narrow", "places_for", "say_grinds_left", "say_range", "table"]

LEFT, RIGHT, TOP, BOTTOM = 46, 12, 26, 36
SIZE = 8
DOT = 2.4
# Up to so many grinds left the line is drawn on to the minimum; of more only the first are drawn, with words at the end.
DRAWN_TO_THE_END, RANGE_TO_THE_END = 24, 32
BAND = Color(0.88, 0.88, 0.88)


def draw(
    life: BaseLife, speaker: Speaker, width: int = 470, height: int = 168, font: str = FONT, size: int = SIZE
) -> Drawing:
    """The drawing with letters of a ``size``; an unmeasured base gives one without a line, so ask ``life.reading`` first."""
    return _Plot(life, speaker, width, height, font, size).drawn()


def draw_narrow(life: BaseLife, speaker: Speaker) -> Drawing:
    """The same as a phone can show it without shrinking its letters."""
    return draw(life, speaker, WIDTH, 230, size=LETTERS)


class _Plot:
    def __init__(
        self, life: BaseLife, speaker: Speaker, width: int, height: int, font: str, size: int
    ) -> None:
        self.life, self.speaker, self.size = life, speaker, size
        self.drawing = Drawing(width, height, initialFontName=font)
        self.pen = Pen(self.drawing, font, size)
        self.right = width - RIGHT
        left = life.grinds_left or 0
        self.is_cut = left > DRAWN_TO_THE_END
        self.expected = MOST_EXPECTED if self.is_cut else left
        # The band goes on to where the thick end of the range meets the minimum.
        most = MOST_EXPECTED if self.is_cut else RANGE_TO_THE_END
        self.ahead = min(max(self.expected, (life.left_range or (0, 0))[1]), most)
        self.height = height
        self.key = self._key_rows()
        self.top = TOP + (size + 4) * (self.key[-1][0] if self.key else 0)
        self.slot = (self.right - LEFT) / max(1, len(life.grinds) + self.ahead)
        self.marks = [
            (self.x(number) + shift, thinnest[1], is_after)
            for number, grind in enumerate(life.grinds, 1)
            for shift, thickness, is_after in self._sides(grind)
            if thickness is not None and (thinnest := thickness.thinnest) is not None
        ]
        self._mark_what_was_measured_besides()
        readings = [um for _, um, _ in self.marks]
        self.low = (min([life.minimum_um, *readings]) - 90) // 100 * 100
        self.high = -(-(max([life.minimum_um + 100, *readings]) + 20) // 100) * 100

    def _mark_what_was_measured_besides(self) -> None:
        """The newest reading, where it was taken without a grind: it stands after the grinds that came before it."""
        reading = self.life.reading
        if reading is not None and reading.is_beside:
            x = self.x(len(self.life.grinds) - reading.grinds_since + 0.5)
            self.marks = sorted([*self.marks, (x, reading.um, False)])

    def _sides(self, grind: BaseGrind) -> tuple[tuple[float, Thickness | None, bool], ...]:
        apart = min(self.slot * 0.22, 7)
        return (-apart, grind.before, False), (apart, grind.after, True)

    def x(self, number: float) -> float:
        return LEFT + self.slot * (number - 0.5)

    def y(self, um: float) -> float:
        return BOTTOM + (um - self.low) * (self.height - self.top - BOTTOM) / (self.high - self.low)

    def drawn(self) -> Drawing:
        self._range()
        self._grid()
        self._key()
        self._numbers()
        self._minimum()
        self._expected()
        self._measured()
        return self.drawing

    def _text(self, x: float, y: float, text: str, anchor: Anchor = "start", colour: Color = SOFT) -> None:
        self.pen.text(x, y, text, anchor, colour)

    def _line(self, points: Sequence[float], colour: Color, width: float, dash: Sequence[float] = ()) -> None:
        self.pen.line(points, colour, width, dash)

    def _grid(self) -> None:
        step = 100 if self.high - self.low <= 800 else 200
        for um in range(self.low, self.high + 1, step):
            self._line((LEFT, self.y(um), self.right, self.y(um)), HAIR, 0.4)
            self._text(LEFT - 6, self.y(um) - self.size * 0.35, self.speaker.number(um / 1000, 1), "end")
        self._text(LEFT - 6, self.y(self.high) + self.size, "mm", "end")

    def _key_rows(self) -> list[tuple[int, float, str, bool | None]]:
        """What the marks mean: row, x, words, and whether the mark is that after a grind, or none for what is expected."""
        row, x = 0, float(LEFT)
        rows = []
        for text, is_after in key_words(self.life, self.speaker):
            wide = (21 if is_after is None else 9) + self._width(text)
            # The rough width is on the long side.
            if x > LEFT and x + 0.94 * wide > self.right:
                row, x = row + 1, float(LEFT)
            rows.append((row, x, text, is_after))
            x += wide + 18
        return rows

    def _width(self, text: str) -> float:
        """A rough one, since the page uses its own letters."""
        return 0.52 * self.size * len(text)

    def _key(self) -> None:
        """In rows above the plot, where no line can cross it."""
        for row, x, text, is_after in self.key:
            y = self.height - self.size - row * (self.size + 4)
            if is_after is None:
                self._band((x, y - 4, x + 16, y - 4, x + 16, y + 4, x, y + 4))
                self._line((x, y, x + 16, y), SOFT, 0.9, DOTTED)
            else:
                self._dot(x + DOT, y, is_after, DOT)
            self._text(x + (21 if is_after is None else 9), y - self.size * 0.35, text)

    def _label(self, x: float, y: float, text: str, anchor: Anchor = "start", colour: Color = SOFT) -> None:
        """Words within the plot, on ground of their own so that no rule strikes them through."""
        width = self._width(text) + 4
        left = x - 2 if anchor == "start" else x - width + 2
        right, low, high = left + width, y - 1.5, y + self.size - 1
        self._band((left, low, right, low, right, high, left, high), PAPER)
        self._text(x, y, text, anchor, colour)

    def _numbers(self) -> None:
        count = len(self.life.grinds)
        every = next(
            step
            for step in (1, 2, 5, 10, 20, 50, 100, count + 1)
            if step * self.slot >= 1.75 * self.size or step > count
        )
        self._text(LEFT - 6, BOTTOM - 15, self.speaker.say(N_("Grind")), "end")
        for number in range(1, count + 1):
            if number == 1 or number % every == 0:
                self._text(self.x(number), BOTTOM - 15, self.speaker.number(number), "middle")
        if not count:
            return
        first, last = self.x(1), self.x(count)
        days = [self.speaker.short_date(grind.day) for grind in (self.life.grinds[0], self.life.grinds[-1])]
        y = BOTTOM - 15 - self.size * 1.5
        if count == 1:
            self._text(first, y, days[0], "middle")
        elif last - first > self.size * 10:
            self._text(first, y, days[0], "middle")
            self._text(min(last, self.right + RIGHT - 3 * self.size), y, days[1], "middle")
        else:
            # Too near each other to stand below their grinds.
            self._text(LEFT, y, self.speaker.say(N_("%(first)s to %(last)s"), first=days[0], last=days[1]))

    def _minimum(self) -> None:
        y = self.y(self.life.minimum_um)
        self._line((LEFT, y, self.right, y), INK, 0.9, DASHED)
        limit = self.speaker.mm(self.life.minimum_um, places_for(self.life))
        self._label(
            LEFT + 4,
            y - self.size - 2,
            self.speaker.say(N_("Workshop's minimum %(minimum)s"), minimum=limit),
            colour=INK,
        )

    def _range(self) -> None:
        """The range around the expected line, down to the minimum: below it nobody grinds."""
        reading = self.life.reading
        if reading is None or self.life.grinds_left is None:
            return
        start = self.marks[-1][0], self.y(reading.um)
        thin, thick = [start], [start]
        for more in range(1 - reading.grinds_since, self.ahead + 1):
            low, high = self.life.base_range_um(more) or (reading.um, reading.um)
            x = self.x(len(self.life.grinds) + more)
            thin.append((x, self.y(max(low, min(self.life.minimum_um, reading.um)))))
            thick.append((x, self.y(max(high, min(self.life.minimum_um, reading.um)))))
        if len(thin) > 1:
            self._band([value for point in (*thin, *reversed(thick)) for value in point])

    def _band(self, points: Sequence[float], fill: Color = BAND) -> None:
        self.drawing.add(
            Polygon([round(float(value), 2) for value in points], fillColor=fill, strokeColor=None)
        )

    def _expected(self) -> None:
        reading = self.life.reading
        if reading is None or self.life.grinds_left is None:
            return
        count = len(self.life.grinds)
        measured_after = count - reading.grinds_since
        points = [self.marks[-1][0], self.y(reading.um)]
        for number in range(measured_after + 1, count + self.expected + 1):
            y = self.y(reading.um - self.life.removal_um * (number - measured_after))
            points += [self.x(number), y]
            self._line((self.x(number), y - 2, self.x(number), y + 2), SOFT, 0.8)
        if len(points) > 2:
            self._line(points, SOFT, 0.9, DOTTED)
        if self.is_cut:
            low, _high = self.life.base_range_um(self.expected) or (reading.um, reading.um)
            text = self.speaker.plural(
                N_("%(num)s grind to the minimum"), N_("%(num)s grinds to the minimum"), self.life.grinds_left
            )
            told = text % {"num": self.speaker.number(self.life.grinds_left)}
            self._label(self.right, self.y(low) - self.size - 3, told, "end")

    def _measured(self) -> None:
        if len(self.marks) > 1:
            line = [value for x, um, _ in self.marks for value in (x, self.y(um))]
            self._line(line, INK, 0.8)
        for x, um, is_after in self.marks:
            self._dot(x, self.y(um), is_after)

    def _dot(self, x: float, y: float, is_after: bool, radius: float = 0) -> None:
        radius = radius or min(DOT, max(1.2, self.slot * 0.16))
        fill = INK if is_after else PAPER
        self.drawing.add(Circle(x, y, radius, strokeColor=INK, strokeWidth=0.8, fillColor=fill))
