"""Whether a paper is genuine: read off the paper itself, as whoever holds it would."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import delete, update

from portal.db.engine import Database
from portal.db.grinds import Grind
from portal.db.pairs import Pair
from portal.db.people import FailedTry
from portal.domain.tags import grouped, tag_of
from portal.services import grinds, handovers, throttle
from tests import make
from tests.cast import Cast
from tests.documents.reading import square_codes, text_of
from tests.page import Page, Visitor


def ground(database: Database, pair_id: int, day: date, after: int | None = 970) -> None:
    with database.write.begin() as session:
        facts = grinds.GrindFacts(
            structure_id=make.structure(session).id,
            ground_on=day,
            technician="Tina Technician",
            after_um=(after, after, after),
            remarks="scratched by Alice",
        )
        grinds.add(session, pair_id, facts, make.NOW)


@pytest.fixture
def paper(visitor: Visitor, cast: Cast, database: Database) -> bytes:
    ground(database, cast.pair_id, date(2026, 3, 2))
    return visitor.as_(cast.alice).raw("GET", f"/my/pairs/{cast.pair_id}/history.pdf").data


def here() -> date:
    """The day it is at the workshop of the cast."""
    return datetime.now(ZoneInfo("Europe/Oslo")).date()


def path_of(paper: bytes) -> str:
    (address,) = square_codes(paper)
    return "/" + address.split("/", 3)[3]


def test_the_square_leads_a_stranger_to_what_the_paper_must_say_and_to_nobody(
    visitor: Visitor, cast: Cast, database: Database, paper: bytes
) -> None:
    page = visitor.get(path_of(paper))
    assert page.h1 == "This paper was issued here"
    assert f"for the pair with the tag {grouped(tag_of(cast.pair_id))}" in page.text
    assert "Nothing newer is recorded." in page.text
    assert "0.97 mm" in page.text
    (code,) = set(re.findall(r"Check code (\w{4} \w{4})", text_of(paper)))
    assert code in page.text
    # The holder may be anybody.
    # Written with as many decimals as on the paper.
    ground(database, cast.pair_id, here(), 845)
    alice = visitor.as_(cast.alice)
    finer = alice.raw("GET", f"/my/pairs/{cast.pair_id}/history.pdf").data
    for shown in ("0.845 mm", "0.970"):
        assert shown in text_of(finer)
        assert shown in visitor.get(path_of(finer)).text
    page = visitor.get(path_of(paper))
    for word in ("Alice", "Tina", "Fennmark", "scratched", "booking"):
        assert word not in page.html, word
    assert page.response.headers["X-Robots-Tag"] == "noindex"
    assert page.response.headers["Cache-Control"] == "no-store"
    assert visitor.as_(cast.alice).get(path_of(paper)).text == page.text


def test_the_page_tells_what_came_later_and_what_was_changed(
    visitor: Visitor, cast: Cast, database: Database, paper: bytes
) -> None:
    ground(database, cast.pair_id, date(2026, 11, 2), None)
    page = visitor.get(path_of(paper))
    assert "The paper is out of date." in page.text
    assert "A grind was recorded on Mon 2 November 2026" in page.text
    # Whether it is still in somebody's list changes nothing.
    with database.write.begin() as session:
        session.execute(update(Pair).where(Pair.id == cast.pair_id).values(archived_at=make.NOW))
    assert visitor.get(path_of(paper)).text == page.text
    with database.write.begin() as session:
        session.execute(update(Grind).values(after_tip_um=500))
    page = visitor.get(path_of(paper))
    assert "is not what it was" in page.text
    assert "out of date" not in page.text
    assert not page.all("table")


def pass_on(database: Database, cast: Cast, at: datetime) -> None:
    with database.write.begin() as session:
        handovers.offer(session, cast.alice, cast.pair_id, "23456789AC", at)
        handovers.take(session, cast.carl, "23456789AC", at)


OUT_OF_DATE = "The paper is out of date. Ask for a newer one."


def test_whoever_keeps_a_paper_reads_nothing_of_whoever_has_the_pair_now(
    visitor: Visitor, cast: Cast, database: Database, paper: bytes
) -> None:
    with database.write.begin() as session:
        make.pair(session, owner_id=cast.alice.person_id)
    several = visitor.as_(cast.alice).raw("GET", "/my/pairs/histories.pdf").data
    (code,) = set(re.findall(r"Check code (\w{4} \w{4})", text_of(paper)))

    def pages() -> list[Page]:
        asked = typed(visitor, tag_of(cast.pair_id), here().isoformat(), code)
        return [visitor.get(path_of(paper)), asked, visitor.get(path_of(several))]

    pass_on(database, cast, datetime.now(UTC) + timedelta(days=1))
    told = [page.text for page in pages()]
    ground(database, cast.pair_id, here() + timedelta(days=3))
    for page, before in zip(pages(), told, strict=True):
        assert OUT_OF_DATE in page.text
        assert "recorded on" not in page.text
        assert page.text == before


def test_a_paper_of_the_day_on_which_the_pair_was_passed_on_may_be_of_either(
    visitor: Visitor, cast: Cast, database: Database, paper: bytes
) -> None:
    pass_on(database, cast, datetime.now(UTC))
    assert "Nothing newer is recorded." in visitor.get(path_of(paper)).text
    ground(database, cast.pair_id, here() + timedelta(days=1))
    page = visitor.get(path_of(paper))
    assert OUT_OF_DATE in page.text
    assert "recorded on" not in page.text


def test_a_pair_that_is_erased_leaves_a_paper_that_is_still_known(
    visitor: Visitor, cast: Cast, database: Database, paper: bytes
) -> None:
    with database.write.begin() as session:
        session.execute(delete(Grind))
        session.execute(delete(Pair).where(Pair.id == cast.pair_id))
    page = visitor.get(path_of(paper))
    assert page.h1 == "This paper was issued here"
    assert "keeps no record of the pair any more" in page.text


def typed(visitor: Visitor, tag: str, day: str, code: str, status: int = 200) -> Page:
    return visitor.post("/paper", {"tag": tag, "day": day, "code": code}, status)


def test_what_stands_on_the_paper_can_be_typed(
    visitor: Visitor, cast: Cast, database: Database, paper: bytes
) -> None:
    assert "/paper" in visitor.get("/how-it-works").links
    (code,) = set(re.findall(r"Check code (\w{4} \w{4})", text_of(paper)))
    tag, day = tag_of(cast.pair_id), here().isoformat()
    page = typed(visitor, tag.lower(), day, code.lower())
    assert page.h1 == "This paper was issued here"
    assert "Nothing newer is recorded." in page.text
    assert "Grinds left" not in page.text
    other = tag_of(cast.club_pair_id)
    yesterday = (here() - timedelta(days=1)).isoformat()
    for wrong in ((other, day, code), (tag, yesterday, code), (tag, day, code[:-1]), ("no tag", day, code)):
        assert typed(visitor, *wrong, status=404).h1 == "We cannot confirm this paper"
    form = typed(visitor, "", "soon", "")
    assert len(form.errors) == 3
    assert "Enter the day as year-month-day, for example 2026-12-05" in form.errors
    ground(database, cast.pair_id, here() + timedelta(days=1))
    assert "The paper is out of date." in typed(visitor, tag, day, code).text


def test_a_code_that_was_not_made_here_is_not_confirmed_and_nobody_tries_for_ever(
    visitor: Visitor, paper: bytes, database: Database
) -> None:
    path = path_of(paper)
    for wrong in (path[:-1], path[:40], "/paper/x", "/paper/é.é", path.replace("/paper/", "/paper/A")):
        page = visitor.get(wrong, 404)
        assert page.h1 == "We cannot confirm this paper"
        assert page.response.headers["X-Robots-Tag"] == "noindex"
    with database.write.begin() as session:
        bucket = throttle.PAPERS_FROM.bucket("127.0.0.1")
        at = datetime.now(UTC)
        session.add_all(FailedTry(bucket=bucket, at=at) for _ in range(throttle.PAPERS_FROM.most))
    assert visitor.raw("GET", "/paper/x").status_code == 429
    assert visitor.raw("GET", path).status_code == 200


def test_a_name_struck_out_of_the_remarks_leaves_a_paper_genuine(
    visitor: Visitor, cast: Cast, database: Database, paper: bytes
) -> None:
    before = visitor.get(path_of(paper))
    with database.write.begin() as session:
        session.execute(update(Grind).values(remarks="scratched by …"))
    after = visitor.get(path_of(paper))
    assert after.h1 == "This paper was issued here"
    assert after.text == before.text
