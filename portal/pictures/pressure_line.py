"""The pressure line: force on the stone along the ski under an even wheel force, and the wheel force that evens it out."""

from __future__ import annotations

from collections.abc import Callable

from reportlab.graphics.shapes import Drawing

from portal.domain.pressure import Point, PressureLine
from portal.domain.words import N_
from portal.pictures.ink import DASHED, FONT, HAIR, INK, LETTERS, SOFT, WIDTH, Pen, Speaker, Table, round_step

HEIGHT = 170
LEFT, RIGHT, TOP, BOTTOM = 38, 10, 42, 46
# The axis shows this much above and below an even force at least, so that nothing small looks large.
LEAST_PCT = 2.0
STEPS = 2


def draw(
    line: PressureLine, speaker: Speaker, width: float = WIDTH, height: float = HEIGHT, font: str = FONT
) -> Drawing:
    """The drawing; the tip is on the left."""
    return _Plot(line, speaker, width, height, font).drawn()


def describe(line: PressureLine, speaker: Speaker) -> str:
    """The drawing in words, for who cannot see it."""
    told = [
        speaker.say(
            N_(
                "Force on the stone along %(contact)s cm of the ski for a wheel force of %(force)s N: %(front)s N at the "
                "front end, %(rear)s N at the rear end."
            ),
            contact=speaker.number(line.camber.contact_mm / 10),
            force=speaker.number(line.wheel.force_n),
            front=speaker.number(line.wheel.force_n * line.front.factor),
            rear=speaker.number(line.wheel.force_n * line.rear.factor),
        ),
        speaker.say(
            N_(
                "A wheel force that goes from %(front)s N at the front end to %(rear)s N at the rear end evens it out."
            ),
            front=speaker.number(line.front.evened_n),
            rear=speaker.number(line.rear.evened_n),
        ),
    ]
    return " ".join(told)


def table(line: PressureLine, speaker: Speaker) -> Table:
    """The zones in numbers, each at its middle."""
    heads = (
        N_("Zone"),
        N_("Behind the front end, cm"),
        N_("Force on the stone, N"),
        N_("Part of the wheel force, %"),
        N_("Wheel force that evens it out, N"),
    )
    return Table(
        heads=tuple(speaker.say(head) for head in heads),
        rows=tuple(
            (
                speaker.number(zone.number),
                f"{speaker.number(zone.first_mm / 10)}\N{EN DASH}{speaker.number(zone.last_mm / 10)}",
                speaker.number(line.wheel.force_n * zone.middle.factor),
                speaker.number(100 * zone.middle.factor, 1),
                speaker.number(zone.middle.evened_n),
            )
            for zone in line.zones
        ),
    )


class _Plot:
    def __init__(self, line: PressureLine, speaker: Speaker, width: float, height: float, font: str) -> None:
        self.line, self.speaker = line, speaker
        self.drawing = Drawing(width, height, initialFontName=font)
        self.pen = Pen(self.drawing, font)
        self.right, self.top = width - RIGHT, height - TOP
        off = max(
            LEAST_PCT,
            *(abs(100 * one.factor - 100) for one in line.points),
            *(abs(100 / one.factor - 100) for one in line.points),
        )
        self.step = round_step(off, STEPS)
        self.most = self.step * STEPS

    def x(self, mm: float) -> float:
        return LEFT + mm * (self.right - LEFT) / self.line.camber.contact_mm

    def y(self, pct: float) -> float:
        """Where a per cent of the wheel force stands."""
        return BOTTOM + (pct - 100 + self.most) * (self.top - BOTTOM) / (2 * self.most)

    def drawn(self) -> Drawing:
        self._grid()
        self._zones()
        self._curve(lambda one: one.factor, 1.1)
        self._curve(lambda one: 1 / one.factor, 0.8, DASHED)
        self._key()
        return self.drawing

    def _curve(self, value: Callable[[Point], float], width: float, dash: tuple[float, ...] = ()) -> None:
        points = [
            number for one in self.line.points for number in (self.x(one.x_mm), self.y(100 * value(one)))
        ]
        self.pen.line(points, INK, width, dash)

    def _grid(self) -> None:
        for number in range(-STEPS, STEPS + 1):
            pct = 100 + number * self.step
            self.pen.line((LEFT, self.y(pct), self.right, self.y(pct)), SOFT if number == 0 else HAIR, 0.5)
            self.pen.text(
                LEFT - 6,
                self.y(pct) - LETTERS * 0.35,
                self.speaker.number(pct, 0 if self.step >= 1 else 1),
                "end",
            )
        self.pen.text(LEFT - 6, self.top + 10, "%", "end")

    def _zones(self) -> None:
        foot = BOTTOM - 4
        edges = [self.line.zones[0].first_mm, *(zone.last_mm for zone in self.line.zones)]
        for edge in edges:
            self.pen.line((self.x(edge), foot, self.x(edge), foot - 14), SOFT, 0.5)
        self.pen.line((self.x(edges[0]), foot - 14, self.x(edges[-1]), foot - 14), SOFT, 0.5)
        for zone in self.line.zones:
            middle = self.x(zone.middle.x_mm)
            self.pen.text(middle, foot - 11, self.speaker.number(zone.number), "middle")
        self.pen.text(LEFT - 6, foot - 11, self.speaker.say(N_("Zone")), "end")
        self.pen.text(LEFT, 6, self.speaker.say(N_("tip")))
        self.pen.text(self.right, 6, self.speaker.say(N_("tail")), "end")

    def _key(self) -> None:
        """What the lines mean, above the plot, where nothing crosses it."""
        marked = ((N_("force on the stone"), (), 1.1), (N_("wheel force that evens it out"), DASHED, 0.8))
        for number, (words, dash, width) in enumerate(marked):
            y = self.drawing.height - 9 - 13 * number
            self.pen.line((LEFT, y, LEFT + 20, y), INK, width, dash)
            self.pen.text(LEFT + 26, y - LETTERS * 0.35, self.speaker.say(words))
