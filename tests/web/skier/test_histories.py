"""The papers of a skier's pairs: what they say beside the grinds, and all of them on one."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from io import BytesIO

from pypdf import PdfReader
from sqlalchemy import select, update

from portal.db.audit import AuditEntry
from portal.db.engine import Database
from portal.db.grinds import Grind
from portal.db.pairs import SnowAnswers
from portal.db.people import LoginSession
from portal.domain.answers import parse_answers
from portal.domain.questions import stored_from
from portal.domain.tags import tag_of
from portal.services import grinds
from tests import make
from tests.cast import Cast
from tests.documents.reading import square_codes, text_of
from tests.page import Visitor


def grind_it(database: Database, pair_id: int, day: date, before: int | None, after: int | None) -> None:
    with database.write.begin() as session:
        facts = grinds.GrindFacts(
            structure_id=make.structure(session).id,
            ground_on=day,
            technician="Tina",
            before_um=(before, before, before),
            after_um=(after, after, after),
        )
        grinds.add(session, pair_id, facts, make.NOW)


def test_the_histories_of_all_pairs_come_as_one_paper_to_whoever_shows_again_who_they_are(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    grind_it(database, cast.pair_id, date(2026, 11, 2), 1000, 970)
    with database.write.begin() as session:
        owner = make.find_people.one(session, cast.alice.person_id)
        make.pair(session, owner, maker="Tundraline", model="Sprint")
    alice = visitor.as_(cast.alice)
    assert "/my/pairs/histories.pdf" in alice.get("/my/pairs").links
    answer = alice.raw("GET", "/my/pairs/histories.pdf")
    assert answer.mimetype == "application/pdf"
    with database.read() as session:
        # Whose they are stands beside the act already; an erased name must not stay in its words.
        assert session.scalars(select(AuditEntry)).all()[-1].about == "histories.pdf"
    first = PdfReader(BytesIO(answer.data)).pages[0].extract_text()
    assert "Tundraline Sprint" in first
    assert "Fennmark Skarv" in first
    (address,) = square_codes(answer.data)
    page = visitor.get("/" + address.split("/", 3)[3])
    assert "for 2 pairs" in page.text
    assert tag_of(cast.pair_id)[:3] in page.text
    assert "Alice" not in page.html
    # What the paper says of each pair, so that a changed one is seen.
    listed = [page.words(row) for row in page.all("tr")]
    assert any("1 2 Nov 2026" in row and "0.97 mm" in row for row in listed)
    assert any("0 Not ground here Not known Not measured" in row for row in listed)
    grind_it(database, cast.pair_id, datetime.now(UTC).date() + timedelta(days=2), 960, None)
    assert "A grind was recorded on" in visitor.get("/" + address.split("/", 3)[3]).text
    with database.write.begin() as session:
        session.execute(update(Grind).values(after_tip_um=500, after_middle_um=500))
    page = visitor.get("/" + address.split("/", 3)[3])
    assert "is not what it was for one of these pairs" in page.text
    assert "0.50 mm" not in page.text
    with database.write.begin() as session:
        long_ago = make.NOW - timedelta(days=1)
        session.execute(update(LoginSession).values(created_at=long_ago, fresh_at=None))
    answer = alice.raw("GET", "/my/pairs/histories.pdf")
    assert answer.status_code == 303
    assert "/again" in answer.headers["Location"]


def test_the_paper_says_what_was_answered_before_the_structure_was_chosen_but_not_where(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    grind_it(database, cast.pair_id, date(2026, 11, 2), 1000, 970)
    answers = parse_answers({"air_c": {"cold": -12, "ordinary": -5, "mild": 1}, "place": "Secret Valley"})

    def answered(day: date, person_id: int) -> None:
        with database.write.begin() as session:
            at = datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
            session.add(
                SnowAnswers(
                    token=f"{day}-{person_id}",
                    person_id=person_id,
                    pair_id=cast.pair_id,
                    stored=stored_from(answers),
                    finished_at=at,
                    created_at=at,
                    updated_at=at,
                )
            )

    def text() -> str:
        return text_of(visitor.as_(cast.alice).raw("GET", f"/my/pairs/{cast.pair_id}/history.pdf").data)

    # Answers of who had the pair before, and of later, say nothing of why this structure was chosen.
    answered(date(2026, 10, 2), cast.carl.person_id)
    answered(date(2026, 11, 20), cast.alice.person_id)
    assert "The snow it was chosen for" not in text()
    answered(date(2026, 10, 1), cast.alice.person_id)
    said = text()
    assert re.search(r"suits \d+ of 100 of your days, by the answers of Thu 1 October 2026", said)
    assert "Secret" not in said
