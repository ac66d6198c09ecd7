"""The pictures of a structure: what stands where, what is hidden, and that they are the same each time."""

from __future__ import annotations

import re
from io import BytesIO
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from reportlab.graphics.shapes import Drawing, Group, Image, PolyLine, String

from portal.domain.layers import Layer
from portal.i18n import voice
from portal.pictures import relief, section, sheet, stacked
from portal.pictures.files import SUFFIXES, as_file
from portal.pictures.ink import round_step, thinned
from portal.pictures.stacked import floating_horizon
from portal.pictures.surface import PIECE_MM, window_mm
from portal.pictures.svg import inline
from tests.pictures.structures import ACROSS, CROSSED, EVERY, FINE, STRAIGHT, TWO, WALLED, WIDE

SAID = voice("en")
MODULES = (relief, section, stacked)
each = pytest.mark.parametrize("layers", EVERY.values(), ids=EVERY.keys())


def shapes(group: Drawing | Group, kind: type) -> list[Any]:
    found: list[Any] = []
    for one in group.contents:
        found += shapes(one, kind) if isinstance(one, Group) else [one] if isinstance(one, kind) else []
    return found


def words(drawing: Drawing) -> list[str]:
    return [one.text for one in shapes(drawing, String)]


def greys(layers: tuple[Layer, ...]) -> np.ndarray:
    return np.asarray(relief.shaded(layers)).astype(int)


# --- relief ------------------------------------------------------------------------------------------------------


def test_a_groove_is_dark_on_its_left_wall_and_light_on_its_right_one() -> None:
    # Lit from the upper left, the left wall of a groove falls away from the light and the right one faces it.
    row = greys(STRAIGHT)[200]
    a_mm = relief.PIXELS / PIECE_MM
    left, right, flat = (row[round(at * a_mm)] for at in (2 - 0.05, 2 + 0.05, 2.25))
    assert left < flat - 50
    assert right > flat + 10


def test_a_groove_across_the_ski_is_dark_on_its_upper_wall() -> None:
    column = greys(ACROSS)[:, 200]
    a_mm = relief.PIXELS / PIECE_MM
    upper, lower, flat = (column[-1 - round(at * a_mm)] for at in (2 + 0.08, 2 - 0.08, 2.5))
    assert upper < flat - 30
    assert lower > flat + 10


def test_a_face_is_brighter_the_more_it_turns_to_the_light() -> None:
    # Lambert's cosine law: up to the face that looks straight at a light 45 degrees high, whose slope is 1.
    slopes = np.linspace(-2, np.sqrt(0.5), 50)
    assert (np.diff(relief.light_on(slopes, -slopes)) >= 0).all()
    # Faces that turn across the light's direction are equally bright on both sides.
    assert relief.light_on(slopes, slopes) == pytest.approx(relief.light_on(-slopes, -slopes))
    assert relief.light_on(np.zeros(1), np.zeros(1))[0] == pytest.approx(relief.FLAT)


def test_the_floor_of_a_wide_groove_is_darker_than_a_flat_on_top() -> None:
    row = greys(WALLED)[100]
    a_mm = relief.PIXELS / PIECE_MM
    assert row[round(3.0 * a_mm)] < row[round(3.5 * a_mm)]


def test_lines_that_lean_to_the_right_move_right_up_the_picture() -> None:
    rows = greys(TWO[1:])
    top, bottom = (int(rows[at, 120:200].argmin()) for at in (300, 399))
    # 99 pixels up at 3 degrees are 99 tan 3 = 5.2 pixels to the right.
    assert top - bottom == pytest.approx(99 * np.tan(np.radians(3)), abs=1.5)


@each
def test_the_relief_is_small(layers: tuple[Layer, ...]) -> None:
    made = relief.shaded(layers)
    assert made.size == (400, 400)
    assert made.mode == "L"
    written = BytesIO()
    made.save(written, "PNG")
    assert len(written.getvalue()) <= 60_000


def test_the_scale_bar_is_as_long_as_it_says() -> None:
    drawing = relief.draw(STRAIGHT, SAID)
    (image,) = shapes(drawing, Image)
    bar = next(
        one for one in shapes(drawing, PolyLine) if one.points[1] < relief.FOOT and len(one.points) == 8
    )
    assert bar.points[4] - bar.points[2] == pytest.approx(image.width * 2 / PIECE_MM, abs=0.02)
    assert "2 mm" in words(drawing)


# --- cross-section -----------------------------------------------------------------------------------------------


def test_the_section_is_as_deep_as_the_groove_on_its_own_axis() -> None:
    drawing = section.draw(STRAIGHT, SAID)
    line = max(shapes(drawing, PolyLine), key=lambda one: len(one.points))
    axis = {one.text: one.y + 3.5 for one in shapes(drawing, String) if one.textAnchor == "end"}
    zero, twenty = axis["0"], axis["20"]
    assert max(line.points[1::2]) == pytest.approx(zero, abs=0.02)
    assert min(line.points[1::2]) == pytest.approx(twenty, abs=0.02)


def test_the_exaggeration_is_what_the_axes_make_of_it() -> None:
    drawing = section.draw(STRAIGHT, SAID)
    line = max(shapes(drawing, PolyLine), key=lambda one: len(one.points))
    x, y = line.points[::2], line.points[1::2]
    per_um = (max(y) - min(y)) / 20
    per_mm = (max(x) - min(x)) / window_mm(STRAIGHT)
    assert f"Depth is drawn {per_um / (per_mm / 1000):.0f} times as large as width." in words(drawing)


@each
def test_a_section_holds_some_lines_of_each_layer(layers: tuple[Layer, ...]) -> None:
    assert 0.5 <= window_mm(layers) <= PIECE_MM
    depths = [float(row[1]) for row in section.table(layers, SAID).rows]
    assert len(depths) == 21
    assert min(depths) >= 0


# --- stacked sections --------------------------------------------------------------------------------------------


def test_a_point_behind_a_higher_section_is_not_drawn() -> None:
    front, behind = [0.0, 4.0, 4.0, 0.0], [2.0, 2.0, 2.0, 2.0]
    seen = floating_horizon(np.array([front, behind]))
    assert seen[0] == [[(0, 0), (1, 4), (2, 4), (3, 0)]]
    # The front rises through 2 half way from the first column to the second, and falls through it likewise.
    assert seen[1] == [[(0, 2), (0.5, 2)], [(2.5, 2), (3, 2)]]


def test_a_section_above_all_in_front_is_drawn_whole_and_one_below_not_at_all() -> None:
    lines = np.array([[1.0, 2.0, 1.0], [2.0, 3.0, 2.0], [0.0, 0.0, 0.0]])
    seen = floating_horizon(lines)
    assert [len(parts) for parts in seen] == [1, 1, 0]
    assert seen[1] == [[(0, 2), (1, 3), (2, 2)]]


@given(
    arrays(
        np.float64, st.tuples(st.integers(1, 6), st.integers(2, 12)), elements=st.integers(-50, 50).map(float)
    )
)
def test_just_what_is_higher_than_all_in_front_is_seen(lines: np.ndarray) -> None:
    for number, parts in enumerate(floating_horizon(lines)):
        drawn = {round(column) for part in parts for column, _ in part if column == round(column)}
        for column in range(lines.shape[1]):
            in_front = lines[:number, column]
            if number and lines[number, column] < in_front.max():
                assert column not in drawn
            if not number:
                assert column in drawn
        if number:
            horizon = lines[:number].max(axis=0)
            for part in parts:
                for column, height in part:
                    assert height >= np.interp(column, np.arange(lines.shape[1]), horizon) - 1e-9


def test_crossed_grooves_hide_some_of_what_lies_behind_and_nothing_of_the_front() -> None:
    drawing = stacked.draw(WIDE, SAID)
    lines = shapes(drawing, PolyLine)
    front = [one for one in lines if one.strokeWidth == stacked.FRONT]
    assert len(front) == 1
    behind = [one for one in lines if one.strokeWidth == stacked.BEHIND]
    # Each section behind is broken by the ridges in front of it.
    assert len(behind) > 2 * (stacked.SECTIONS - 1)


def test_the_table_of_sections_starts_where_the_snow_does() -> None:
    rows = stacked.table(STRAIGHT, SAID).rows
    assert len(rows) == stacked.SECTIONS
    assert rows[0][0] == "0.00"
    assert {row[1:] for row in rows} == {rows[0][1:]}, "straight grooves are the same all along"
    assert len({row[1:] for row in stacked.table(CROSSED, SAID).rows}) > 5


# --- all of them -------------------------------------------------------------------------------------------------


@each
@pytest.mark.parametrize("module", MODULES)
def test_every_line_stays_inside_the_picture(module: object, layers: tuple[Layer, ...]) -> None:
    drawing = module.draw(layers, SAID)  # type: ignore[attr-defined]
    for line in shapes(drawing, PolyLine):
        assert all(-0.01 <= x <= drawing.width + 0.01 for x in line.points[::2])
        assert all(-0.01 <= y <= drawing.height + 0.01 for y in line.points[1::2])


@pytest.mark.parametrize("module", MODULES)
def test_it_takes_the_page_s_ink_and_needs_no_style(module: object) -> None:
    text = inline(module.draw(TWO, SAID), "uid", "Title", "Words")  # type: ignore[attr-defined]
    assert "style" not in text
    assert not re.search(r"url\(|<script|\son\w+=", text)
    root = ElementTree.fromstring(text)  # noqa: S314 - our own picture
    paints = {
        value for element in root.iter() for name, value in element.items() if name in {"fill", "stroke"}
    }
    assert paints == {"currentColor", "none"}


def test_the_relief_stands_in_the_page_itself() -> None:
    text = inline(relief.draw(TWO, SAID), "uid", "Title", "Words")
    assert re.findall(r'href="([^,]+),', text) == ["data:image/png;base64"]


@pytest.mark.parametrize("module", MODULES)
def test_each_layer_is_told(module: object) -> None:
    told = module.describe(TWO, SAID)  # type: ignore[attr-defined]
    assert "Layer 1: V groove, lines 0.30 mm apart, straight along the ski, up to 8.0 µm deep." in told
    # 2 mm across the lines are 2 / cos 3 mm across the ski; a lift of 5 leaves 20 of 25 µm.
    assert (
        "Layer 2: Parabolic groove, lines 2.00 mm apart, leaning 3.0° to the right, up to 20 µm deep." in told
    )


def test_lines_across_the_ski_are_told_without_a_distance_across_it() -> None:
    assert "Layer 1: V groove, lines straight across the ski, up to 10 µm deep." in relief.describe(
        ACROSS, SAID
    )
    assert relief.table(ACROSS, SAID).rows[0][2] == "–"


def test_the_table_of_layers_shares_out_the_base() -> None:
    # V grooves of 0.2 mm every 0.5 mm form 40 % of the base.
    assert relief.table(STRAIGHT, SAID).rows == (("1", "V groove", "0.50", "0.0", "20", "40"),)
    assert relief.table(FINE, SAID).rows[0][-1] == "100"


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_the_same_layers_give_the_same_bytes(suffix: str) -> None:
    made = [as_file(sheet.draw(TWO, SAID), suffix, "Sheet", "Words") for _ in range(2)]
    assert made[0] == made[1]
    start = {".svg": b"<?xml", ".pdf": b"%PDF-", ".png": b"\x89PNG"}[suffix]
    assert made[0].startswith(start)
    assert made[0] != as_file(sheet.draw(WIDE, SAID), suffix, "Sheet", "Words")


def test_a_file_of_another_kind_is_refused() -> None:
    with pytest.raises(ValueError, match="gif"):
        as_file(Drawing(10, 10), ".gif", "Sheet", "Words")


def test_the_sheet_names_every_layer_and_says_that_nothing_was_measured() -> None:
    said = " ".join(words(sheet.draw(EVERY["two"] * 4, SAID)))
    assert all(f"Layer {number}:" in said for number in range(1, 9))
    assert "Computed from nominal geometry, not measured." in said


def test_an_svg_file_is_named_and_readable() -> None:
    root = ElementTree.fromstring(as_file(sheet.draw(TWO, SAID), ".svg", "Sheet", "Wörds"))  # noqa: S314 - our own
    assert [one.text for one in root[:2]] == ["Sheet", "Wörds"]
    texts = ["".join(one.itertext()) for one in root.iter("{http://www.w3.org/2000/svg}text")]
    assert "base before the cut" in texts
    assert float(root.get("width", "0")) == 644


@given(st.lists(st.floats(-5, 5), min_size=2, max_size=60), st.floats(0.01, 1))
def test_a_thinned_line_stays_close_to_all_its_points(heights: list[float], tolerance: float) -> None:
    x, y = np.arange(len(heights), dtype=float), np.array(heights)
    kept_x, kept_y = thinned(x, y, tolerance)
    assert np.abs(np.interp(x, kept_x, kept_y) - y).max() <= tolerance + 1e-9
    assert len(kept_x) <= len(x)


@pytest.mark.parametrize(
    ("span", "most", "step"), [(20, 4, 5), (25.4, 4, 10), (5, 5, 1), (10, 5, 2), (0.84, 1, 1), (1.0, 5, 0.2)]
)
def test_steps_are_one_two_five(span: float, most: int, step: float) -> None:
    assert round_step(span, most) == pytest.approx(step)
