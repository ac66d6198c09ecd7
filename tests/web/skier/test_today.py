"""Which pair today: the snow in, the skier's own pairs out, best first and with reasons."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from portal.db.catalogue import Structure
from portal.db.engine import Database
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.domain.answers import Discipline
from portal.domain.bookings import Stage, Status
from portal.queries import catalogue as find_structures
from portal.services import grinds
from tests import make
from tests.cast import Cast
from tests.page import Page, Visitor

COLD = "air=-16&kind=new&moisture=dry&humidity=unsure"
SLUSH = "air=4&kind=wet&moisture=wet&humidity=unsure"


@pytest.fixture
def two_pairs(database: Database, cast: Cast) -> None:
    """Alice's first pair is fine, her second open, and of a third nothing is known."""
    with database.write.begin() as session:
        alice = session.get_one(Person, cast.alice.person_id)
        other = make.pair(session, alice, model="Lom")
        make.pair(session, alice, model="Bare")
        for pair_id, key in ((cast.pair_id, "twinflower"), (other.id, "butterwort")):
            ground(session, pair_id, find_structures.by_key(session, key))


def ground(session: Any, pair_id: int, structure: Structure) -> None:
    grinds.add(session, pair_id, grinds.GrindFacts(structure.id, date(2026, 11, 2), "Tina"), make.NOW)


def ranked(page: Page) -> list[str]:
    return [page.words(item) for listed in page.all("ol") for item in listed if item.tag.endswith("}li")]


@pytest.mark.parametrize(("asked", "first"), [(COLD, "Skarv"), (SLUSH, "Lom")])
def test_the_pair_that_suits_the_day_comes_first_with_its_reasons(
    visitor: Visitor, cast: Cast, two_pairs: None, asked: str, first: str
) -> None:
    page = visitor.as_(cast.alice).get(f"/my/today?{asked}")
    found = ranked(page)
    assert first in found[0]
    assert len(found) == 2
    assert "The air is what it is made for." in found[0]
    assert "does not suit it at all" in found[1] or "The air is too" in found[1]


def test_pairs_of_which_nothing_is_known_stand_apart(visitor: Visitor, cast: Cast, two_pairs: None) -> None:
    page = visitor.as_(cast.alice).get(f"/my/today?{COLD}")
    assert "Not known what is on the base" in page.text
    assert not any("Bare" in one for one in ranked(page))
    assert "Bare" in page.text


def test_a_track_that_nobody_felt_is_taken_from_air_and_humidity(
    visitor: Visitor, cast: Cast, two_pairs: None
) -> None:
    page = visitor.as_(cast.alice).get("/my/today?air=-16&kind=new&moisture=unsure&humidity=dry")
    assert "Skarv" in ranked(page)[0]
    assert "16 °C, not known how wet the track is; humidity: Dry" in page.text


def test_each_kind_of_skiing_is_ranked_by_itself_and_each_pair_says_where_it_is(
    visitor: Visitor, cast: Cast, two_pairs: None, database: Database
) -> None:
    with database.write.begin() as session:
        alice = session.get_one(Person, cast.alice.person_id)
        kick = make.pair(session, alice, model="Kick", discipline=Discipline.CLASSIC)
        ground(session, kick.id, find_structures.by_key(session, "butterwort"))
        (item,) = make.booking(session, alice, pair=session.get_one(Pair, cast.pair_id)).items
        item.booking.status, item.stage = Status.CONFIRMED, Stage.CHECKED_IN
        kick.found_at = make.NOW
    page = visitor.as_(cast.alice).get(f"/my/today?{SLUSH}")
    headings = [page.words(one) for one in page.all("h2") if "your pairs" in page.words(one)]
    assert headings == ["Classic: your pairs for this snow", "Skate: your pairs for this snow"]
    classic, first, second = ranked(page)
    assert "Kick" in classic
    assert "Found, waits at the workshop" in classic
    assert "Lom" in first
    assert "With you" in first
    assert "At the workshop" in second
    assert "4 °C" in page.text
    assert not any("glide-notes" in link for link in page.links), "one pair alone is compared with nothing"


def test_two_pairs_with_the_same_structure_are_as_good(
    visitor: Visitor, cast: Cast, two_pairs: None, database: Database
) -> None:
    with database.write.begin() as session:
        third = make.pair(session, session.get_one(Person, cast.alice.person_id), model="Twin")
        ground(session, third.id, find_structures.by_key(session, "twinflower"))
    page = visitor.as_(cast.alice).get(f"/my/today?{COLD}")
    assert "The first ones are as good as each other" in page.text
    assert sum("As good as the best." in one for one in ranked(page)) == 2


def test_snow_that_no_pair_is_made_for_is_said(visitor: Visitor, cast: Cast, two_pairs: None) -> None:
    page = visitor.as_(cast.alice).get("/my/today?air=25&kind=new&moisture=dry&humidity=unsure")
    assert "None of these pairs is made for this snow" in page.text


@pytest.mark.parametrize(
    ("asked", "problem"),
    [
        (COLD.replace("-16", ""), "Enter the air temperature, for example -6"),
        (COLD.replace("-16", "61F"), "Enter the temperature in °C, not in °F"),
        (COLD.replace("new", "blue"), "Choose the kind of snow"),
        (COLD.replace("dry", "soggy"), "Choose an answer, or “I am not sure”"),
    ],
)
def test_what_is_wrong_is_said_and_the_rest_is_kept(
    visitor: Visitor, cast: Cast, two_pairs: None, asked: str, problem: str
) -> None:
    page = visitor.as_(cast.alice).get(f"/my/today?{asked}")
    assert page.errors == [problem]
    assert not page.all("ol")


def test_who_has_no_pair_is_shown_how_to_register_one(visitor: Visitor, cast: Cast) -> None:
    page = visitor.as_(cast.carl).get("/my/today")
    assert "/my/pairs/new" in page.links


def test_who_has_only_unknown_pairs_is_told_so(visitor: Visitor, cast: Cast) -> None:
    page = visitor.as_(cast.alice).get(f"/my/today?{COLD}")
    assert "For none of your pairs is it known" in page.text


def test_nobody_sees_the_pairs_of_others(visitor: Visitor, cast: Cast, two_pairs: None) -> None:
    assert "Skarv" not in visitor.as_(cast.carl).get(f"/my/today?{COLD}").text


def test_the_way_to_it_stands_on_the_front_page_and_on_the_list_of_pairs(
    visitor: Visitor, cast: Cast, two_pairs: None
) -> None:
    alice = visitor.as_(cast.alice)
    assert "/my/today" in [form.get("action") for form in alice.get("/my/pairs").all("form")]
    assert "/my/today" in alice.get("/").links
    assert "/my/today" not in visitor.as_(cast.tina).get("/").links
