"""``rillbook climate``: what it prints, and what it names when it cannot."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from portal.cli import main
from portal.domain.climate import climate_from_json, read_climate
from tests import weather_files as files


def run(file: str, written: bytes | None = None) -> Result:
    return CliRunner().invoke(main, ["climate", file], input=written)


def test_the_winter_of_a_file_is_printed(tmp_path: Path) -> None:
    file = tmp_path / "fell.epw"
    file.write_bytes(files.data(files.epw()))
    result = run(str(file))
    assert (result.exit_code, result.stderr) == (0, "")
    printed = json.loads(result.stdout)
    assert printed.pop("humidity") == "ordinary"
    assert climate_from_json(printed) == read_climate(file.read_bytes())
    assert printed["place"] == "Hollow Fell"


def test_standard_input_says_the_same(tmp_path: Path) -> None:
    file = tmp_path / "fell.csv"
    file.write_bytes(files.data(files.table()))
    assert run("-", file.read_bytes()).stdout == run(str(file)).stdout


def test_what_was_left_out_is_in_the_output() -> None:
    lines = files.table()
    lines[4] = "2025-01-01 03:00,rubbish,80"
    printed = json.loads(run("-", files.data(lines)).stdout)
    assert printed["left_out"] == [{"reason": "unreadable", "count": 1, "lines": [5]}]


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (["time,air,humidity [%]"], "line 1: The column “air” does not say its unit."),
        (["LOCATION,x"], "line 1: The LOCATION line ends"),
        (["time,air [°C],humidity [%]", "2025-01-01 10:00,-5,80"], "Only 1 hours of winter daytime"),
        ([""], "The file is empty."),
    ],
)
def test_a_file_that_cannot_be_used_is_named_with_line_and_reason(
    tmp_path: Path, lines: list[str], said: str
) -> None:
    file = tmp_path / "bad.csv"
    file.write_bytes(files.data(lines))
    result = run(str(file))
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr.startswith(f"{file}: {said}")
    assert len(result.stderr.splitlines()) == 1


def test_a_file_that_is_not_there_or_is_a_folder_is_named(tmp_path: Path) -> None:
    for path in (tmp_path / "nowhere.epw", tmp_path):
        result = run(str(path))
        assert (result.exit_code, result.stdout) == (2, "")
        assert result.stderr.startswith(f"{path}: cannot be read")
