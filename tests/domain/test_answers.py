"""Answers in their JSON form: what is read, and how each fault is named."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portal.domain.answers import (
    AirDays,
    Answers,
    BadAnswers,
    Discipline,
    HowOften,
    Humidity,
    Purpose,
    TrackWet,
    Weakness,
    answers_json,
    parse_answers,
)
from portal.domain.snow import SnowKind

FULL: dict[str, Any] = {
    "air_c": {"cold": -15, "ordinary": -6, "mild": 1},
    "humidity": "dry",
    "snow": {
        "new": "often",
        "settled": "mostly",
        "machine_made": "never",
        "sugary": "sometimes",
        "refrozen": "sometimes",
        "icy": "never",
        "wet": "unsure",
    },
    "track_wet": "sometimes",
    "discipline": "skate",
    "purpose": "race",
}

some_answers = st.builds(
    Answers,
    air_c=st.lists(st.none() | st.integers(-60, 25), min_size=3, max_size=3)
    .filter(lambda days: (given := [day for day in days if day is not None]) == sorted(given))
    .map(lambda days: AirDays(*days)),
    humidity=st.sampled_from(Humidity),
    snow=st.fixed_dictionaries({kind: st.sampled_from(HowOften) for kind in SnowKind}).filter(
        lambda snow: set(snow.values()) != {HowOften.NEVER}
    ),
    track_wet=st.sampled_from(TrackWet),
    discipline=st.none() | st.sampled_from(Discipline),
    purpose=st.sampled_from(Purpose),
    special_kind=st.none() | st.sampled_from(SnowKind),
    weak=st.sets(st.sampled_from(Weakness)).map(lambda some: tuple(one for one in Weakness if one in some)),
    place=st.sampled_from(["", "Hollowmere"]),
)


def faults(data: object) -> dict[str, str]:
    with pytest.raises(BadAnswers) as caught:
        parse_answers(data)
    return {key: str(reason) for key, reason in caught.value.problems}


def test_all_answers_are_read() -> None:
    answers = parse_answers(FULL)
    assert answers.air_c == AirDays(-15, -6, 1)
    assert answers.humidity is Humidity.DRY
    assert answers.often(SnowKind.SETTLED) is HowOften.MOSTLY
    assert answers.track_wet is TrackWet.SOMETIMES
    assert answers.discipline is Discipline.SKATE
    assert answers.purpose is Purpose.RACE


def test_no_answer_at_all_is_unsure_of_everything() -> None:
    answers = parse_answers({})
    assert answers == Answers()
    assert all(answers.often(kind) is HowOften.UNSURE for kind in SnowKind)


def test_an_empty_temperature_is_unsure() -> None:
    assert parse_answers({"air_c": {"cold": None, "mild": 2}}).air_c == AirDays(None, None, 2)


@settings(deadline=None)
@given(some_answers)
def test_what_is_written_is_read_back_the_same(answers: Answers) -> None:
    assert parse_answers(json.loads(json.dumps(answers_json(answers)))) == answers


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"weight_kg": 80}, "weight_kg"),
        ({"air_c": {"warm": 1}}, "air_c.warm"),
        ({"snow": {"powder": "often"}}, "snow.powder"),
        ({"snow": {"new": "always"}}, "snow.new"),
        ({"snow": {"new": 3}}, "snow.new"),
        ({"humidity": "soggy"}, "humidity"),
        ({"track_wet": "mostly"}, "track_wet"),
        ({"discipline": "alpine"}, "discipline"),
        ({"purpose": "training"}, "purpose"),
        ({"special_kind": "slush"}, "special_kind"),
        ({"weak": "slow"}, "weak"),
        ({"weak": ["slow"]}, "weak[0]"),
        ({"place": 5}, "place"),
        ({"place": "x" * 81}, "place"),
        ({"air_c": {"cold": True}}, "air_c.cold"),
        ({"air_c": {"cold": "-5"}}, "air_c.cold"),
        ({"air_c": {"cold": float("nan")}}, "air_c.cold"),
        ({"air_c": {"mild": float("inf")}}, "air_c.mild"),
        ({"air_c": {"mild": 10**400}}, "air_c.mild"),
        ({"air_c": {"cold": -60.1}}, "air_c.cold"),
        ({"air_c": {"mild": 25.5}}, "air_c.mild"),
        ({"air_c": {"cold": -2, "ordinary": -6, "mild": 1}}, "air_c"),
        ({"air_c": {"cold": 2, "mild": 1}}, "air_c"),
        ({"air_c": [-5, 0, 1]}, "air_c"),
        ({"snow": "new"}, "snow"),
        ({"snow": dict.fromkeys(SnowKind, "never")}, "snow"),
    ],
)
def test_a_fault_is_named_by_its_key(change: dict[str, Any], key: str) -> None:
    assert list(faults({**FULL, **change})) == [key]


@pytest.mark.parametrize("data", [None, [], "new", 3])
def test_answers_that_are_no_object_are_refused(data: object) -> None:
    assert "(whole)" in faults(data)


def test_every_fault_is_named_at_once() -> None:
    assert set(faults({"humidity": "soggy", "air_c": {"cold": "x"}, "weight_kg": 1})) == {
        "humidity",
        "air_c.cold",
        "weight_kg",
    }


@pytest.mark.parametrize("value", [-60, 25, -60.0])
def test_the_ends_of_the_scale_are_allowed(value: float) -> None:
    assert parse_answers({"air_c": {"ordinary": value}}).air_c.ordinary == value


def test_equal_days_are_allowed() -> None:
    assert parse_answers({"air_c": {"cold": -5, "ordinary": -5, "mild": -5}}).air_c == AirDays(-5, -5, -5)


@pytest.mark.parametrize("kind", [Humidity, HowOften, TrackWet, Discipline, Purpose, Weakness])
def test_every_answer_has_a_label_of_its_own(kind: Any) -> None:
    labels = [one.label for one in kind]
    assert all(labels)
    assert len(set(labels)) == len(labels)
