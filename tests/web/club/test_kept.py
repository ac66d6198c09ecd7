"""What is kept of juniors, and that it goes: the whole database is searched for them afterwards."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import select

from portal.db.clubs import Club, Junior
from portal.db.engine import Database
from portal.db.grinds import Grind
from portal.db.imports import ListImport
from portal.db.outbox import OutboxLetter
from portal.db.pairs import Pair
from portal.domain.importing.readings import Content, Subject
from portal.services import bookings, crates, imports, juniors
from portal.services.juniors import JuniorFacts
from tests import make
from tests.anywhere import anywhere
from tests.cast import Cast
from tests.page import Visitor
from tests.web.club.conftest import Clubhouse

NAME, OSLO = "Quillonia", ZoneInfo("Europe/Oslo")


@pytest.fixture
def quillonia(database: Database, cast: Cast, clubhouse: Clubhouse) -> int:
    """A junior whose pair was ordered, written about and is back."""
    with database.write.begin() as session:
        junior_id = make.junior(session, session.get_one(Club, cast.club_id), display_name=NAME).id
    pair_id = clubhouse.pair(junior_id=junior_id)
    clubhouse.ground(pair_id, 1100)
    order_id = clubhouse.ordered(pair_id, confirmed=True)
    with database.write.begin() as session:
        # Its crate is unpacked without it.
        crates.note_unknown(session, cast.tina, order_id, "A pair without a name", make.NOW)
        crates.close(session, cast.tina, order_id, make.NOW)
        bookings.cancel(session, cast.cora, order_id, make.NOW)
        for letter in session.scalars(select(OutboxLetter)):
            letter.sent_at = make.NOW
    assert "outbox_letter.body" in anywhere(database, NAME)
    return junior_id


def test_a_junior_is_forgotten_on_request(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database, quillonia: int
) -> None:
    cora = visitor.as_(cast.cora)
    page = cora.send(cora.get(clubhouse.url(f"/juniors/{quillonia}/forget")))
    assert "Nothing is kept of this junior any more" in page.text
    assert anywhere(database, NAME) == []
    with database.read() as session:
        assert session.scalars(select(Grind)).all()
        assert all(pair.junior_id != quillonia for pair in session.scalars(select(Pair)))


def test_letters_keep_everything_but_the_name(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database, quillonia: int
) -> None:
    clubhouse.ordered()
    with database.write.begin() as session:
        many = len(session.scalars(select(OutboxLetter)).all())
        # Short names stand in many words, and a letter may wait to be sent.
        for name in ("e", "Al"):
            short = juniors.add(session, cast.cora, cast.club_id, JuniorFacts(name), make.NOW)
            session.flush()
            juniors.forget(session, cast.cora, cast.club_id, short.id, make.NOW)
        juniors.forget(session, cast.cora, cast.club_id, quillonia, make.NOW)
    with database.read() as session:
        bodies = [letter.body for letter in session.scalars(select(OutboxLetter))]
    assert len(bodies) == many
    assert any("Junia" in body for body in bodies)
    assert any("(…)" in body for body in bodies)
    assert any("Alder Valley Ski Club" in body for body in bodies)


def test_a_name_that_was_changed_is_in_no_letter_either(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database, quillonia: int
) -> None:
    with database.write.begin() as session:
        juniors.edit(session, cast.cora, cast.club_id, quillonia, JuniorFacts("Quill"))
    assert anywhere(database, NAME) == []


def test_a_list_that_waits_to_be_loaded_goes_too(cast: Cast, database: Database, quillonia: int) -> None:
    text = f"name;born\n{NAME};2012\nBo;x\n".encode()
    with database.write.begin() as session:
        made = imports.stage(
            session, cast.cora, Subject.ROSTER, "a.csv", Content.of_text(text), make.NOW, cast.club_id
        ).id
    with database.write.begin() as session:
        juniors.forget(session, cast.cora, cast.club_id, quillonia, make.NOW)
    with database.read() as session:
        assert session.get_one(ListImport, made).content is None


@pytest.mark.parametrize(
    ("now", "is_kept"),
    # Left in the winter of 2026/27: the winters of 2027/28 and 2028/29 are two seasons more.
    [
        (datetime(2029, 6, 30, 23, 59, tzinfo=OSLO), True),
        (datetime(2029, 7, 1, 0, 1, tzinfo=OSLO), False),
    ],
)
def test_a_junior_who_left_is_forgotten_after_two_seasons(
    database: Database, cast: Cast, quillonia: int, now: datetime, is_kept: bool
) -> None:
    with database.write.begin() as session:
        juniors.leave(session, cast.cora, cast.club_id, quillonia, make.NOW)
    with database.write.begin() as session:
        assert juniors.forget_old(session, now) == (not is_kept)
    assert (anywhere(database, NAME) != []) is is_kept
    with database.read() as session:
        # Whoever is on a roster is not forgotten, however long.
        assert session.get(Junior, cast.junior_id) is not None


def test_a_junior_with_a_pair_in_an_open_order_is_not_forgotten(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    clubhouse.ordered()
    cora = visitor.as_(cast.cora)
    page = cora.post(clubhouse.url(f"/juniors/{cast.junior_id}/forget"), status=409)
    assert "in an open order" in page.text


def test_the_page_says_what_is_kept_and_until_when(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    with database.write.begin() as session:
        juniors.leave(session, cast.cora, cast.club_id, cast.junior_id, make.NOW)
    page = visitor.as_(cast.cora).get(clubhouse.url("/kept"))
    for told in ("Birth year", "No birth date is kept", "Junia", "30 June 2029"):
        assert told in page.text
