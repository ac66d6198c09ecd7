"""The histories of all pairs of an order in one archive."""

from __future__ import annotations

import zipfile
from datetime import timedelta
from io import BytesIO

from pypdf import PdfReader
from sqlalchemy import select, update

from portal.db.audit import AuditEntry
from portal.db.clubs import Junior
from portal.db.engine import Database
from portal.db.pairs import Pair
from portal.db.people import LoginSession
from tests import make
from tests.cast import Cast
from tests.documents.reading import text_of
from tests.page import Visitor
from tests.web.club.conftest import Clubhouse


def test_every_pair_of_the_order_has_its_history_under_a_name_that_says_whose_it_is(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    second = clubhouse.pair(maker="Tundraline", model="A/B: *", length_cm=165)
    clubhouse.ground(cast.club_pair_id, 1200)
    order_id = clubhouse.ordered(cast.club_pair_id, second, confirmed=True)
    cora = visitor.as_(cast.cora)
    path = clubhouse.url(f"/orders/{order_id}/histories.zip")
    assert path in cora.get(clubhouse.url(f"/orders/{order_id}")).links
    answer = cora.raw("GET", path)
    assert answer.status_code == 200
    # Sent in pieces: nobody knew its length beforehand.
    assert answer.content_length is None
    with zipfile.ZipFile(BytesIO(answer.data)) as archive:
        first, other = archive.namelist()
        assert first.startswith("Junia-Fennmark-Lom-187-cm-")
        assert other.startswith("Junia-Tundraline-A-B-165-cm-")
        text = PdfReader(BytesIO(archive.read(first))).pages[0].extract_text()
        assert "Fennmark" in text
        # The paper is about the pair: whoever gets it next reads no child's name on it.
        assert "Junia" not in text
    with database.read() as session:
        assert session.scalars(select(AuditEntry)).all()[-1].about.startswith("histories-")


def test_a_pair_that_its_family_has_claimed_is_left_out(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    order_id = clubhouse.ordered()
    with database.write.begin() as session:
        pair = session.get_one(Pair, cast.club_pair_id)
        pair.owner_id, pair.club_id = cast.carl.person_id, None
    answer = visitor.as_(cast.cora).raw("GET", clubhouse.url(f"/orders/{order_id}/histories.zip"))
    with zipfile.ZipFile(BytesIO(answer.data)) as archive:
        assert archive.namelist() == []


def test_a_pair_in_dispute_gets_no_paper_and_the_others_say_so(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    second = clubhouse.pair(maker="Tundraline", model="Sprint")
    order_id = clubhouse.ordered(cast.club_pair_id, second, confirmed=True)
    with database.write.begin() as session:
        session.get_one(Pair, second).frozen_at = make.NOW
    cora = visitor.as_(cast.cora)
    page = clubhouse.url(f"/pairs/{second}")
    assert f"{page}/history.pdf" not in cora.get(page).links
    assert "Ask the workshop:" in cora.get(f"{page}/history.pdf", status=409).text
    with zipfile.ZipFile(
        BytesIO(cora.raw("GET", clubhouse.url(f"/orders/{order_id}/histories.zip")).data)
    ) as archive:
        assert [name.rsplit(".")[-1] for name in archive.namelist()] == ["pdf", "txt"]
        assert "Tundraline Sprint" in archive.read("Left-out.txt").decode()
    text = text_of(cora.raw("GET", clubhouse.url("/histories.pdf")).data)
    assert "Alder Valley Ski Club, 1 pair" in text
    assert "1 pair is left out" in text
    assert "Tundraline" not in text
    for who in (cast.dora, cast.alice):
        assert visitor.as_(who).raw("GET", f"{page}/history.pdf").status_code == 404


def test_an_archive_is_for_the_clubs_managers_and_asks_again_who_they_are(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    path = clubhouse.url(f"/orders/{clubhouse.ordered()}/histories.zip")
    for who in (cast.dora, cast.alice, cast.mia):
        assert visitor.as_(who).raw("GET", path).status_code == 404
    cora = visitor.as_(cast.cora)
    with database.write.begin() as session:
        long_ago = make.NOW - timedelta(days=1)
        session.execute(update(LoginSession).values(created_at=long_ago, fresh_at=None))
    answer = cora.raw("GET", path)
    assert answer.status_code == 303
    assert "/again" in answer.headers["Location"]


def test_the_histories_of_the_whole_club_come_as_one_paper_for_its_managers(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    clubhouse.pair(maker="Tundraline", model="Sprint", junior_id=None)
    clubhouse.ground(cast.club_pair_id, 1200)
    with database.write.begin() as session:
        session.get_one(Junior, cast.junior_id).birth_year = 2017
    path = clubhouse.url("/histories.pdf")
    cora = visitor.as_(cast.cora)
    assert path in cora.get(clubhouse.url()).links
    answer = cora.raw("GET", path)
    text = text_of(answer.data)
    assert "Alder Valley Ski Club, 2 pairs" in text
    assert "Junia: Fennmark Lom 187 cm" in text
    assert "2017" not in text
    with database.read() as session:
        assert session.scalars(select(AuditEntry)).all()[-1].about == "histories.pdf, Alder Valley Ski Club"
    for who in (cast.dora, cast.alice, cast.mia):
        assert visitor.as_(who).raw("GET", path).status_code == 404
    with database.write.begin() as session:
        long_ago = make.NOW - timedelta(days=1)
        session.execute(update(LoginSession).values(created_at=long_ago, fresh_at=None))
    assert "/again" in cora.raw("GET", path).headers["Location"]
