"""Where skis are handed in: weekdays, cut-offs and the way to the workshop."""

from __future__ import annotations

from datetime import date, datetime, time

import pytest

from portal.domain.places import HandIn, PlaceKind, hand_in_days

# A Monday.
MONDAY = date(2026, 12, 7)
NINE = datetime(2026, 12, 7, 9, 0)  # noqa: DTZ001 - the workshop's clock
OPEN = [date(2026, 12, day) for day in (7, 8, 9, 10, 11, 14)]


def test_the_counter_takes_skis_while_the_workshop_is_open() -> None:
    assert hand_in_days(HandIn(), OPEN, NINE, date(2026, 12, 10)) == OPEN[:4]


def test_a_van_round_comes_on_its_weekdays_and_has_to_arrive_in_time() -> None:
    van = HandIn(PlaceKind.VAN, frozenset({1, 3}), time(18), 1, 2)
    # Tuesdays and Thursdays; skis of Thursday 17 are here on Saturday 19, which is too late.
    assert hand_in_days(van, OPEN, NINE, date(2026, 12, 18)) == [
        date(2026, 12, 8),
        date(2026, 12, 10),
        date(2026, 12, 15),
    ]
    assert van.arrival(date(2026, 12, 8)) == date(2026, 12, 10)


@pytest.mark.parametrize(
    ("place", "at", "takes"),
    [
        (HandIn(cut_off=time(9)), NINE, True),
        (HandIn(cut_off=time(8, 59)), NINE, False),
        (HandIn(cut_off=time(23), cut_off_days=1), NINE, False),
        (HandIn(cut_off_days=1), datetime(2026, 12, 6, 23, 59), True),  # noqa: DTZ001
        (HandIn(cut_off_days=1), NINE, False),
        (HandIn(weekdays=frozenset({2})), NINE, False),
        (HandIn(), datetime(2026, 12, 8, 0, 1), False),  # noqa: DTZ001
    ],
)
def test_the_cut_off_is_a_time_of_the_day_or_of_one_before(place: HandIn, at: datetime, takes: bool) -> None:
    assert place.takes(MONDAY, at) is takes


def test_a_parcel_goes_home_as_a_parcel_and_comes_on_any_day() -> None:
    post = HandIn(PlaceKind.POST, travel_days=3)
    assert post.returns_by_post
    assert not HandIn().returns_by_post
    assert hand_in_days(post, [], NINE, date(2026, 12, 11)) == [MONDAY, date(2026, 12, 8)]
    assert hand_in_days(post, [], NINE, date(2026, 12, 6)) == []
