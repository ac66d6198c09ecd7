"""A venue's winter: hours of daytime by air temperature, its cold, ordinary and mild day, and the hours that thaw."""

from __future__ import annotations

from reportlab.graphics.shapes import Drawing, Rect
from reportlab.lib.colors import Color

from portal.domain.climate import Climate
from portal.domain.words import N_
from portal.pictures.ink import DASHED, FONT, HAIR, INK, LETTERS, WIDTH, Pen, Speaker, Table, round_step

HEIGHT = 204
LEFT, RIGHT, BOTTOM = 30, 6, 50
# A row of words above the plot for each of the three days.
ROW = 13
TOP = 3 * ROW + 4
# Light enough for the three lines to be seen across either.
BAR, THAW = Color(0.8, 0.8, 0.8), Color(0.5, 0.5, 0.5)
MINUS = "\u2212"
DAYS = (N_("cold %(degrees)s"), N_("ordinary %(degrees)s"), N_("mild %(degrees)s"))


def degrees(value: float, speaker: Speaker, places: int = 1) -> str:
    """``−8.8 °C``."""
    return f"{speaker.number(value, places).replace('-', MINUS)}\u00a0°C"


def percent(share: float, speaker: Speaker) -> str:
    """``18.8 %``."""
    return f"{speaker.number(100 * share, 1)}\u00a0%"


def describe(climate: Climate, speaker: Speaker) -> str:
    """The drawing in words, for who cannot see it."""
    return " ".join(
        (
            speaker.say(
                N_("Hours of winter daytime by air temperature, from %(low)s to %(high)s."),
                low=degrees(climate.steps[0].air_c, speaker, 0),
                high=degrees(climate.steps[-1].air_c, speaker, 0),
            ),
            speaker.say(
                N_(
                    "One hour in ten is colder than %(cold)s, half are colder than %(ordinary)s, one in ten is milder than %(mild)s."
                ),
                cold=degrees(climate.cold_c, speaker),
                ordinary=degrees(climate.ordinary_c, speaker),
                mild=degrees(climate.mild_c, speaker),
            ),
            speaker.say(
                N_("It thaws in %(share)s of the hours: their wet bulb is above 0 °C."),
                share=percent(climate.thaw_share, speaker),
            ),
        )
    )


def numbers(climate: Climate, speaker: Speaker) -> Table:
    """The bars in numbers, each as a share of all hours."""
    return Table(
        (
            speaker.say(N_("Air temperature")),
            speaker.say(N_("Share of hours")),
            speaker.say(N_("Of these thaw")),
        ),
        tuple(
            (
                degrees(step.air_c, speaker, 0),
                percent(step.hours / climate.hours, speaker),
                percent(step.thaw_hours / climate.hours, speaker),
            )
            for step in climate.steps
        ),
    )


def draw(climate: Climate, speaker: Speaker, font: str = FONT) -> Drawing:
    """Bars a degree wide; their dark foot thaws, and three lines stand at the days that the snow questions ask for."""
    return _Plot(climate, speaker, font).drawn()


class _Plot:
    def __init__(self, climate: Climate, speaker: Speaker, font: str) -> None:
        self.climate, self.speaker = climate, speaker
        self.drawing = Drawing(WIDTH, HEIGHT, initialFontName=font)
        self.pen = Pen(self.drawing, font)
        self.right, self.top = WIDTH - RIGHT, HEIGHT - TOP
        # Half a degree at either end, and never so few degrees that a bar is a wall.
        self.low = min(climate.steps[0].air_c, round(climate.ordinary_c) - 5) - 0.5
        self.high = max(climate.steps[-1].air_c, round(climate.ordinary_c) + 5) + 0.5
        self.most = max(step.hours for step in climate.steps) / climate.hours

    def x(self, air_c: float) -> float:
        return LEFT + (air_c - self.low) * (self.right - LEFT) / (self.high - self.low)

    def y(self, share: float) -> float:
        return BOTTOM + share * (self.top - BOTTOM) / self.most

    def drawn(self) -> Drawing:
        self._shares()
        self._bars()
        self._degrees()
        self._days()
        self._key()
        return self.drawing

    def _shares(self) -> None:
        step = round_step(self.most, 4)
        share = 0.0
        while share <= self.most * (1 + 1e-9):
            self.pen.line((LEFT, self.y(share), self.right, self.y(share)), HAIR, 0.4)
            if self.y(share) < self.top - LETTERS:
                places = 0 if step >= 0.01 else 1
                self.pen.text(LEFT - 4, self.y(share) - 3.5, self.speaker.number(100 * share, places), "end")
            share += step
        self.pen.text(LEFT - 4, self.top - 3.5, "%", "end")

    def _bars(self) -> None:
        for step in self.climate.steps:
            left = self.x(step.air_c - 0.5)
            width = max((self.right - LEFT) / (self.high - self.low) - 0.8, 0.4)
            for hours, colour in ((step.hours, BAR), (step.thaw_hours, THAW)):
                if hours:
                    height = self.y(hours / self.climate.hours) - BOTTOM
                    self._block(left + 0.4, BOTTOM, width, height, colour)

    def _block(self, x: float, y: float, width: float, height: float, colour: Color) -> None:
        block = Rect(x, y, width, height)
        block.fillColor, block.strokeColor = colour, None
        self.drawing.add(block)

    def _degrees(self) -> None:
        step = next(one for one in (1, 2, 5, 10, 20, 50) if (self.high - self.low) / one <= 8)
        at = -(-int(self.low) // step) * step
        while at <= self.high:
            if self.low <= at:
                self.pen.line((self.x(at), BOTTOM, self.x(at), BOTTOM - 3), HAIR, 0.6)
                self.pen.text(self.x(at), BOTTOM - 14, self.speaker.number(at).replace("-", MINUS), "middle")
            at += step
        self.pen.text(self.right, BOTTOM - 28, self.speaker.say(N_("Air temperature, °C")), "end")

    def _days(self) -> None:
        """The coldest day's line is the longest, so that no line runs through the words of another."""
        days = (self.climate.cold_c, self.climate.ordinary_c, self.climate.mild_c)
        for row, (text, day) in enumerate(zip(DAYS, days, strict=True)):
            said = self.speaker.say(text, degrees=degrees(day, self.speaker))
            foot = HEIGHT - (row + 1) * ROW + 3
            x = self.x(day)
            self.pen.line((x, BOTTOM, x, foot - 3), INK, 0.9, DASHED)
            # The width is a rough one, since the page uses its own letters.
            self.pen.text(min(x - 2, self.right - 0.56 * LETTERS * len(said)), foot, said, colour=INK)

    def _key(self) -> None:
        self._block(LEFT, 4, 8, 8, THAW)
        self.pen.text(
            LEFT + 13,
            4.5,
            self.speaker.say(
                N_("thaws: %(share)s of the hours"), share=percent(self.climate.thaw_share, self.speaker)
            ),
        )
