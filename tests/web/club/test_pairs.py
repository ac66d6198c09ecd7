"""Pairs of a club."""

from __future__ import annotations

from io import BytesIO

from pypdf import PdfReader

from portal.db.engine import Database
from portal.db.people import Person
from portal.domain.answers import Discipline
from portal.queries import grinds as find_grinds
from portal.queries import pairs as find_pairs
from tests import make
from tests.cast import Cast
from tests.page import Visitor
from tests.web.club.conftest import Clubhouse

GOOD = {"maker": "Birkholt", "model": "Rime", "discipline": "classic", "purpose": "race", "length": "165 cm"}


def test_a_pair_is_registered_for_a_junior(visitor: Visitor, cast: Cast, clubhouse: Clubhouse) -> None:
    cora = visitor.as_(cast.cora)
    form = cora.get(clubhouse.url(f"/juniors/{cast.junior_id}/pairs/add"))
    assert form.h1 == "Add a pair for Junia"
    page = cora.send(form, **GOOD, grip="skin", kick_zone="55")
    assert page.h1 == "Birkholt Rime 165 cm"
    assert "Alder Valley Ski Club, Junia" in page.text
    assert "Skin" in page.text
    assert "never measured" in page.text


def test_a_pair_without_maker_or_use_is_not_registered_and_nothing_typed_is_lost(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    cora = visitor.as_(cast.cora)
    page = cora.send(
        cora.get(clubhouse.url(f"/juniors/{cast.junior_id}/pairs/add")), model="Rime", length="20"
    )
    assert page.errors == [
        "Enter who made the skis",
        "Choose whether the skis are for classic or for skating",
        "Choose what the pair is for",
        "Enter a number from 70 to 230",
    ]
    assert page.form()["model"] == "Rime"


def test_a_pair_is_edited_and_keeps_what_was_not_touched(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    pair_id = clubhouse.pair(maker="Birkholt", stiffness_kg=40, notes="Mind the tail")
    cora = visitor.as_(cast.cora)
    page = cora.send(cora.get(clubhouse.url(f"/pairs/{pair_id}/edit")), maker="Birkholm")
    assert page.h1.startswith("Birkholm")
    with database.read() as session:
        pair = find_pairs.one(session, cast.cora, pair_id)
        assert (pair.maker, pair.stiffness_kg, pair.notes) == ("Birkholm", 40, "Mind the tail")


def test_the_page_of_a_pair_shows_its_grinds_and_how_much_base_is_left(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    clubhouse.ground(cast.club_pair_id, after_um=900, before_um=950)
    page = visitor.as_(cast.cora).get(clubhouse.url(f"/pairs/{cast.club_pair_id}"))
    with database.read() as session:
        structure = find_grinds.of_pair(session, cast.club_pair_id)[0].structure.name
    assert f"{structure} is on the base since Mon 2 November 2026" in page.text
    assert "0.90 mm" in page.text
    assert "grinds are left" in page.text
    assert "Line of the thinnest point of the base" in page.text
    # As on a skier's own page: whether the next grind is worth it, by the club's answers where there are any; and care.
    assert "Is the next grind worth it?" in page.text
    assert "The snow questions are not answered for it" in page.text
    assert "/care" in page.links
    with database.write.begin() as session:
        answers = make.answers(session, session.get_one(Person, cast.cora.person_id))
        answers.club_id = cast.club_id
    answered = visitor.as_(cast.cora).get(clubhouse.url(f"/pairs/{cast.club_pair_id}"))
    assert "of 100 of the days it is for" in answered.text


def test_a_base_at_the_minimum_is_said_to_be_at_its_end(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    clubhouse.ground(cast.club_pair_id, after_um=505)
    page = visitor.as_(cast.cora).get(clubhouse.url(f"/pairs/{cast.club_pair_id}"))
    assert "Another grind would pass the workshop's minimum of 0.50 mm" in page.text


def test_the_history_of_a_pair_is_a_paper_with_club_and_structure_on_it(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    clubhouse.ground(cast.club_pair_id, after_um=900)
    answer = visitor.as_(cast.cora).raw("GET", clubhouse.url(f"/pairs/{cast.club_pair_id}/history.pdf"))
    assert answer.mimetype == "application/pdf"
    text = " ".join(page.extract_text() for page in PdfReader(BytesIO(answer.data)).pages)
    with database.read() as session:
        structure = find_grinds.of_pair(session, cast.club_pair_id)[0].structure.name
    for words in ("Alder Valley Ski Club", "Fennmark Lom", structure, "Hollowmere Ski Grinding", "0.90"):
        assert words in text


def test_the_history_of_a_pair_without_grinds_is_a_paper_too(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    pair_id = clubhouse.pair(discipline=Discipline.CLASSIC)
    answer = visitor.as_(cast.cora).raw("GET", clubhouse.url(f"/pairs/{pair_id}/history.pdf"))
    assert "No grind is recorded yet" in " ".join(
        " ".join(page.extract_text() for page in PdfReader(BytesIO(answer.data)).pages).split()
    )


def test_a_pair_is_archived_and_brought_back(visitor: Visitor, cast: Cast, clubhouse: Clubhouse) -> None:
    cora = visitor.as_(cast.cora)
    page = cora.send(cora.get(clubhouse.url(f"/pairs/{cast.club_pair_id}")), "archive")
    assert "Archived" in page.text
    assert "Archived pairs" in cora.get(clubhouse.url()).text
    page = cora.send(page, "restore")
    assert "back on the roster" in page.text


def test_a_pair_in_an_open_order_is_not_archived(visitor: Visitor, cast: Cast, clubhouse: Clubhouse) -> None:
    clubhouse.ordered()
    page = visitor.as_(cast.cora).post(clubhouse.url(f"/pairs/{cast.club_pair_id}/archive"), status=409)
    assert "open booking" in page.text
