"""``rillbook plan``: what it prints, and what it names when it cannot."""

from __future__ import annotations

import copy
import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from portal.cli.plan import plan
from portal.domain.planning.checker import replay
from portal.domain.planning.problem import Run, asked_from_json

ASKED: dict[str, Any] = {
    "seconds": 5,
    "seed": 1,
    "days": [{"date": "2026-12-07", "minutes": 120}, {"date": "2026-12-08", "minutes": 120}],
    "grinders": [{"name": "stone 1", "dressed": {"layer": "base", "left": 2}}],
    "layers": [
        {"name": "base", "dress_minutes": 12, "run_minutes": 4, "life_pairs": 25},
        {"name": "fine", "dress_minutes": 10, "run_minutes": 3, "life_pairs": 25},
        {"name": "broad", "dress_minutes": 8, "run_minutes": 3, "life_pairs": 25},
    ],
    "orders": [
        {
            "name": "b1",
            "arrives": "2026-12-07",
            "due": "2026-12-08",
            "weight": 3,
            "lots": [
                {"name": "b1a", "pairs": 3, "layers": ["base", "fine"]},
                {"name": "b1b", "pairs": 3, "layers": ["base", "broad"]},
            ],
        }
    ],
}


def run(asked: object) -> Result:
    return CliRunner().invoke(plan, ["-"], input=json.dumps(asked))


def changed(change: Callable[[dict[str, Any]], object]) -> dict[str, Any]:
    asked = copy.deepcopy(ASKED)
    change(asked)
    return asked


def test_a_plan_is_printed_and_can_be_replayed() -> None:
    result = run(ASKED)
    assert (result.exit_code, result.stderr) == (0, "")
    printed = json.loads(result.stdout)
    # The base, the fine and the broad layer once each, as by hand: 12 + 10 + 8.
    assert (printed["dressings"], printed["dressing_minutes"], printed["late_pair_days"]) == (3, 30, 0)
    assert (printed["late"], printed["proved"]) == ([], True)
    assert printed["bound"] == {"late_pair_days": 0, "dressing_minutes": 30}
    problem = asked_from_json(ASKED).problem
    runs = [
        Run(
            next(one.day for one in problem.days if one.day.isoformat() == row["date"]),
            row["grinder"],
            row["layer"],
            row["dressings"],
            tuple((lot["lot"], lot["pairs"]) for lot in row["lots"]),
        )
        for row in printed["runs"]
    ]
    assert replay(problem, runs).faults == ()


def test_the_same_seed_gives_the_same_plan_where_it_is_proved() -> None:
    assert run(ASKED).stdout == run(ASKED).stdout


def test_what_is_left_out_has_its_usual_value() -> None:
    asked = asked_from_json({name: value for name, value in ASKED.items() if name not in {"seconds", "seed"}})
    assert (asked.seconds, asked.seed, asked.problem.buffer_days, asked.problem.frozen) == (5.0, 1, 0, ())


def test_work_that_moved_is_told_where_there_is_a_plan_before() -> None:
    # In the evening the stone was dressed for the fine layer, and for the base of the other lot it would be dressed again in
    # the morning: 12 minutes. Moving three pairs costs 3 * 0.5.
    before = [FROZEN, FROZEN | {"layer": "fine"}, FROZEN | {"lot": "b1b", "date": "2026-12-08"}]
    printed = json.loads(run(ASKED | {"before": before}).stdout)
    assert (printed["dressing_minutes"], printed["moved"], printed["proved"]) == (30, 3, True)
    assert printed["bound"] == {"late_pair_days": 0, "dressing_minutes": 30, "with_moves": 31.5}
    dear = json.loads(run(ASKED | {"before": before, "move_minutes": 100}).stdout)
    assert (dear["dressing_minutes"], dear["moved"], dear["proved"]) == (42, 0, True)
    assert "moved" not in json.loads(run(ASKED).stdout)


def lot(asked: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = asked["orders"][0]["lots"][0]
    return found


FROZEN = {"lot": "b1a", "layer": "base", "date": "2026-12-07", "grinder": "stone 1", "pairs": 3}
WRONG: tuple[tuple[Callable[[dict[str, Any]], object], str], ...] = (
    (lambda it: it.update(days=[]), "days: a list with at least one entry is needed"),
    (lambda it: it["days"].reverse(), "days[1].date: days must stand in order, each once"),
    (lambda it: it["days"][0].update(minutes=-1), "days[0].minutes: a number from 0 to 1440 is needed"),
    (lambda it: it.update(whole_days="yes"), "whole_days: true or false is needed"),
    (
        lambda it: it["orders"][0]["lots"][0].update(minutes=[1, 2, 3, 4, 5, 6, 7]),
        "orders[0].lots[0].minutes: one number for each layer is needed",
    ),
    (lambda it: it["days"][0].update(date="7 December"), "days[0].date: a day such as 2026-12-07 is needed"),
    (lambda it: it["layers"].append(it["layers"][0]), "layers[3].name: the name base stands twice"),
    (lambda it: it["layers"][0].update(life_pairs=0), "layers[0].life_pairs: a number from 1 to"),
    (
        lambda it: it["grinders"][0]["dressed"].update(layer="coarse"),
        "grinders[0].dressed.layer: one of base",
    ),
    (lambda it: lot(it).update(layers=["base", "coarse"]), "orders[0].lots[0].layers[1]: one of base, fine"),
    (lambda it: lot(it).update(pairs=1.5), "orders[0].lots[0].pairs: a whole number is needed"),
    (lambda it: lot(it).update(pairs=-4), "orders[0].lots[0].pairs: a number from 1 to"),
    (lambda it: lot(it).update(name="b1b"), "orders[0].lots[1].name: the name b1b stands twice"),
    (lambda it: lot(it).update(layers=["fine", "base", "fine"]), "layers in a circle: "),
    (
        lambda it: it["orders"][0]["lots"][1].update(layers=["fine", "base"]),
        "orders: layers in a circle: base, fine, base",
    ),
    (
        lambda it: it["orders"][0].update(arrives="2026-12-09"),
        "orders[0].lots[0]: lot b1a has no day to run on",
    ),
    (lambda it: it["layers"][1].update(dress_minutes=118), "lot b1a has no day to run on"),
    (lambda it: it["orders"][0].update(heavy=1), "orders[0].heavy: unknown key"),
    (lambda it: it.update(frozen=[FROZEN | {"lot": "b9"}]), "frozen[0].lot: there is no lot b9"),
    (lambda it: it.update(frozen=[FROZEN | {"layer": "broad"}]), "frozen[0].layer: one of base, fine"),
    (lambda it: it.update(frozen=[FROZEN | {"date": "2026-12-09"}]), "2026-12-09 is not in the list of days"),
    (lambda it: it.update(frozen=[FROZEN | {"pairs": 4}]), "more pairs are frozen than lot b1a has"),
    (lambda it: it.update(frozen={}), "frozen: a list is needed"),
    (
        lambda it: it.update(frozen=[FROZEN | {"layer": "fine"}, FROZEN | {"date": "2026-12-08"}]),
        "frozen: lot b1a: what is frozen leaves no day for",
    ),
    (lambda it: it.update(before=[FROZEN | {"pairs": 0}]), "before[0].pairs: a number from 1 to"),
    (lambda it: it.update(move_minutes=-1), "move_minutes: a number from 0 to 1000 is needed"),
    (lambda it: it.update(seconds=-1), "seconds: a number from 0 to 3600 is needed"),
)


@pytest.mark.parametrize(("change", "told"), WRONG)
def test_what_cannot_be_is_named_and_nothing_is_printed(
    change: Callable[[dict[str, Any]], object], told: str
) -> None:
    result = run(changed(change))
    assert result.exit_code == 2
    assert told in result.stderr
    assert result.stderr.startswith("-: ")
    assert result.stdout == ""


def test_the_command_is_there(tmp_path: Path) -> None:
    file = tmp_path / "asked.json"
    file.write_text(json.dumps(ASKED))
    done = subprocess.run(
        [Path(sys.executable).with_name("rillbook"), "plan", file],
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert json.loads(done.stdout)["dressings"] == 3
