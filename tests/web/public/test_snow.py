"""The snow questions and the advice, walked as a visitor and as a skier."""

from __future__ import annotations

from typing import Any

import pytest

from portal.db.engine import Database
from portal.db.pairs import Pair, SnowAnswers
from portal.domain.answers import Discipline, Purpose
from portal.domain.questions import QUESTIONS
from portal.queries import catalogue as find_structures
from tests import make
from tests.cast import Cast
from tests.page import Page, Visitor

COLD: dict[str, dict[str, Any]] = {
    "air": {"cold": "-18", "ordinary": "−9,5", "mild": "-3 °C"},
    "humidity": {"humidity": "dry"},
    "snow": {"new": "often", "settled": "mostly", "wet": "never"},
    "track_wet": {"track_wet": "never"},
    "place": {"place": "Alder Valley"},
    "discipline": {"discipline": "skate"},
    "purpose": {"purpose": "all_round"},
    "weak": {"weak": ["nothing"]},
}
WET: dict[str, dict[str, Any]] = {
    **COLD,
    "air": {"cold": "-3", "ordinary": "1", "mild": "5"},
    "humidity": {"humidity": "humid"},
    "snow": {"wet": "mostly", "refrozen": "often", "new": "never"},
    "track_wet": {"track_wet": "often"},
}


def key_of(page: Page) -> str:
    return page.response.request.path.rsplit("/", 1)[-1]


def begin(person: Visitor) -> Page:
    return person.send(person.get("/snow"))


def walk(person: Visitor, page: Page, answers: dict[str, dict[str, Any]]) -> Page:
    """Answer whatever is asked until the check page."""
    for _ in range(len(QUESTIONS) + 1):
        key = key_of(page)
        if key == "check":
            return page
        page = person.send(page, **answers[key])
    raise AssertionError(f"no end at {page.h1}")


def advice(person: Visitor, answers: dict[str, dict[str, Any]]) -> Page:
    return person.send(walk(person, begin(person), answers), "/finish")


def stored(database: Database) -> list[SnowAnswers]:
    with database.read() as session:
        return list(session.query(SnowAnswers).order_by(SnowAnswers.id))


def test_a_visitor_answers_one_question_a_page_and_gets_advice_with_reasons(visitor: Visitor) -> None:
    page = begin(visitor)
    assert f"Question 1 of {len(QUESTIONS)}" in page.text
    check = walk(visitor, page, COLD)
    assert check.h1 == "Check your answers"
    assert "−9.5 °C" in check.text
    assert "Alder Valley" in check.text
    page = visitor.send(check, "/finish")
    assert "of 100 of your days" in page.h1
    headings = [page.words(heading) for heading in page.all("h2")]
    assert "Why it fits" in headings
    assert "What this rests on" in headings
    assert any(heading.startswith("The runner-up") for heading in headings)
    assert "/sign-up" in page.links
    assert "Your answers wait for you" in page.text


def test_wet_winters_get_other_advice_than_cold_ones(visitor: Visitor) -> None:
    assert advice(visitor, COLD).h1.split(" suits ")[0] != advice(visitor, WET).h1.split(" suits ")[0]


def test_a_race_pair_is_advised_for_the_days_it_is_for(visitor: Visitor) -> None:
    page = advice(visitor, {**COLD, "purpose": {"purpose": "race"}})
    assert page.h1.endswith("of 100 of the days this pair is for")
    assert "count" in page.text


def test_answers_that_do_not_go_together_are_said_before_the_advice_is_trusted(visitor: Visitor) -> None:
    page = advice(visitor, {**COLD, "snow": {"wet": "mostly"}})
    assert "Before you trust this" in page.text
    assert "do not go together" in page.text


def test_a_skier_who_is_not_sure_of_anything_still_gets_to_the_end(visitor: Visitor) -> None:
    unsure = {
        "air": {"unsure": ["unsure"]},
        "humidity": {"humidity": "unsure"},
        "snow": dict.fromkeys(
            ("new", "settled", "machine_made", "sugary", "refrozen", "icy", "wet"), "unsure"
        ),
        "track_wet": {"track_wet": "unsure"},
        "place": {},
        "discipline": {"discipline": "unsure"},
        "purpose": {"purpose": "unsure"},
        "weak": {"weak": ["unsure"]},
    }
    page = advice(visitor, unsure)
    assert "Little is known of your snow" in page.text
    check = next(link for link in page.links if link.endswith("/check"))
    reopened = visitor.get(check.replace("/check", "/air"))
    assert reopened.form()["unsure"] == ["unsure"]


@pytest.mark.parametrize(
    ("key", "given", "problem"),
    [
        (
            "air",
            {"cold": "", "ordinary": "", "mild": ""},
            "Enter at least one temperature, or tick that you are not sure",
        ),
        ("air", {"ordinary": "minus six"}, "Enter the temperature as a number, for example -6"),
        ("humidity", {}, "Choose an answer, or “I am not sure”"),
        ("snow", {}, "Choose how often you meet a kind of snow, or “I am not sure”"),
        ("purpose", {"purpose": "special"}, "Choose which kind of snow the pair is for"),
        ("weak", {}, "Tick what it did badly, “Nothing”, or “I am not sure”"),
    ],
)
def test_an_answer_that_cannot_be_used_is_kept_and_explained(
    visitor: Visitor, key: str, given: dict[str, Any], problem: str
) -> None:
    page = begin(visitor)
    while key_of(page) != key:
        page = visitor.send(page, **COLD[key_of(page)])
    page = visitor.send(page, **given)
    assert page.errors == [problem]
    assert page.text.count(problem) == 2
    for name, value in given.items():
        if value:
            assert page.form()[name] == value


def test_the_way_can_be_left_and_taken_up_again(visitor: Visitor) -> None:
    page = begin(visitor)
    visitor.send(page, **COLD["air"])
    page = visitor.get("/snow")
    assert "Go on where you stopped" in page.text
    check = next(link for link in page.links if link.endswith("/check"))
    page = visitor.get(check)
    assert key_of(page) == "humidity"
    back = visitor.get(check.replace("/check", "/air"))
    assert back.form()["ordinary"] == "-9.5"


def test_an_answer_changed_from_the_check_page_comes_back_to_it(visitor: Visitor) -> None:
    check = walk(visitor, begin(visitor), COLD)
    change = next(link for link in check.links if link.endswith("/humidity"))
    page = visitor.send(visitor.get(change), humidity="humid")
    assert page.h1 == "Check your answers"
    assert "Humid" in page.text


def test_unfinished_answers_have_no_advice_and_cannot_be_finished(
    visitor: Visitor, database: Database
) -> None:
    begin(visitor)
    token = stored(database)[0].token
    assert key_of(visitor.get(f"/snow/{token}/advice")) == "air"
    visitor.post(f"/snow/{token}/finish")
    assert stored(database)[0].finished_at is None
    visitor.get(f"/snow/{token}/no-such-question", 404)


@pytest.mark.parametrize("end", ["air", "check", "advice"])
def test_another_browser_finds_nothing_behind_a_token(
    visitor: Visitor, cast: Cast, database: Database, end: str
) -> None:
    advice(visitor, COLD)
    token = stored(database)[0].token
    Visitor(visitor.app).get(f"/snow/{token}/{end}", 404)
    visitor.as_(cast.carl).get(f"/snow/{token}/{end}", 404)


def test_another_browser_changes_nothing(visitor: Visitor, cast: Cast, database: Database) -> None:
    advice(visitor, COLD)
    before = stored(database)[0]
    for other in (Visitor(visitor.app), visitor.as_(cast.carl)):
        other.post(f"/snow/{before.token}/humidity", {"humidity": "humid"}, 404)
        other.post(f"/snow/{before.token}/finish", status=404)
    assert stored(database)[0].stored == before.stored


def test_a_browser_keeps_the_newest_five(visitor: Visitor, database: Database) -> None:
    for _ in range(6):
        begin(visitor)
    tokens = [row.token for row in stored(database)]
    with visitor.client.session_transaction() as cookie:
        assert cookie["answers"] == tokens[:0:-1]


def test_with_an_account_the_answers_belong_to_the_person(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    page = advice(alice, COLD)
    assert "/sign-up" not in page.links
    assert stored(database)[0].person_id == cast.alice.person_id
    assert "See the advice" in visitor.as_(cast.alice).get("/snow").text
    visitor.as_(cast.carl).get(f"/snow/{stored(database)[0].token}/advice", 404)


def test_a_pair_is_not_asked_what_is_known_of_it_and_shows_its_advice(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    page = alice.send(alice.get(f"/my/pairs/{cast.pair_id}"), "/snow")
    asked = []
    while key_of(page) != "check":
        asked.append(key_of(page))
        page = alice.send(page, **COLD[key_of(page)])
    assert asked == ["air", "humidity", "snow", "track_wet", "place", "weak"]
    page = alice.send(page, "/finish")
    assert "For Fennmark Skarv" in page.text
    assert "of 100 of the days this pair is for" in alice.get(f"/my/pairs/{cast.pair_id}").text
    token = stored(database)[0].token
    alice.get(f"/snow/{token}/discipline", 404)


def test_the_advised_structure_is_preselected_on_the_way_to_a_booking(visitor: Visitor, cast: Cast) -> None:
    alice = visitor.as_(cast.alice)
    page = alice.send(alice.get(f"/my/pairs/{cast.pair_id}"), "/snow")
    page = alice.send(walk(alice, page, COLD), "/finish")
    advised = next(link for link in page.links if link.startswith("/structures/")).rsplit("/", 1)[-1]
    page = alice.send(alice.get("/my/book"), pairs=[str(cast.pair_id)])
    assert page.form()["structure"] == advised
    assert "From your answers for this pair" in page.text
    assert "of 100 of the days this pair is for" in page.text


def test_a_second_pair_begins_from_what_was_answered_for_the_first(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    with database.write.begin() as session:
        owner = make.find_people.one(session, cast.alice.person_id)
        other = make.pair(session, owner, discipline=Discipline.CLASSIC, purpose=Purpose.SPECIAL).id
    alice = visitor.as_(cast.alice)
    page = alice.send(alice.get(f"/my/pairs/{cast.pair_id}"), "/snow")
    alice.send(walk(alice, page, COLD), "/finish")
    page = alice.send(alice.get(f"/my/pairs/{other}"), "/snow")
    assert key_of(page) == "purpose"
    page = alice.send(page, purpose="special", special_kind="wet")
    assert key_of(page) == "weak"
    again = alice.send(alice.get(f"/my/pairs/{cast.pair_id}"), "/snow")
    assert again.h1 == "Check your answers"


def test_nobody_answers_for_a_pair_of_somebody_else(visitor: Visitor, cast: Cast, database: Database) -> None:
    visitor.as_(cast.carl).post("/snow", {"pair": cast.pair_id}, 404)
    visitor.as_(cast.tina).post("/snow", {"pair": cast.pair_id}, 403)
    visitor.as_(cast.carl).post("/snow", {"club": cast.club_id}, 404)
    assert visitor.post("/snow", {"pair": cast.pair_id}).h1 == "Sign in"
    assert not stored(database)


def test_without_a_structure_for_the_ski_the_page_says_whom_to_ask(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    with database.write.begin() as session:
        for row in find_structures.all_current(session):
            row.current = False
    page = advice(visitor, COLD)
    assert page.h1 == "No structure fits these answers yet"


def test_archived_pairs_are_out_of_the_way_of_new_answers(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    with database.write.begin() as session:
        session.get_one(Pair, cast.pair_id).archived_at = make.NOW
    page = visitor.as_(cast.alice).get(f"/my/pairs/{cast.pair_id}")
    assert not [form for form in page.all("form") if form.get("action") == "/snow"]
