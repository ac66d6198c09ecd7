"""The picture of a venue's winter: its bars, its three lines, and the same in words and numbers."""

from __future__ import annotations

import re
from datetime import datetime
from itertools import pairwise

import pytest
from reportlab.graphics.shapes import PolyLine, Rect, String

from portal.domain.climate import Climate, read_climate
from portal.i18n import voice
from portal.pictures import climate as picture
from portal.pictures.ink import DASHED, INK
from portal.pictures.svg import inline
from tests import weather_files as files

SAID = voice("en")


@pytest.fixture(scope="module")
def climate() -> Climate:
    return read_climate(files.data(files.epw()))


def bars(climate: Climate, thawing: bool) -> list[Rect]:
    """The bars from cold to mild, without the square of the key."""
    colour = picture.THAW if thawing else picture.BAR
    return [
        shape
        for shape in picture.draw(climate, SAID).contents
        if isinstance(shape, Rect) and shape.fillColor == colour and shape.y == picture.BOTTOM
    ]


def lines(climate: Climate) -> list[PolyLine]:
    """The lines of the three days."""
    shapes = picture.draw(climate, SAID).contents
    return [one for one in shapes if isinstance(one, PolyLine) and one.strokeDashArray == DASHED]


def test_a_bar_stands_for_each_degree_as_high_as_its_share(climate: Climate) -> None:
    met = [step for step in climate.steps if step.hours]
    drawn = bars(climate, thawing=False)
    assert len(drawn) == len(met)
    for bar, step in zip(drawn, met, strict=True):
        assert bar.height / drawn[0].height == pytest.approx(step.hours / met[0].hours, rel=1e-6)
    assert [bar.x for bar in drawn] == sorted(bar.x for bar in drawn)


def test_the_dark_foot_of_a_bar_is_what_thaws(climate: Climate) -> None:
    thawing = [step for step in climate.steps if step.thaw_hours]
    drawn, whole = bars(climate, thawing=True), bars(climate, thawing=False)
    assert len(drawn) == len(thawing) > 0
    one, step = drawn[0], thawing[0]
    (under,) = (bar for bar in whole if bar.x == one.x)
    assert one.height / under.height == pytest.approx(step.thaw_hours / step.hours)


def test_the_three_lines_stand_at_the_days(climate: Climate) -> None:
    cold, ordinary, mild = (line.points[0] for line in lines(climate))
    share = (ordinary - cold) / (mild - cold)
    days = climate.days
    assert None not in (days.cold, days.ordinary, days.mild)
    assert share == pytest.approx(
        (climate.ordinary_c - climate.cold_c) / (climate.mild_c - climate.cold_c), abs=0.01
    )


def test_no_line_runs_through_the_words_of_another(climate: Climate) -> None:
    drawn = picture.draw(climate, SAID).contents
    tops = [line.points[3] for line in lines(climate)]
    feet = [shape.y for shape in drawn if isinstance(shape, String) and shape.fillColor == INK]
    assert tops == sorted(tops, reverse=True)
    for row, foot in enumerate(feet):
        assert all(top < foot for top in tops[row:])


def constant(air_c: float) -> Climate:
    return read_climate(files.data(files.table(lambda _at: (air_c, 80.0, 1000.0))))


def far_apart(at: datetime) -> tuple[float, float, float]:
    return (-58.0 if at.hour == 9 else 22.0 if at.hour == 15 else -20.0 + at.hour / 3, 60.0, 1000.0)


@pytest.mark.parametrize("air_c", [-40.0, 0.0, 20.0])
def test_a_winter_of_one_temperature_is_one_bar_within_the_picture(air_c: float) -> None:
    within(constant(air_c))
    assert len(bars(constant(air_c), thawing=False)) == 1


def test_a_winter_of_eighty_degrees_stays_within_the_picture() -> None:
    within(read_climate(files.data(files.table(far_apart))))


def within(climate: Climate) -> None:
    drawing = picture.draw(climate, SAID)
    for shape in drawing.contents:
        if isinstance(shape, Rect):
            assert 0 <= shape.x <= shape.x + shape.width <= drawing.width
            assert 0 <= shape.y <= shape.y + shape.height <= drawing.height
        elif isinstance(shape, PolyLine):
            assert all(0 <= x <= drawing.width for x in shape.points[::2])
            assert all(0 <= y <= drawing.height for y in shape.points[1::2])
        elif isinstance(shape, String):
            assert 0 <= shape.x <= drawing.width
            assert 0 <= shape.y <= drawing.height


def test_the_numbers_on_the_axis_do_not_run_into_each_other(climate: Climate) -> None:
    for one in (climate, read_climate(files.data(files.table(far_apart)))):
        places = sorted(
            shape.x
            for shape in picture.draw(one, SAID).contents
            if isinstance(shape, String) and shape.textAnchor == "middle"
        )
        assert len(places) >= 3
        assert all(after - before >= 25 for before, after in pairwise(places))


def test_one_hue_only(climate: Climate) -> None:
    paints = set(
        re.findall(r'(?:fill|stroke)="([^"]+)"', inline(picture.draw(climate, SAID), "it", "t", "d"))
    )
    assert paints <= {"currentColor", "none"}
    assert len({picture.BAR, picture.THAW, INK}) == 3


def test_the_words_say_what_the_picture_shows() -> None:
    climate = read_climate(files.data(files.table(lambda at: (-7.0 if at.day > 3 else 4.0, 90.0, 1000.0))))
    assert picture.describe(climate, SAID).replace("\u00a0", " ") == (
        "Hours of winter daytime by air temperature, from −7 °C to 4 °C. One hour in ten is colder than −7.0 °C, "
        "half are colder than −7.0 °C, one in ten is milder than −7.0 °C. "
        "It thaws in 9.9 % of the hours: their wet bulb is above 0 °C."
    )


def test_the_table_holds_the_same_numbers(climate: Climate) -> None:
    table = picture.numbers(climate, SAID)
    assert table.heads == ("Air temperature", "Share of hours", "Of these thaw")
    assert len(table.rows) == len(climate.steps)
    shares = [float(row[1].removesuffix("\u00a0%")) for row in table.rows]
    assert sum(shares) == pytest.approx(100, abs=0.05 * len(shares))
    thaws = [float(row[2].removesuffix("\u00a0%")) for row in table.rows]
    assert sum(thaws) == pytest.approx(100 * climate.thaw_share, abs=0.05 * len(thaws))
