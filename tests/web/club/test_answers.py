"""The club's snow, and the structure that its orders open with."""

from __future__ import annotations

from sqlalchemy import func, select

from portal.db.engine import Database
from portal.db.pairs import SnowAnswers
from portal.domain.answers import AirDays, Answers, Discipline, HowOften
from portal.domain.questions import stored_from
from portal.domain.shares import hundred
from portal.domain.snow import SnowKind
from portal.queries import catalogue as find_structures
from portal.reference import default_folder, load
from portal.services import snow_answers
from portal.web import advising
from tests import make
from tests.cast import Cast
from tests.page import Visitor
from tests.web.club.conftest import Clubhouse

WET = Answers(
    air_c=AirDays(-3.0, 0.0, 4.0),
    snow={kind: HowOften.MOSTLY if kind is SnowKind.WET else HowOften.SOMETIMES for kind in SnowKind},
)


def answer(database: Database, cast: Cast, *, finished: bool = True) -> None:
    with database.write.begin() as session:
        row = snow_answers.begin(
            session, cast.cora, "a-token", make.NOW, club_id=cast.club_id, stored=stored_from(WET)
        )
        if finished:
            snow_answers.finish(row, make.NOW)


def test_the_questions_are_begun_for_the_club(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    cora = visitor.as_(cast.cora)
    page = cora.send(cora.get(clubhouse.url()), "snow-questions")
    assert page.response.request.path.startswith("/snow/")
    with database.read() as session:
        assert session.scalar(select(func.count()).where(SnowAnswers.club_id == cast.club_id)) == 1


def test_answers_given_before_are_there_to_be_changed(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    answer(database, cast)
    cora = visitor.as_(cast.cora)
    page = cora.get(clubhouse.url())
    assert "The snow questions were answered for the club on Mon 7 December 2026" in page.text
    assert cora.send(page, "snow-questions").response.request.path.endswith("/check")


def test_an_order_opens_with_the_structure_that_suits_the_clubs_snow_best(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    answer(database, cast)
    with database.read() as session:
        advice = advising.advised(session, load(default_folder()), stored_from(WET), Discipline.SKATE)
        assert advice is not None
        keys = {str(row.id): row.key for row in find_structures.all_current(session)}
    page = visitor.as_(cast.cora).get(clubhouse.url("/order"))
    assert keys[page.form("order")["all_skate"]] == advice.best
    best = advice.advice.families[0]
    assert f"{best.structure.name} suits {hundred(best.coverage)} of 100 days of this snow" in page.text
    assert str(advice.reasons[0]) in page.text


def test_answers_that_are_not_finished_steer_nothing(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    answer(database, cast, finished=False)
    assert visitor.as_(cast.cora).get(clubhouse.url("/order")).form("order")["all_skate"] == ""
