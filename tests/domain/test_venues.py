"""The days of a venue within the answers to the snow questions."""

from __future__ import annotations

from typing import Any

from portal.domain.answers import AirDays, Humidity
from portal.domain.questions import answers_from, by_key, shown
from portal.domain.venues import VenueDays, filled_in, is_changed, origin, outdated, suggested, with_origin

FELL = VenueDays("Hollow Fell", AirDays(-12.5, -5.0, 1.5), Humidity.HUMID)
MOOR = VenueDays("Alder Moor", AirDays(-18.0, -9.0, -2.0), Humidity.DRY)
TAKEN: dict[str, Any] = {"cold": -12.5, "ordinary": -5.0, "mild": 1.5}


def from_fell(**changed: float | None) -> dict[str, Any]:
    return with_origin({**TAKEN, **changed}, FELL.stored())


def told(air: dict[str, Any]) -> list[str]:
    return [f"{label}: {value}" for label, value in shown(by_key("air"), {"air": air})]


def test_a_venue_fills_in_the_three_days_and_keeps_nothing_yet() -> None:
    stored = {"air": {"cold": -3.0, "ordinary": None, "mild": None}, "place": "At home"}
    assert filled_in(stored, FELL) == {"air": TAKEN, "place": "At home"}
    assert stored["air"] == {"cold": -3.0, "ordinary": None, "mild": None}


def test_the_check_page_says_where_days_came_from_and_whether_they_were_changed() -> None:
    assert told(TAKEN)[3:] == []
    assert told(from_fell())[3:] == ["Where the days come from: The weather at Hollow Fell"]
    assert told(from_fell(mild=3.0))[3:] == [
        "Where the days come from: The weather at Hollow Fell, changed by you"
    ]


def test_days_of_which_none_is_the_venues_do_not_come_from_it() -> None:
    assert from_fell(cold=-9.0, ordinary=-4.0, mild=0.0) == {"cold": -9.0, "ordinary": -4.0, "mild": 0.0}
    assert with_origin(TAKEN, None) == TAKEN
    assert origin({"air": from_fell(cold=None, ordinary=None, mild=None)}) is None


def test_a_day_that_is_left_out_is_unsure_as_ever() -> None:
    air = from_fell(cold=None)
    assert is_changed(air)
    assert answers_from({"air": air}).air_c == AirDays(None, -5.0, 1.5)


def test_the_venue_suggests_humidity_and_place_until_they_are_answered() -> None:
    stored: dict[str, Any] = {"air": from_fell()}
    assert suggested("humidity", stored)["humidity"] == "humid"
    assert suggested("place", stored)["place"] == "Hollow Fell"
    assert suggested("snow", stored) == stored
    assert suggested("humidity", {**stored, "humidity": "unsure"})["humidity"] == "unsure"
    assert suggested("humidity", {"air": TAKEN}) == {"air": TAKEN}
    assert suggested("humidity", {}) == {}


def test_another_venue_asks_again_for_what_only_repeated_the_first_one() -> None:
    moor = with_origin({"cold": -18.0, "ordinary": -9.0, "mild": -2.0}, MOOR.stored())
    stored = {"air": from_fell(), "humidity": "humid", "place": "Hollow Fell"}
    assert outdated(stored, moor) == ["humidity", "place"]
    assert outdated({**stored, "humidity": "dry", "place": "At home"}, moor) == []
    assert outdated(stored, stored["air"]) == ()
    assert outdated(stored, TAKEN) == ()
    assert outdated({"air": TAKEN, "humidity": "humid"}, moor) == ()
