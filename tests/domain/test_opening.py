"""The pattern of the days."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time

import pytest

from portal.domain.opening import (
    DayChange,
    Opening,
    Span,
    Special,
    Usual,
    changes,
    read_hours,
    typed,
    week_from_json,
    week_in_words,
    week_to_json,
)
from portal.domain.stone_minutes import NONE

AFTERNOON = (Span(time(14), time(18)),)
MORNING = (Span(time(10), time(13)),)
WEEK = (*[Usual(AFTERNOON, (240,))] * 4, Usual((), (300,)), Usual(MORNING), Usual())
# Monday 7 December 2026 is the first day of the season.
OPENING = Opening(WEEK, (date(2026, 12, 7), date(2026, 12, 20)))
MONDAY, FRIDAY, SATURDAY = date(2026, 12, 7), date(2026, 12, 11), date(2026, 12, 12)


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("", ""),
        ("14-18", "14:00-18:00"),
        ("9.30 to 12, 14:00–18:15", "09:30-12:00, 14:00-18:15"),
        (" 8:00 - 9:00 ,", "08:00-09:00"),
    ],
)
def test_hours_are_read_as_people_type_them(text: str, kept: str) -> None:
    hours = read_hours(text)
    assert isinstance(hours, tuple)
    assert typed(hours) == kept
    assert read_hours(kept) == hours


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("afternoon", "Write the hours such as 14:00-18:00, with a comma before a second span"),
        ("25-26", "Write the hours such as 14:00-18:00, with a comma before a second span"),
        ("10:70-12", "Write the hours such as 14:00-18:00, with a comma before a second span"),
        ("18-14", "Write hours that end after they begin"),
        ("8-9, 10-11, 12-13", "Write at most two spans of hours for a day"),
        ("14-18, 9-12", "Write the earlier hours first, and hours that do not overlap"),
        ("9-12, 11-14", "Write the earlier hours first, and hours that do not overlap"),
    ],
)
def test_hours_that_cannot_be_read_say_what_to_do(text: str, told: str) -> None:
    assert str(read_hours(text)) == told


def test_doors_and_stone_are_each_their_own() -> None:
    assert OPENING.is_open_to_people(SATURDAY, stone_runs=False)
    assert not OPENING.is_open_to_people(FRIDAY, stone_runs=True)
    assert (OPENING.minutes_on(FRIDAY), OPENING.minutes_on(SATURDAY)) == ((300,), NONE)
    assert OPENING.minutes_on(date(2026, 12, 21)) == NONE
    assert not OPENING.is_open_to_people(date(2026, 12, 21), stone_runs=True)


def test_without_hours_people_come_when_the_stone_runs() -> None:
    for opening in (
        Opening(),
        Opening(WEEK),
        Opening(tuple(replace(one, hours=()) for one in WEEK), OPENING.season),
    ):
        assert opening.is_open_to_people(FRIDAY, stone_runs=True)
        assert not opening.is_open_to_people(FRIDAY, stone_runs=False)
    closed = Opening().with_specials(Special(FRIDAY, "Fair"))
    assert not closed.is_open_to_people(FRIDAY, stone_runs=True)


def test_a_special_day_is_different_in_hours_or_minutes_or_both() -> None:
    opening = OPENING.with_specials(
        Special(MONDAY, "Holiday"),
        Special(FRIDAY, "Short", None, (60, 0)),
        Special(SATURDAY, "Long", AFTERNOON, None),
    )
    assert (opening.minutes_on(MONDAY), opening.hours_on(MONDAY)) == (NONE, ())
    assert (opening.minutes_on(FRIDAY), opening.hours_on(FRIDAY)) == ((60, 0), ())
    assert (opening.minutes_on(SATURDAY), opening.hours_on(SATURDAY)) == (NONE, AFTERNOON)
    assert opening.without_special(MONDAY).minutes_on(MONDAY) == (240,)


def test_a_new_season_opens_its_days_and_leaves_all_others() -> None:
    # Two weeks of five days each; one of them is open by hand with fewer minutes, one after the season too.
    standing = {MONDAY: (90,), date(2027, 1, 4): (90,)}
    made = changes(Opening(), OPENING, standing, MONDAY)
    assert len(made) == 10
    assert made[0] == DayChange(MONDAY, (90,), (240,))
    assert DayChange(date(2026, 12, 18), NONE, (300,)) in made
    # The week is over on Wednesday: what lies behind stays.
    assert len(changes(Opening(), OPENING, standing, date(2026, 12, 9))) == 8


def test_what_no_longer_is_of_the_season_closes() -> None:
    standing = {change.day: change.after for change in changes(Opening(), OPENING, {}, MONDAY)}
    shorter = replace(OPENING, season=(MONDAY, date(2026, 12, 16)))
    assert changes(OPENING, shorter, standing, MONDAY) == (
        DayChange(date(2026, 12, 17), (240,), NONE),
        DayChange(date(2026, 12, 18), (300,), NONE),
    )
    assert changes(OPENING, OPENING, standing, MONDAY) == ()


def test_without_a_week_only_special_days_change() -> None:
    standing = {MONDAY: (240, 0), FRIDAY: (240,)}
    new = Opening().with_specials(Special(FRIDAY, "Fair"), Special(MONDAY, "Party", (), None))
    assert changes(Opening(), new, standing, MONDAY) == (DayChange(FRIDAY, (240,), NONE),)
    # There is no weekday that it could go back to.
    assert changes(new, Opening(), {MONDAY: (240,), FRIDAY: NONE}, MONDAY) == ()


def test_a_week_is_kept_as_json_and_said_in_few_lines() -> None:
    assert week_from_json(week_to_json(WEEK)) == WEEK
    assert week_from_json(None) == ()
    assert [(str(days), str(hours)) for days, hours in week_in_words(WEEK)] == [
        ("Monday to Thursday", "14:00 to 18:00"),
        ("Friday", "Closed"),
        ("Saturday", "10:00 to 13:00"),
        ("Sunday", "Closed"),
    ]
    both = (Usual((*MORNING, *AFTERNOON)), Usual((*MORNING, *AFTERNOON)), *[Usual()] * 5)
    assert [(str(days), str(hours)) for days, hours in week_in_words(both)] == [
        ("Monday and Tuesday", "10:00 to 13:00 and 14:00 to 18:00"),
        ("Wednesday to Sunday", "Closed"),
    ]
    assert week_in_words([Usual(minutes=(240,))] * 7) == []
