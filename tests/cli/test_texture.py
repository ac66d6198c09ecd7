"""``rillbook texture``: what it prints, and what it names when it cannot."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from portal.cli.texture import PICTURES, texture
from portal.pictures.files import SUFFIXES

VEE: dict[str, Any] = {"profile": "vee", "pitch_mm": 0.5, "width_mm": 0.2, "depth_um": 20}
DRESSING: dict[str, Any] = {
    "tip_radius_mm": 0.381,
    "depth_um": 25.4,
    "lead_mm": 0.1368,
    "hand": "right",
    "stone_mm": 406,
    "stone_rpm": 1410,
    "feed_m_min": 10,
}


def run(written: str | bytes, *options: str) -> Result:
    return CliRunner().invoke(texture, ["-", *options], input=written)


def numbers(*layers: dict[str, Any]) -> dict[str, Any]:
    result = run(json.dumps({"layers": layers}))
    assert result.exit_code == 0, result.stderr
    assert result.stderr == ""
    printed: dict[str, Any] = json.loads(result.stdout)
    return printed


def test_v_grooves_have_the_numbers_of_their_closed_form() -> None:
    # Plateau with V grooves, f = width / pitch = 0.4, d = 20: void f d / 2, Ra = f d (1 - f/2)^2, Sq = d sqrt(f(1/3 - f/4)).
    f, d = 0.4, 20.0
    printed = numbers(VEE)
    assert printed["void_ml_m2"] == pytest.approx(f * d / 2, rel=1e-3)
    assert printed["profile"]["Ra"] == pytest.approx(f * d * (1 - f / 2) ** 2, rel=1e-3)
    assert printed["areal"]["Sq"] == pytest.approx(d * math.sqrt(f * (1 / 3 - f / 4)), rel=1e-3)
    assert printed["plateau"] == pytest.approx(1 - f, rel=1e-3)
    assert printed["base_cost_um"] == {
        "mean": pytest.approx(4.0, rel=1e-3),
        "deepest": pytest.approx(20.0, rel=1e-3),
    }
    assert printed["areal"]["Str"] is None
    assert printed["dressing"] == []


def test_a_dressing_has_the_numbers_of_the_handbook_s_example() -> None:
    # The worked example of a handbook of grinding: tip radius 0.015 in, depth 0.001 in, overlap 2, 406 mm at 30 m/s.
    (dressing,) = numbers({"dressing": DRESSING})["dressing"]
    assert dressing["active_width_mm"] == pytest.approx(0.2736, abs=1e-4)
    assert dressing["overlap"] == pytest.approx(2.0, abs=1e-3)
    assert dressing["cusp_um"] == pytest.approx(6.19, abs=0.01)
    assert dressing["speed_m_s"] == pytest.approx(29.97, abs=0.01)
    # Geometry: the lead over the advance of the ski in one turn.
    assert dressing["line_angle_deg"] == pytest.approx(math.degrees(math.atan(0.1368 * 1410 / 10_000)))


def test_a_file_says_the_same_as_standard_input(tmp_path: Path) -> None:
    file = tmp_path / "layers.json"
    file.write_text(json.dumps({"layers": [VEE]}), encoding="utf-8-sig")
    assert CliRunner().invoke(texture, [str(file)]).stdout == run(json.dumps({"layers": [VEE]})).stdout


def test_a_smaller_patch_holds_the_same_grooves() -> None:
    small = json.loads(run(json.dumps({"patch_mm": 1, "layers": [VEE]})).stdout)
    assert small["void_ml_m2"] == pytest.approx(numbers(VEE)["void_ml_m2"], rel=1e-6)


def test_the_command_is_found_under_the_product() -> None:
    done = subprocess.run(
        [sys.executable, "-c", "from portal.cli import main; main()", "texture", "-"],
        input=json.dumps({"layers": [VEE]}),
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["areal"]["Sz"] == pytest.approx(20, rel=1e-3)


WRONG: list[tuple[Any, str]] = [
    ({}, "(whole)"),
    ([], "(whole)"),
    ({"layers": []}, "layers"),
    ({"layers": [VEE] * 9}, "layers"),
    ({"layers": [VEE], "colour": "green"}, "colour"),
    ({"layers": [VEE], "patch_mm": 0.1}, "patch_mm"),
    ({"layers": [VEE], "patch_mm": float("inf")}, "patch_mm"),
    ({"layers": [VEE], "patch_mm": 10**400}, "patch_mm"),
    ({"layers": [VEE], "patch_mm": True}, "patch_mm"),
    ({"layers": [VEE, {**VEE, "depth_um": float("nan")}]}, "layers[1].depth_um"),
    ({"layers": [{**VEE, "depth_um": -1}]}, "layers[0].depth_um"),
    ({"layers": [{**VEE, "width_mm": 0.6}]}, "layers[0].width_mm"),
    ({"layers": [{**VEE, "profile": "wavy"}]}, "layers[0].profile"),
    ({"layers": [{**VEE, "lift_um": "high"}]}, "layers[0].lift_um"),
    ({"layers": [{**VEE, "dressing": DRESSING}]}, "layers[0].profile"),
    ({"layers": [{"dressing": {**DRESSING, "hand": "both"}}]}, "layers[0].dressing.hand"),
    ({"layers": [{"dressing": {**DRESSING, "lead_mm": None}}]}, "layers[0].dressing.lead_mm"),
    ({"layers": [{"dressing": {}}]}, "layers[0].dressing"),
]


@pytest.mark.parametrize(("document", "place"), WRONG)
def test_a_fault_is_named_with_its_place(document: Any, place: str) -> None:
    result = run(json.dumps(document))
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.startswith(f"-: {place}: ")
    assert len(result.stderr.splitlines()) == 1


@pytest.mark.parametrize("written", ["", "{", '{"layers": [], "layers": []}', b"\xff\xfe", "[" * 100_000])
def test_what_is_no_json_document_with_single_keys_is_refused(written: str | bytes) -> None:
    result = run(written)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.startswith("-: not JSON: ")


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    result = CliRunner().invoke(texture, [str(tmp_path / "nothing.json")])
    assert result.exit_code == 2
    assert "nothing.json: cannot be read" in result.stderr


@pytest.mark.parametrize(
    ("name", "start"), [("a.svg", b"<?xml"), ("a.PDF", b"%PDF-"), ("a.png", b"\x89PNG\r\n")]
)
def test_a_picture_is_drawn_beside_the_numbers(tmp_path: Path, name: str, start: bytes) -> None:
    result = run(json.dumps({"layers": [VEE]}), "--picture", str(tmp_path / name))
    assert result.exit_code == 0, result.stderr
    assert json.loads(result.stdout)["void_ml_m2"] == pytest.approx(4.0, rel=1e-3)
    assert (tmp_path / name).read_bytes().startswith(start)
    assert [one.name for one in tmp_path.iterdir()] == [name]


def test_the_picture_takes_the_place_of_an_older_one(tmp_path: Path) -> None:
    picture = tmp_path / "a.svg"
    picture.write_text("older")
    run(json.dumps({"layers": [VEE]}), "--picture", str(picture))
    assert "V groove" in picture.read_text(encoding="utf-8")


@pytest.mark.parametrize("document", [one for one, _ in WRONG])
def test_a_fault_leaves_no_picture(tmp_path: Path, document: Any) -> None:
    older = tmp_path / "older.svg"
    older.write_text("older")
    for name in ("new.svg", "older.svg"):
        result = run(json.dumps(document), "--picture", str(tmp_path / name))
        assert result.exit_code == 2
        assert result.stdout == ""
    assert [one.name for one in tmp_path.iterdir()] == ["older.svg"]
    assert older.read_text() == "older"


@pytest.mark.parametrize(
    "name", ["a.gif", "a", ".svg", "folder.svg", "nowhere/a.svg", "file.txt/a.svg", "x" * 300 + ".svg"]
)
def test_a_picture_that_cannot_be_written_is_refused(tmp_path: Path, name: str) -> None:
    (tmp_path / "folder.svg").mkdir()
    (tmp_path / "file.txt").touch()
    before = sorted(tmp_path.rglob("*"))
    result = run(json.dumps({"layers": [VEE]}), "--picture", str(tmp_path / name))
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.startswith("--picture: ")
    assert len(result.stderr.splitlines()) == 1
    assert sorted(tmp_path.rglob("*")) == before


def test_a_folder_that_cannot_be_written_is_refused() -> None:
    # The kernel's own folder of processes lets nobody make a file in it, not even the super-user.
    result = run(json.dumps({"layers": [VEE]}), "--picture", "/proc/a.svg")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "cannot be written" in result.stderr


def test_the_kinds_of_pictures_are_those_that_can_be_drawn() -> None:
    assert PICTURES == SUFFIXES
