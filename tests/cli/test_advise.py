"""``rillbook advise``: what it prints, and what it names when it cannot."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from portal.cli.advise import advise

ANSWERS: dict[str, Any] = {
    "air_c": {"cold": -15, "ordinary": -6, "mild": 1},
    "humidity": "ordinary",
    "snow": {
        "new": "often",
        "settled": "often",
        "machine_made": "never",
        "sugary": "never",
        "refrozen": "sometimes",
        "icy": "never",
        "wet": "sometimes",
    },
    "track_wet": "sometimes",
    "discipline": "classic",
    "purpose": "all_round",
}


def run(written: str | bytes) -> Result:
    return CliRunner().invoke(advise, ["-"], input=written)


def test_families_are_printed_best_first() -> None:
    result = run(json.dumps(ANSWERS))
    assert result.exit_code == 0
    assert result.stderr == ""
    printed = json.loads(result.stdout)
    assert {"families", "flags"} <= set(printed)
    shares = [one["coverage"] for one in printed["families"]]
    assert shares == sorted(shares, reverse=True)
    for one in printed["families"]:
        assert {"family", "coverage", "structure", "reasons", "weak"} <= set(one)
        assert one["reasons"]
    assert printed["flags"] == []


def test_a_file_says_the_same_as_standard_input(tmp_path: Path) -> None:
    file = tmp_path / "answers.json"
    file.write_text(json.dumps(ANSWERS), encoding="utf-8-sig")
    assert CliRunner().invoke(advise, [str(file)]).stdout == run(json.dumps(ANSWERS)).stdout


def test_the_command_is_found_under_the_product() -> None:
    done = subprocess.run(
        [sys.executable, "-c", "from portal.cli import main; main()", "advise", "-"],
        input=json.dumps(ANSWERS),
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["families"]


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"weight_kg": 80}, "weight_kg"),
        ({"air_c": {"cold": "low"}}, "air_c.cold"),
        ({"air_c": {"cold": float("nan")}}, "air_c.cold"),
        ({"air_c": {"cold": 3, "ordinary": -3, "mild": 1}}, "air_c"),
        ({"snow": {"new": "always"}}, "snow.new"),
    ],
)
def test_a_fault_is_named_on_standard_error(change: dict[str, Any], key: str) -> None:
    result = run(json.dumps({**ANSWERS, **change}))
    assert result.exit_code == 2
    assert result.stdout == ""
    assert f"-: {key}:" in result.stderr


def test_every_fault_has_its_line() -> None:
    result = run(json.dumps({"humidity": "soggy", "colour": "green"}))
    assert result.exit_code == 2
    assert len(result.stderr.splitlines()) == 2


@pytest.mark.parametrize(
    "written", ["", "{", "[]", "3", '{"place": "a", "place": "b"}', b"\xff\xfe", "[" * 100_000]
)
def test_what_is_no_json_object_with_single_keys_is_refused(written: str | bytes) -> None:
    result = run(written)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.startswith("-: ")


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    result = CliRunner().invoke(advise, [str(tmp_path / "nothing.json")])
    assert result.exit_code == 2
    assert "nothing.json" in result.stderr
