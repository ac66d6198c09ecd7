"""Somebody may be skier, manager of two clubs and technician at once, and is told in which part they stand."""

from __future__ import annotations

from dataclasses import replace

from portal.db.clubs import ClubManager
from portal.db.engine import Database
from tests import make
from tests.cast import Cast
from tests.page import Page, Visitor


def part(page: Page) -> str:
    return " ".join("".join(one.itertext()).strip() for one in page.all("li") if one.get("class") == "part")


def test_whoever_has_several_parts_is_told_which_one_a_page_is_for(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    with database.write.begin() as session:
        for club_id in (cast.club_id, cast.other_club_id):
            session.add(ClubManager(club_id=club_id, person_id=cast.tina.person_id, since=make.NOW))
    clubs = {cast.club_id: "Alder Valley Ski Club", cast.other_club_id: "Birch Hill Ski Club"}
    tina = visitor.as_(replace(cast.tina, clubs=clubs))
    assert part(tina.get("/shop/requests")) == "as Bench technician"
    assert part(tina.get(f"/club/{cast.club_id}")) == "for Alder Valley Ski Club"
    assert part(tina.get(f"/club/{cast.other_club_id}/import")) == "for Birch Hill Ski Club"
    assert part(tina.get("/my/pairs")) == "as a skier"


def test_whoever_skis_and_nothing_else_is_told_nothing(visitor: Visitor, cast: Cast) -> None:
    assert part(visitor.as_(cast.alice).get("/my/pairs")) == ""
    assert part(visitor.get("/")) == ""
