"""Age classes of a club: named, corrected, moved on, removed, and what each of them gets in an order."""

from __future__ import annotations

import pytest
from sqlalchemy import select

from portal.db.clubs import AgeClass
from portal.db.engine import Database
from portal.db.pairs import SnowAnswers
from portal.domain.answers import AirDays, Answers, Discipline, HowOften, Purpose
from portal.domain.errors import NotFound
from portal.domain.questions import stored_from
from portal.domain.snow import SnowKind
from portal.queries import age_classes as find_classes
from portal.queries import bookings as find_bookings
from portal.queries import catalogue as find_structures
from portal.queries import clubs as find_clubs
from portal.reference import default_folder, load
from portal.services import age_classes, snow_answers
from portal.web import advising
from tests import make
from tests.cast import Cast
from tests.page import Visitor
from tests.web.club.conftest import Clubhouse
from tests.web.club.test_answers import WET

COLD = Answers(
    air_c=AirDays(-22.0, -14.0, -8.0),
    snow={kind: HowOften.MOSTLY if kind is SnowKind.NEW else HowOften.NEVER for kind in SnowKind},
)


def a_class(database: Database, cast: Cast, name: str = "U14", first: int = 2013, last: int = 2014) -> int:
    with database.write.begin() as session:
        made = age_classes.add(session, cast.cora, cast.club_id, name, first, last, make.NOW)
        session.flush()
        return made.id


def answer(database: Database, cast: Cast, answers: Answers, class_id: int | None = None) -> None:
    with database.write.begin() as session:
        row = snow_answers.begin(
            session,
            cast.cora,
            f"token-{class_id}",
            make.NOW,
            club_id=cast.club_id,
            age_class_id=class_id,
            stored=stored_from(answers),
        )
        snow_answers.finish(row, make.NOW)


def best(database: Database, answers: Answers, discipline: Discipline = Discipline.SKATE) -> str:
    """The number of the structure that is advised on these answers."""
    with database.read() as session:
        advice = advising.advised(session, load(default_folder()), stored_from(answers), discipline)
        assert advice is not None
        return next(str(row.id) for row in find_structures.all_current(session) if row.key == advice.best)


def classes(database: Database) -> list[tuple[str, int, int]]:
    with database.read() as session:
        rows = session.scalars(select(AgeClass).order_by(AgeClass.id))
        return [(one.name, one.first_year, one.last_year) for one in rows]


def test_a_club_names_its_classes_and_what_is_wrong_is_said_at_its_field(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    cora = visitor.as_(cast.cora)
    page = cora.get(clubhouse.url())
    page = cora.get(next(link for link in page.links if link.endswith("/age-classes")))
    assert cora.send(page, "age-classes").errors == [
        "Enter a name for the class",
        "Enter the first birth year",
        "Enter the last birth year",
    ]
    page = cora.send(page, "age-classes", name="U14", first_year="2013", last_year="2014")
    assert "U14 is a class of the club now" in page.text
    for given, problem in (
        (("u14", "2015", "2016"), "Another class has this name. Choose one that tells the two apart"),
        (("U16", "2014", "2015"), "U14 has one of these birth years already. A junior is in one class only"),
        (("U16", "2012", "2011"), "Enter a last birth year that is not before the first one"),
    ):
        typed = dict(zip(("name", "first_year", "last_year"), given, strict=True))
        wrong = cora.post(clubhouse.url("/age-classes"), typed)
        assert wrong.errors == [problem]
        assert all(f'value="{value}"' in wrong.html for value in given), "nothing typed is lost"
    assert classes(database) == [("U14", 2013, 2014)]


def test_a_class_is_corrected_moved_on_and_removed_with_its_answers(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    class_id = a_class(database, cast)
    a_class(database, cast, "U16", 2011, 2012)
    answer(database, cast, COLD, class_id)
    answer(database, cast, WET)
    cora = visitor.as_(cast.cora)
    url = clubhouse.url(f"/age-classes/{class_id}")
    assert cora.send(cora.get(url), "age-classes", first_year="2012").errors[0].startswith("U16 has one")
    cora.send(cora.get(url), "age-classes", name="Under 14", first_year="2013")
    page = cora.send(cora.get(clubhouse.url("/age-classes")), "move-on")
    assert "one birth year younger" in page.text
    assert classes(database) == [("Under 14", 2014, 2015), ("U16", 2012, 2013)]
    page = cora.get(next(link for link in cora.get(url).links if link.endswith("/remove")))
    assert "What was answered for the class is removed with it" in page.text
    cora.send(page, "remove")
    assert classes(database) == [("U16", 2012, 2013)]
    with database.read() as session:
        assert session.scalars(select(SnowAnswers.age_class_id)).all() == [None], "those of the club stay"


def test_the_questions_are_answered_for_one_class(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    class_id = a_class(database, cast)
    answer(database, cast, WET)
    cora = visitor.as_(cast.cora)
    page = cora.send(cora.get(clubhouse.url("/age-classes")), f"{class_id}/snow-questions")
    assert page.h1 == "Check your answers", "what was answered for the club is there to be changed"
    assert "For U14" in page.text
    page = cora.send(page, "finish")
    assert "For U14" in page.text
    assert "Answered on Mon 7 December 2026" in cora.get(clubhouse.url("/age-classes")).text
    with database.read() as session:
        assert list(find_classes.answers(session, cast.club_id)) == [class_id]


def test_an_order_opens_with_a_structure_for_each_class_that_has_answers(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    class_id = a_class(database, cast)
    answer(database, cast, COLD, class_id)
    answer(database, cast, WET)
    with database.write.begin() as session:
        club = find_clubs.one(session, cast.cora, cast.club_id)
        older = make.junior(session, club, birth_year=2009)
        of_older = make.pair(session, club_id=cast.club_id, junior_id=older.id).id
        of_nobody = make.pair(session, club_id=cast.club_id).id
    assert best(database, COLD) != best(database, WET)
    cora = visitor.as_(cast.cora)
    page = cora.get(clubhouse.url("/order"))
    assert page.form("order")[f"all_skate_{class_id}"] == best(database, COLD)
    assert page.form("order")["all_skate"] == best(database, WET)
    assert "U14: structure for the skating pairs" in page.text
    assert "Structure for all other skating pairs" in page.text
    ticked = cora.get(next(link for link in page.links if link.endswith(f"tick={class_id}"))).form("order")
    assert f"pair_{cast.club_pair_id}" in ticked
    assert f"pair_{of_older}" not in ticked
    pairs = {f"pair_{number}": "y" for number in (cast.club_pair_id, of_older, of_nobody)}
    wrong = cora.send(page, "order", hand_in="2026-12-08", **pairs, **{f"all_skate_{class_id}": ""})
    assert wrong.errors == ["Choose the structure for the skating pairs of U14"]
    page = cora.send(page, "order", hand_in="2026-12-08", **pairs)
    cora.send(cora.send(page, ready="2026-12-11"), "send")
    with database.read() as session:
        (order,) = find_bookings.of_club(session, cast.club_id)
        found = {item.pair_id: str(item.structure_id) for item in order.items}
    assert found == {
        cast.club_pair_id: best(database, COLD),
        of_older: best(database, WET),
        of_nobody: best(database, WET),
    }


def test_a_class_without_answers_changes_nothing_about_the_page(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    class_id = a_class(database, cast)
    answer(database, cast, WET)
    page = visitor.as_(cast.cora).get(clubhouse.url("/order"))
    assert f"all_skate_{class_id}" not in page.form("order")
    assert "Structure for all skating pairs" in page.text


def test_a_pair_for_races_says_what_suits_races_where_that_is_another(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    wide = Answers(
        air_c=AirDays(-20.0, -1.0, 5.0),
        snow=dict.fromkeys(SnowKind, HowOften.OFTEN),
    )
    for_races = Answers(air_c=wide.air_c, snow=wide.snow, purpose=Purpose.RACE)
    assert best(database, wide) != best(database, for_races), "the example tells the two apart"
    answer(database, cast, wide)
    cora = visitor.as_(cast.cora)
    assert "For races" not in cora.get(clubhouse.url("/order")).text
    clubhouse.pair(purpose=Purpose.RACE)
    page = cora.get(clubhouse.url("/order"))
    with database.read() as session:
        name = find_structures.one(session, int(best(database, for_races))).name
    assert page.text.count(f"For races {name} suits best.") == 1


def test_the_classes_of_a_club_do_not_exist_for_others(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    class_id = a_class(database, cast)
    for who in (cast.dora, cast.alice, cast.mia):
        browser = visitor.as_(who)
        for club_id in (cast.club_id, cast.other_club_id if who is cast.dora else cast.club_id):
            root = f"/club/{club_id}/age-classes"
            if club_id == cast.club_id:
                browser.get(root, status=404)
            browser.get(f"{root}/{class_id}", status=404)
            browser.get(f"{root}/{class_id}/remove", status=404)
            browser.post(f"{root}/{class_id}/snow-questions", status=404)
    dora = visitor.as_(cast.dora)
    dora.post(f"/club/{cast.club_id}/age-classes/move-on", status=404)
    dora.post(
        f"/club/{cast.club_id}/age-classes", {"name": "X", "first_year": "2001", "last_year": "2002"}, 404
    )
    assert classes(database) == [("U14", 2013, 2014)]
    with pytest.raises(NotFound), database.write.begin() as session:
        snow_answers.begin(
            session, cast.dora, "a-token", make.NOW, club_id=cast.other_club_id, age_class_id=class_id
        )
