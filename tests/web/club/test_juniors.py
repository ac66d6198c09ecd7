"""The roster."""

from __future__ import annotations

from portal.db.engine import Database
from portal.services import disputes
from tests import make
from tests.cast import Cast
from tests.page import Visitor
from tests.web.club.conftest import Clubhouse


def test_a_junior_is_added_with_no_more_than_a_name(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    cora = visitor.as_(cast.cora)
    form = cora.get(clubhouse.url("/juniors/add"))
    assert "all that is stored of a junior" in form.text
    page = cora.send(form, display_name=" Bo ")
    assert "Bo is on the roster" in page.text


def test_a_junior_without_a_name_or_from_the_future_is_not_added(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    cora = visitor.as_(cast.cora)
    page = cora.send(cora.get(clubhouse.url("/juniors/add")), birth_year="2030")
    assert page.errors == ["Enter a name for the roster", "Enter a year that is not in the future"]
    assert page.form()["birth_year"] == "2030"


def test_a_birth_year_that_is_no_number_is_said_so_once(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    cora = visitor.as_(cast.cora)
    page = cora.send(cora.get(clubhouse.url("/juniors/add")), display_name="Bo", birth_year="twelve")
    assert len(page.errors) == 1


def test_a_junior_is_edited(visitor: Visitor, cast: Cast, clubhouse: Clubhouse) -> None:
    cora = visitor.as_(cast.cora)
    form = cora.get(clubhouse.url(f"/juniors/{cast.junior_id}/edit"))
    assert form.form()["display_name"] == "Junia"
    page = cora.send(form, display_name="Juniper", birth_year="2012", discipline="skate", weight="41 kg")
    for told in ("Juniper", "2012", "Skate", "41 kg"):
        assert told in page.text


def test_a_weight_that_no_junior_has_is_not_kept(visitor: Visitor, cast: Cast, clubhouse: Clubhouse) -> None:
    cora = visitor.as_(cast.cora)
    page = cora.send(cora.get(clubhouse.url("/juniors/add")), display_name="Bo", weight="4100")
    assert len(page.errors) == 1


def test_a_junior_who_leaves_is_off_the_roster_and_the_pair_stays(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    cora = visitor.as_(cast.cora)
    asked = cora.get(clubhouse.url(f"/juniors/{cast.junior_id}/leave"))
    assert "Fennmark Lom 187 cm" in asked.text
    page = cora.send(asked)
    assert "Junia is off the roster" in page.text
    assert "Pairs without a junior" in page.text
    for path in ("", "/edit", "/leave", "/pairs/add"):
        assert cora.raw("GET", clubhouse.url(f"/juniors/{cast.junior_id}{path}")).status_code == 404


def test_a_frozen_pair_stands_with_the_club_when_its_junior_has_left(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    with database.write.begin() as session:
        disputes.freeze(session, cast.tina, cast.club_pair_id, "A family says it is theirs", make.NOW)
    cora = visitor.as_(cast.cora)
    cora.send(cora.get(clubhouse.url(f"/juniors/{cast.junior_id}/leave")), pairs="go_along")
    page = cora.get(clubhouse.url())
    assert "Pairs without a junior" in page.text
    assert clubhouse.url(f"/pairs/{cast.club_pair_id}") in page.links


def test_what_becomes_of_the_pairs_has_to_be_one_of_two_things(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    cora = visitor.as_(cast.cora)
    page = cora.send(cora.get(clubhouse.url(f"/juniors/{cast.junior_id}/leave")), pairs="burnt")
    assert len(page.errors) == 1


def test_a_junior_with_a_pair_in_an_open_order_stays(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    clubhouse.ordered()
    cora = visitor.as_(cast.cora)
    page = cora.post(clubhouse.url(f"/juniors/{cast.junior_id}/leave"), status=409)
    assert "in an open order" in page.text
    assert clubhouse.url() in page.links


def test_no_page_without_a_door_shows_a_junior(visitor: Visitor, cast: Cast, clubhouse: Clubhouse) -> None:
    clubhouse.ordered(confirmed=True)
    for path in ("/", "/structures", "/how-it-works"):
        assert "Junia" not in visitor.get(path).html
