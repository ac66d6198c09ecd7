"""Loading, keeping, renaming and removing venues, on both databases."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlalchemy.orm import Session

from portal.db.venues import Venue
from portal.domain.answers import Humidity
from portal.domain.climate import read_climate
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.hourly import BadFile
from portal.queries import venues as find_venues
from portal.services import venues
from tests import weather_files as files
from tests.cast import Cast
from tests.make import NOW

FILE = files.data(files.epw())
TABLES = {Humidity.DRY: 55.0, Humidity.ORDINARY: 75.0, Humidity.HUMID: 92.0}


def loaded(session: Session, cast: Cast, name: str = "Hollow Fell") -> Venue:
    return venues.load(session, cast.mia, name, "fell.epw", FILE, NOW)


def test_a_loaded_venue_is_looked_at_before_skiers_see_it(session: Session, cast: Cast) -> None:
    made = loaded(session, cast)
    session.expire_all()
    assert find_venues.kept(session) == []
    assert find_venues.kept_one(session, made.id) is None
    assert [row.id for row in find_venues.everything(session, cast.mia)] == [made.id]
    assert find_venues.climate(find_venues.one(session, cast.mia, made.id)) == read_climate(FILE)
    assert (made.loaded_by, made.file_name, made.kept_at) == ("Mia", "fell.epw", None)


def test_a_kept_venue_is_offered_with_its_days(session: Session, cast: Cast) -> None:
    made = loaded(session, cast)
    venues.keep(session, cast.mia, made.id, NOW)
    (row,) = find_venues.kept(session)
    days = find_venues.days(row, TABLES)
    climate = read_climate(FILE)
    assert (days.name, days.days, days.humidity) == ("Hollow Fell", climate.days, Humidity.ORDINARY)


def test_keeping_twice_changes_nothing(session: Session, cast: Cast) -> None:
    made = loaded(session, cast)
    venues.keep(session, cast.mia, made.id, NOW)
    venues.keep(session, cast.mia, made.id, NOW.replace(hour=20))
    assert made.kept_at == NOW


def test_two_kept_venues_never_have_one_name(session: Session, cast: Cast) -> None:
    first, second = loaded(session, cast), loaded(session, cast, "hollow fell")
    venues.keep(session, cast.mia, first.id, NOW)
    with pytest.raises(NotNow, match="hollow fell"):
        venues.keep(session, cast.mia, second.id, NOW)
    venues.rename(session, cast.mia, second.id, "Upper Fell", NOW)
    venues.keep(session, cast.mia, second.id, NOW)
    with pytest.raises(NotNow, match="HOLLOW FELL"):
        venues.rename(session, cast.mia, second.id, "HOLLOW FELL", NOW)
    venues.rename(session, cast.mia, first.id, "Hollow fell", NOW)
    assert [row.name for row in find_venues.kept(session)] == ["Hollow fell", "Upper Fell"]


def test_a_removed_venue_is_gone(session: Session, cast: Cast) -> None:
    made = loaded(session, cast)
    venues.keep(session, cast.mia, made.id, NOW)
    number = made.id
    assert venues.remove(session, cast.mia, number, NOW) == "Hollow Fell"
    assert find_venues.kept(session) == []
    with pytest.raises(NotFound):
        find_venues.one(session, cast.mia, number)


def test_a_file_that_cannot_be_used_makes_no_venue(session: Session, cast: Cast) -> None:
    with pytest.raises(BadFile):
        venues.load(session, cast.mia, "Hollow Fell", "fell.csv", b"time,air", NOW)
    assert find_venues.everything(session, cast.mia) == []


@pytest.mark.parametrize("who", ["tina", "alice", "cora"])
def test_only_who_runs_the_shop_has_to_do_with_venues(session: Session, cast: Cast, who: str) -> None:
    made, actor = loaded(session, cast), getattr(cast, who)
    acts: list[Callable[[], object]] = [
        lambda: venues.load(session, actor, "Mine", "mine.epw", FILE, NOW),
        lambda: venues.keep(session, actor, made.id, NOW),
        lambda: venues.rename(session, actor, made.id, "Mine", NOW),
        lambda: venues.remove(session, actor, made.id, NOW),
        lambda: find_venues.one(session, actor, made.id),
        lambda: find_venues.everything(session, actor),
    ]
    for act in acts:
        with pytest.raises(NotAllowed):
            act()
    assert (made.name, made.kept_at) == ("Hollow Fell", None)


def test_those_that_wait_to_be_looked_at_come_first(session: Session, cast: Cast) -> None:
    kept, waiting = loaded(session, cast, "Alder Moor"), loaded(session, cast, "Birch Moor")
    venues.keep(session, cast.mia, kept.id, NOW)
    assert [row.id for row in find_venues.everything(session, cast.mia)] == [waiting.id, kept.id]
