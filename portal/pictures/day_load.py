"""How full days are: for each a dot on a scale from 0 to 100 % of its minutes, and the number beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from reportlab.graphics.shapes import Circle, Drawing

from portal.domain.words import N_
from portal.pictures.ink import FONT, HAIR, INK, LETTERS, SOFT, WIDTH, Pen, Speaker, Table

ROW, EDGE, DOT = 22, 4, 3.2
# What the day before its scale takes, short and with the day of the week, and the number behind it.
SHORT, LONG, NUMBERS = 80, 140, 66
ROOMY = 400
AXIS = 18
# A day on its own, in a cell of a calendar.
SMALL_WIDTH, SMALL_HEIGHT = 64, 24
QUARTERS = (0, 25, 50, 75, 100)


@dataclass(frozen=True)
class DayLoad:
    """A day: its minutes, all grinders together, and those that are taken; a closed day has none."""

    day: date
    minutes: int
    used: int

    @property
    def percent(self) -> int | None:
        """Whole per cent, never 0 for some nor 100 for not quite all; None on a closed day without work."""
        if not self.minutes:
            return None if not self.used else 101
        exact = 100 * self.used / self.minutes
        if 0 < exact < 100:
            return min(99, max(1, round(exact)))
        return max(101, round(exact)) if exact > 100 else round(exact)

    @property
    def free(self) -> int:
        return max(0, self.minutes - self.used)

    @property
    def over(self) -> int:
        return max(0, self.used - self.minutes)


def say_load(load: DayLoad, speaker: Speaker) -> str:
    """``84 %``, ``closed``, or how many minutes there are too many."""
    if load.over:
        return speaker.say(N_("%(over)s min over"), over=speaker.number(load.over))
    if load.percent is None:
        return speaker.say(N_("closed"))
    return f"{speaker.number(load.percent)}\u00a0%"


def describe(loads: Sequence[DayLoad], speaker: Speaker) -> str:
    """The drawing in words, for who cannot see it."""
    if not loads:
        return speaker.say(N_("No day is known."))
    told = [
        speaker.say(
            N_("How full the days from %(first)s to %(last)s are, from 0 to 100 %% of their minutes."),
            first=speaker.short_date(loads[0].day),
            last=speaker.short_date(loads[-1].day),
        )
    ]
    known = [load for load in loads if load.minutes]
    if known:
        fullest = max(known, key=lambda load: load.used / load.minutes)
        emptiest = min(known, key=lambda load: load.used / load.minutes)
        told.append(
            speaker.say(
                N_("Fullest: %(full)s, %(most)s. Emptiest: %(empty)s, %(least)s."),
                full=speaker.date(fullest.day),
                most=say_load(fullest, speaker),
                empty=speaker.date(emptiest.day),
                least=say_load(emptiest, speaker),
            )
        )
    return " ".join(told)


def describe_one(load: DayLoad, speaker: Speaker) -> str:
    """A day in words: how full it is and the minutes that are left."""
    if load.percent is None:
        return speaker.say(N_("%(day)s: closed"), day=speaker.date(load.day))
    if load.over:
        return speaker.say(
            N_("%(day)s: %(over)s minutes more than it has"),
            day=speaker.date(load.day),
            over=speaker.number(load.over),
        )
    return speaker.say(
        N_("%(day)s: %(share)s taken, %(free)s of %(minutes)s minutes free"),
        day=speaker.date(load.day),
        share=say_load(load, speaker),
        free=speaker.number(load.free),
        minutes=speaker.number(load.minutes),
    )


def table(loads: Sequence[DayLoad], speaker: Speaker) -> Table:
    """The days in numbers."""
    heads = (N_("Day"), N_("Minutes"), N_("Taken"), N_("Free"), N_("How full"))
    return Table(
        tuple(speaker.say(head) for head in heads),
        tuple(
            (
                speaker.date(load.day),
                *(speaker.number(minutes) for minutes in (load.minutes, load.used, load.free)),
                say_load(load, speaker),
            )
            for load in loads
        ),
    )


def draw(loads: Sequence[DayLoad], speaker: Speaker, width: float = WIDTH, font: str = FONT) -> Drawing:
    """A row for each day, the scale below them all."""
    drawing = Drawing(width, ROW * len(loads) + AXIS + EDGE, initialFontName=font)
    pen = Pen(drawing, font)
    roomy = width >= ROOMY
    left, right = LONG if roomy else SHORT, width - NUMBERS - 14
    foot = AXIS
    for quarter in QUARTERS:
        x = left + (right - left) * quarter / 100
        pen.line((x, foot, x, foot + ROW * len(loads)), HAIR, 0.5)
        if quarter % 50 == 0:
            pen.text(x, 4, speaker.number(quarter), "middle")
    pen.text(right + 14, 4, "%")
    for number, load in enumerate(loads, 1):
        y = foot + ROW * (len(loads) - number + 0.5)
        name = speaker.date(load.day) if roomy else speaker.short_date(load.day)
        pen.text(EDGE, y - LETTERS * 0.35, name, colour=INK)
        _scale(pen, load, left, right, y)
        pen.text(width - EDGE, y - LETTERS * 0.35, say_load(load, speaker), "end", INK)
    return drawing


def draw_one(load: DayLoad, speaker: Speaker, width: float = SMALL_WIDTH, font: str = FONT) -> Drawing:
    """The scale of one day with its number above it, small enough for a cell of a calendar."""
    drawing = Drawing(width, SMALL_HEIGHT, initialFontName=font)
    pen = Pen(drawing, font)
    right = width - 16
    for end in (EDGE, right):
        pen.line((end, 2, end, 10), SOFT, 0.6)
    _scale(pen, load, EDGE, right, 6)
    pen.text(EDGE, 14, say_load(load, speaker), colour=INK)
    return drawing


def _scale(pen: Pen, load: DayLoad, left: float, right: float, y: float) -> None:
    """The dot where the day stands; of an over-full day at the end, with an arrow that leads on. A closed day has none."""
    if load.percent is None:
        return
    pen.line((left, y, right, y), HAIR, 0.6)
    x = left + (right - left) * min(100, load.percent) / 100
    pen.line((left, y, x, y), INK, 2)
    dot = Circle(round(x, 2), y, DOT)
    dot.fillColor, dot.strokeColor = INK, None
    pen.on.add(dot)
    if load.over:
        pen.line((right, y, right + 11, y), INK, 1.2)
        pen.line((right + 7, y + 4, right + 11, y, right + 7, y - 4), INK, 1.2)
