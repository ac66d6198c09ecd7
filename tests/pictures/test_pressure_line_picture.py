"""The pressure line as a picture: the numbers it draws are those of the computation, in words and in its table too."""

from __future__ import annotations

from reportlab.graphics.shapes import PolyLine, String

from portal.domain.pressure import Camber, Wheel, pressure_line
from portal.i18n import voice
from portal.pictures import pressure_line as picture
from portal.pictures.files import as_file

SAID = voice("en")
LINE = pressure_line(Camber(24, 1600), Wheel(250, 0.3))


def curves(drawing: object) -> list[PolyLine]:
    return [one for one in drawing.contents if isinstance(one, PolyLine) and len(one.points) > 10]  # type: ignore[attr-defined]


def test_the_force_rises_towards_the_tail_and_the_wheel_force_falls() -> None:
    force, evened = curves(picture.draw(LINE, SAID))
    assert force.points[1] < force.points[-1]
    assert evened.points[1] > evened.points[-1]
    assert force.points[0] == evened.points[0] < force.points[-2] == evened.points[-2]


def test_a_flat_ski_draws_one_level_line() -> None:
    flat = picture.draw(pressure_line(Camber(0, 1600), Wheel(250, 0.3)), SAID)
    for curve in curves(flat):
        assert len(set(curve.points[1::2])) == 1


def test_words_and_table_say_what_the_computation_found() -> None:
    said = picture.describe(LINE, SAID)
    for point in (LINE.front, LINE.rear):
        assert SAID.number(LINE.wheel.force_n * point.factor) in said
        assert SAID.number(point.evened_n) in said
    rows = picture.table(LINE, SAID).rows
    assert [row[2] for row in rows] == [SAID.number(250 * zone.middle.factor) for zone in LINE.zones]
    assert rows[0][1].startswith("15\N{EN DASH}")


def test_every_zone_is_numbered_and_the_drawing_is_the_same_each_time() -> None:
    drawing = picture.draw(LINE, SAID)
    texts = [one.text for one in drawing.contents if isinstance(one, String)]
    assert {"1", "2", "3", "4"} <= set(texts)
    again = picture.draw(LINE, SAID)
    assert as_file(drawing, ".svg", "Force", "Words") == as_file(again, ".svg", "Force", "Words")
