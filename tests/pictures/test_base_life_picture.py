"""The base-life picture as inline SVG: what it shows, what it says, and that a strict policy lets it through."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from reportlab.graphics.shapes import Circle, Drawing, Polygon, PolyLine, String
from reportlab.lib.colors import Color
from reportlab.pdfbase.pdfmetrics import stringWidth

from portal.domain.base_life import Measured, Thickness, base_life
from portal.i18n import voice
from portal.pictures import base_life as picture
from portal.pictures.ink import DASHED, DOTTED
from portal.pictures.svg import inline
from tests.documents.histories import grinds, history

SAID = voice("en")
SVG = "{http://www.w3.org/2000/svg}"


def drawn(count: int = 6, **options: int) -> Drawing:
    return picture.draw(history(grinds(count)).base_life, SAID, **options)


def svg(uid: str = "life", title: str = "Base life", description: str = "What it shows") -> str:
    return inline(drawn(), uid, title, description)


def parsed(text: str) -> ElementTree.Element:
    return ElementTree.fromstring(text)  # noqa: S314 - our own picture


def test_nothing_in_it_needs_more_than_the_strictest_policy() -> None:
    text = svg()
    assert "style" not in text
    assert not re.search(r"\son\w+=|<script|<image|href|url\(|<!DOCTYPE|<\?xml", text)


def test_it_is_an_image_named_and_described_for_screen_readers() -> None:
    root = parsed(svg(title="Base <life> & more", description="Åse's pair"))
    assert root.get("role") == "img"
    named = root.get("aria-labelledby", "").split()
    spoken = {
        element.get("id"): element.text for element in root if element.tag in {f"{SVG}title", f"{SVG}desc"}
    }
    assert [spoken[one] for one in named] == ["Base <life> & more", "Åse's pair"]
    assert root[0].tag == f"{SVG}title"


def test_two_on_one_page_share_no_id() -> None:
    ids = [set(re.findall(r'\bid="([^"]+)"', svg(uid))) for uid in ("life-1", "life-2")]
    assert ids[0]
    assert ids[0].isdisjoint(ids[1])
    assert all(one.startswith("life-1-") for one in ids[0])


def test_it_takes_the_ink_of_the_page_and_grows_with_it() -> None:
    root = parsed(svg())
    paints = {
        value for element in root.iter() for name, value in element.items() if name in {"fill", "stroke"}
    }
    assert paints == {"currentColor", "none"}
    assert root.get("width") is None
    assert root.get("viewBox") == "0 0 470 168"


def test_a_colour_that_is_no_grey_keeps_itself() -> None:
    drawing = Drawing(10, 10)
    drawing.add(Circle(5, 5, 2, fillColor=Color(0.6, 0.1, 0.1), strokeColor=None))
    assert "rgb(60%,10%,10%)" in inline(drawing, "x", "t", "d")


def test_text_is_placed_by_the_browser() -> None:
    anchors = re.findall(r'text-anchor="(\w+)"', svg())
    assert set(anchors) == {"end", "middle"}


def test_the_same_values_give_the_same_picture() -> None:
    assert svg() == svg()


def test_a_measured_grind_has_two_points_on_the_line_and_an_unmeasured_one_none() -> None:
    lines = grinds(6)
    measured = sum(line.before_um is not None for line in lines) + sum(
        line.after_um is not None for line in lines
    )
    key = 2
    circles = [shape for shape in drawn().contents if isinstance(shape, Circle)]
    assert len(circles) == measured + key == 12


def test_thicker_base_is_higher_on_the_picture() -> None:
    circles = [shape for shape in drawn().contents if isinstance(shape, Circle)][2:]
    readings = [
        thickness.thinnest[1]
        for line in grinds(6)
        for thickness in (line.before_um, line.after_um)
        if thickness is not None and thickness.thinnest is not None
    ]
    for (one, its), (other, others) in pairwise(zip(circles, readings, strict=True)):
        assert (one.cy > other.cy) == (its > others)
        assert one.cx < other.cx


@pytest.mark.parametrize("count", [1, 2, 6, 11, 60, 150])
def test_every_mark_stays_inside_the_picture(count: int) -> None:
    drawing = drawn(count, width=470, height=168)
    for shape in drawing.contents:
        if isinstance(shape, Circle):
            assert 40 <= shape.cx <= 470
            assert 0 <= shape.cy <= 168
        elif isinstance(shape, PolyLine):
            assert all(0 <= x <= 470 for x in shape.points[::2])
            assert all(0 <= y <= 168 for y in shape.points[1::2])


@pytest.mark.parametrize("count", [1, 6, 60, 150])
def test_grind_numbers_do_not_run_into_each_other(count: int) -> None:
    numbers = [
        shape.x
        for shape in drawn(count).contents
        if isinstance(shape, String) and shape.textAnchor == "middle" and shape.text.isdecimal()
    ]
    assert numbers
    assert all(after - before >= 13 for before, after in pairwise(numbers[1:]))


def test_the_words_say_what_the_line_shows() -> None:
    life = history(grinds(6)).base_life
    assert picture.describe(life, SAID) == (
        "Line of the thinnest point of the base over 6 grinds, from 20 Nov 2022 to 27 Jun 2025. "
        "Last measured: 0.89 mm, on 27 Jun 2025. The workshop's minimum: 0.50 mm. "
        "Expected from here: 9 grinds left, 0.043 mm each. In 80 of 100 cases it is between 7 and 11."
    )


def test_the_numbers_say_what_is_expected_after_each_grind_and_in_which_range() -> None:
    life = history(grinds(6)).base_life
    said = picture.table(life, SAID)
    assert len(said.rows) == life.grinds_left == 9
    assert said.rows[0] == ("1", "0.847", "0.828 to 0.866")
    assert picture.table(history(grinds(2, measured=False)).base_life, SAID).rows == ()


def test_the_band_holds_the_expected_line_and_ends_at_the_minimum() -> None:
    life = history(grinds(6)).base_life
    drawing = picture.draw(life, SAID)
    band = max((one for one in drawing.contents if isinstance(one, Polygon)), key=lambda one: len(one.points))
    points = list(zip(band.points[::2], band.points[1::2], strict=True))
    half = len(points) // 2
    thin, thick = points[:half], points[: half - 1 : -1]
    dotted = next(
        one
        for one in drawing.contents
        if isinstance(one, PolyLine) and one.strokeDashArray == DOTTED and len(one.points) > 4
    )
    for (x, low), (_, high) in zip(thin, thick, strict=True):
        line = dict(zip(dotted.points[::2], dotted.points[1::2], strict=True))
        if x in line:
            assert low <= line[x] <= high
    dashed = next(
        one for one in drawing.contents if isinstance(one, PolyLine) and one.strokeDashArray == DASHED
    )
    assert min(y for _, y in points) == pytest.approx(dashed.points[1], abs=0.01)


def strings(drawing: Drawing) -> list[str]:
    return [shape.text for shape in drawing.contents if isinstance(shape, String)]


def test_the_expected_line_goes_on_to_the_minimum_or_says_how_many_grinds_that_takes() -> None:
    near, far = (history(grinds(6, start_um=um)).base_life for um in (1150, 1900))
    assert near.grinds_left == 9
    assert far.grinds_left is not None
    assert far.grinds_left > picture.DRAWN_TO_THE_END
    assert not [text for text in strings(picture.draw(near, SAID)) if "to the minimum" in text]
    assert f"{far.grinds_left} grinds to the minimum" in strings(picture.draw(far, SAID))


@pytest.mark.parametrize("count", [1, 3, 6, 60])
def test_on_a_phone_no_word_leaves_the_picture_and_the_days_of_first_and_last_grind_are_told(
    count: int,
) -> None:
    life = history(grinds(count)).base_life
    drawing = picture.draw_narrow(life, SAID)
    for shape in drawing.contents:
        if isinstance(shape, String):
            wide = stringWidth(shape.text, "Helvetica", shape.fontSize)
            before = {"start": 0.0, "middle": wide / 2, "end": wide}[shape.textAnchor]
            assert shape.x - before >= 0, shape.text
            assert shape.x - before + wide <= drawing.width, shape.text
    told = " ".join(strings(drawing))
    for grind in (life.grinds[0], life.grinds[-1]):
        assert SAID.short_date(grind.day) in told


def test_no_rule_strikes_the_words_of_the_minimum_through() -> None:
    drawing = picture.draw(history(grinds(6)).base_life, SAID, height=104)
    at = {id(shape): number for number, shape in enumerate(drawing.contents)}
    (words,) = [shape for shape in drawing.contents if isinstance(shape, String) and "minimum" in shape.text]
    ground = drawing.contents[at[id(words)] - 1]
    assert isinstance(ground, Polygon)
    assert min(ground.points[1::2]) < words.y < max(ground.points[1::2])
    rules = [
        shape
        for shape in drawing.contents[at[id(words)] :]
        if isinstance(shape, PolyLine) and len(shape.points) == 4 and shape.points[1] == shape.points[3]
    ]
    assert not [
        rule for rule in rules if min(ground.points[1::2]) < rule.points[1] < max(ground.points[1::2])
    ]


def test_an_unmeasured_base_is_said_to_be_so() -> None:
    life = history(grinds(2, measured=False)).base_life
    assert picture.describe(life, SAID) == "The base was not measured."
    assert not [shape for shape in picture.draw(life, SAID).contents if isinstance(shape, Circle)][2:]


def test_one_grind_left_is_said_in_the_singular() -> None:
    assert picture.say_grinds_left(1, SAID) == "1 grind left"
    assert picture.say_grinds_left(0, SAID) == "0 grinds left"


def test_a_reading_below_the_minimum_is_still_on_the_picture() -> None:
    (line,) = grinds(1)
    worn = replace(line, before_um=Thickness(430, 430, 430), after_um=Thickness(400, 395, 400))
    drawing = picture.draw(history((worn,)).base_life, SAID)
    assert all(shape.cy >= 36 for shape in drawing.contents if isinstance(shape, Circle))


def test_an_empty_history_still_gives_a_drawing() -> None:
    assert inline(picture.draw(base_life((), 500, 40), SAID), "x", "t", "d").startswith("<svg")


def test_a_measurement_at_check_in_stands_after_the_last_grind_and_the_expectation_begins_there() -> None:
    life = history(grinds(3)).base_life
    assert life.reading is not None
    day = life.grinds[-1].day + timedelta(days=5)
    um = life.reading.um - 20
    came_in = base_life(
        life.grinds, life.minimum_um, life.stated_um, [Measured(day, Thickness(um, None, None))]
    )

    def dots(of: Drawing) -> list[tuple[float, float]]:
        """Those of the line: the key stands above it."""
        circles = [one for one in of.contents if isinstance(one, Circle)]
        return sorted((one.cx, one.cy) for one in circles if one.cy < of.height - picture.TOP)

    without, with_it = dots(picture.draw(life, SAID)), dots(picture.draw(came_in, SAID))
    assert len(with_it) == len(without) + 1
    assert with_it[-1][1] < without[-1][1], "lower than the last one, and to the right of it"
    assert f"{um / 1000:.2f} mm" in picture.describe(came_in, SAID)
