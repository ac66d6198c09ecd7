"""Glide notes of a skier: writing, reading on the pair's page, deleting; nobody else sees or touches them."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from sqlalchemy import select

from portal.db.engine import Database
from portal.db.glide_notes import GlideNote
from portal.db.people import Person
from portal.domain.answers import Discipline, Humidity
from portal.domain.conditions import Outcome
from portal.services import grinds
from tests import make
from tests.cast import Cast
from tests.page import Page, Visitor


@pytest.fixture
def other_id(database: Database, cast: Cast) -> int:
    """A second pair of Alice's; hers and this one have a structure on the base since November."""
    with database.write.begin() as session:
        other = make.pair(session, session.get_one(Person, cast.alice.person_id), model="Lom")
        for number, pair_id in enumerate((cast.pair_id, other.id)):
            ground(session, pair_id, number)
        return other.id


def ground(session: Any, pair_id: int, number: int = 0, day: date = date(2026, 11, 2)) -> None:
    structure = make.structure(session, number=number)
    grinds.add(session, pair_id, grinds.GrindFacts(structure.id, day, "Tina"), make.NOW)


def good(other_id: int, **given: str) -> dict[str, str]:
    return {
        "skied_on": "2026-12-05",
        "air": "−6,5 °C",
        "kind": "settled",
        "moisture": "dry",
        "humidity": "unsure",
        "other": str(other_id),
        "outcome": "faster",
        "remarks": "Two runs each, the same wax.",
        **given,
    }


def write(visitor: Visitor, cast: Cast, other_id: int, **given: str) -> Page:
    alice = visitor.as_(cast.alice)
    return alice.send(alice.get(f"/my/pairs/{cast.pair_id}/glide-notes/new"), **good(other_id, **given))


def rows(database: Database) -> list[GlideNote]:
    with database.read() as session:
        return list(session.scalars(select(GlideNote)))


def test_a_note_is_written_and_stands_on_the_pages_of_both_pairs(
    visitor: Visitor, cast: Cast, other_id: int, database: Database
) -> None:
    page = write(visitor, cast, other_id)
    assert "The note is kept" in page.text
    assert "−6.5 °C" in page.text
    assert "Two runs each, the same wax." in page.text
    assert "Faster" in page.text
    (kept,) = rows(database)
    assert (kept.air_c, kept.humidity, kept.outcome) == (-6.5, Humidity.UNSURE, Outcome.FASTER)
    assert (kept.pair_id, kept.other_pair_id) == (cast.pair_id, other_id)
    beside = visitor.as_(cast.alice).get(f"/my/pairs/{other_id}")
    assert "Slower" in beside.text
    assert "Skarv" in beside.text


@pytest.mark.parametrize(
    ("given", "problem"),
    [
        ({"skied_on": "yesterday"}, "Enter the day as year-month-day, for example 2026-12-05"),
        ({"skied_on": "2026-12-08"}, "Enter a day that is not still to come"),
        (
            {"skied_on": "2026-10-08"},
            "Enter a day on which this pair had a structure of the workshop's on it",
        ),
        ({"air": ""}, "Enter the air temperature, for example -6"),
        ({"air": "warm"}, "Enter the temperature as a number, for example -6"),
        ({"air": "-99"}, "Enter a temperature of -60 °C or above"),
        ({"kind": "slippery"}, "Choose the kind of snow"),
        ({"moisture": ""}, "Choose how wet the track was"),
        ({"humidity": "?"}, "Choose an answer, or “I am not sure”"),
        ({"other": "0"}, "Choose the pair you compared it with"),
        ({"outcome": ""}, "Choose faster, the same or slower"),
        ({"remarks": "x" * 1001}, "Shorten this to 1000 characters"),
    ],
)
def test_what_is_wrong_is_said_and_everything_is_kept(
    visitor: Visitor, cast: Cast, other_id: int, database: Database, given: dict[str, str], problem: str
) -> None:
    page = write(visitor, cast, other_id, **given)
    assert page.errors == [problem]
    shown = page.form()
    # A choice that is none of those offered cannot be ticked; whatever else was entered stands there again.
    choices = {"kind", "moisture", "humidity", "other", "outcome"} & set(given)
    for name, value in good(other_id, **given).items():
        if name not in choices:
            assert shown[name].strip() == value
    assert rows(database) == []


def test_a_pair_that_had_nothing_of_ours_on_it_that_day_is_said_at_the_pair(
    visitor: Visitor, cast: Cast, other_id: int, database: Database
) -> None:
    with database.write.begin() as session:
        late = make.pair(session, session.get_one(Person, cast.alice.person_id), model="Late")
        ground(session, late.id, 2, date(2026, 12, 6))
        late_id = late.id
    page = write(visitor, cast, other_id, other=str(late_id))
    assert page.errors == [
        "Choose a pair that had a structure of the workshop's on it that day, or another day"
    ]


def test_wet_snow_in_frost_is_kept_and_said_to_be_odd(visitor: Visitor, cast: Cast, other_id: int) -> None:
    page = write(visitor, cast, other_id, air="-9", moisture="wet", kind="wet")
    assert "held less than 2 % water" in page.text
    assert "held less than" not in write(visitor, cast, other_id, air="2", moisture="wet", kind="wet").text


def test_only_pairs_of_the_same_kind_with_a_structure_are_offered(
    visitor: Visitor, cast: Cast, other_id: int, database: Database
) -> None:
    with database.write.begin() as session:
        alice = session.get_one(Person, cast.alice.person_id)
        make.pair(session, alice, model="Bare")
        classic = make.pair(session, alice, model="Classic", discipline=Discipline.CLASSIC)
        ground(session, classic.id)
    page = visitor.as_(cast.alice).get(f"/my/pairs/{cast.pair_id}/glide-notes/new")
    assert "Fennmark Lom" in page.text
    assert "Bare" not in page.text
    assert "Fennmark Classic" not in page.text


def test_without_a_second_pair_or_a_grind_the_page_says_what_is_missing(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    path = f"/my/pairs/{cast.pair_id}/glide-notes/new"
    assert "has not been ground here yet" in alice.get(path).text
    with database.write.begin() as session:
        ground(session, cast.pair_id)
    assert "You have no second one yet" in alice.get(path).text


def test_a_note_is_deleted_by_whoever_wrote_it(
    visitor: Visitor, cast: Cast, other_id: int, database: Database
) -> None:
    write(visitor, cast, other_id)
    alice = visitor.as_(cast.alice)
    page = alice.send(alice.get(f"/my/pairs/{cast.pair_id}"), "/delete")
    assert "counts no longer" in page.text
    assert rows(database) == []


@pytest.mark.parametrize("who", ["carl", "cora", "tina"])
def test_nobody_else_finds_the_form_the_note_or_a_way_to_delete_it(
    visitor: Visitor, cast: Cast, other_id: int, database: Database, who: str
) -> None:
    write(visitor, cast, other_id)
    (kept,) = rows(database)
    stranger = visitor.as_(getattr(cast, who))
    stranger.get(f"/my/pairs/{cast.pair_id}/glide-notes/new", 404)
    stranger.post(f"/my/pairs/{cast.pair_id}/glide-notes/new", good(other_id), 404)
    stranger.post(f"/my/glide-notes/{kept.id}/delete", status=404)
    if who == "tina":
        assert "Two runs each" not in stranger.get(f"/my/pairs/{cast.pair_id}").text
    assert len(rows(database)) == 1


def test_a_pair_of_somebody_else_cannot_be_compared_with(
    visitor: Visitor, cast: Cast, other_id: int, database: Database
) -> None:
    with database.write.begin() as session:
        theirs = make.pair(session, session.get_one(Person, cast.carl.person_id))
        ground(session, theirs.id)
        their_id = theirs.id
    page = write(visitor, cast, other_id, other=str(their_id))
    assert page.errors == ["Choose the pair you compared it with"]
    assert rows(database) == []
