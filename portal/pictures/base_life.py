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
    places_for,
    say_grinds_left,
    say_range,
    table,
)
from portal.pictures.ink import DASHED, DOTTED, FONT, HAIR, INK, PAPER, SOFT, Anchor, Pen, Speaker

__all__ = ["describe", "draw", "places_for", "say_grinds_left", "say_range", "table"]

LEFT, RIGHT, TOP, BOTTOM = 46, 12, 26, 36
SIZE = 8
DOT = 2.4
BAND = Color(0.88, 0.88, 0.88)


def draw(life: BaseLife, speaker: Speaker, width: int = 470, height: int = 168, font: str = FONT) -> Drawing:
    """The drawing; an unmeasured base gives one without a line, so ask ``life.reading`` first."""
    return _Plot(life, speaker, width, height, font).drawn()


class _Plot:
    def __init__(self, life: BaseLife, speaker: Speaker, width: int, height: int, font: str) -> None:
        self.life, self.speaker = life, speaker
        self.drawing = Drawing(width, height, initialFontName=font)
        self.pen = Pen(self.drawing, font, SIZE)
        self.right = width - RIGHT
        self.expected = min(life.grinds_left or 0, MOST_EXPECTED)
        # The band goes on to where the thick end of the range meets the minimum.
        self.ahead = min(max(self.expected, (life.left_range or (0, 0))[1]), MOST_EXPECTED)
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
        self.height = height

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
        return BOTTOM + (um - self.low) * (self.height - TOP - BOTTOM) / (self.high - self.low)

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
            self._text(LEFT - 6, self.y(um) - SIZE * 0.35, self.speaker.number(um / 1000, 1), "end")
        self._text(LEFT - 6, self.y(self.high) + SIZE, "mm", "end")

    def _key(self) -> None:
        """What the marks mean, in one row above the plot, where no line can cross it."""
        x, y = float(LEFT), self.height - SIZE
        marked = [(N_("before the grind"), False), (N_("after the grind, thinnest point"), True)]
        for text, is_after in marked:
            self._dot(x + DOT, y, is_after, DOT)
            x = self._named(x + 9, y, self.speaker.say(text))
        if self.life.grinds_left is not None:
            left = say_grinds_left(self.life.grinds_left, self.speaker)
            self._band((x, y - 4, x + 16, y - 4, x + 16, y + 4, x, y + 4))
            self._line((x, y, x + 16, y), SOFT, 0.9, DOTTED)
            told = self.speaker.say(N_("expected: %(left)s"), left=left)
            if say_range(self.life, self.speaker):
                low, high = map(self.speaker.number, self.life.left_range or ())
                told = self.speaker.say(
                    N_("expected: %(left)s (%(low)s to %(high)s)"), left=left, low=low, high=high
                )
            self._named(x + 21, y, told)

    def _named(self, x: float, y: float, text: str) -> float:
        """Where the next entry of the key begins; the width is a rough one, since the page uses its own letters."""
        self._text(x, y - SIZE * 0.35, text)
        return x + 0.52 * SIZE * len(text) + 18

    def _numbers(self) -> None:
        count = len(self.life.grinds)
        every = next(
            step for step in (1, 2, 5, 10, 20, 50, 100, count + 1) if step * self.slot >= 14 or step > count
        )
        self._text(LEFT - 6, BOTTOM - 15, self.speaker.say(N_("Grind")), "end")
        for number in range(1, count + 1):
            if number == 1 or number % every == 0:
                self._text(self.x(number), BOTTOM - 15, self.speaker.number(number), "middle")
        if not count:
            return
        first, last = self.x(1), self.x(count)
        if count == 1 or last - first > 80:
            self._text(first, BOTTOM - 27, self.speaker.short_date(self.life.grinds[0].day), "middle")
        if count > 1:
            self._text(last, BOTTOM - 27, self.speaker.short_date(self.life.grinds[-1].day), "middle")

    def _minimum(self) -> None:
        y = self.y(self.life.minimum_um)
        self._line((LEFT, y, self.right, y), INK, 0.9, DASHED)
        limit = self.speaker.mm(self.life.minimum_um, places_for(self.life))
        self._text(
            LEFT + 4,
            y - SIZE - 2,
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

    def _band(self, points: Sequence[float]) -> None:
        self.drawing.add(
            Polygon([round(float(value), 2) for value in points], fillColor=BAND, strokeColor=None)
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
