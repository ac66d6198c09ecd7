"""What skiers found beside what the workshop states: who reads it, what stands behind it, and what is set aside."""

from __future__ import annotations

from io import BytesIO

import openpyxl
import pytest
from sqlalchemy import select

from portal.db.audit import AuditEntry
from portal.db.catalogue import Structure
from portal.db.engine import Database
from portal.db.glide_notes import GlideNote
from portal.domain.answers import Humidity
from portal.domain.audit import Act
from portal.domain.conditions import Moisture, Outcome
from portal.domain.snow import SnowKind
from portal.domain.timed_runs import TimedRuns
from tests import make
from tests.cast import Cast
from tests.page import Visitor

# Stated to suit dry new snow fully, and one that is stated not to suit it.
GOOD, BAD = "twinflower", "butterwort"
BEHIND = f"/shop/found-on-snow/{GOOD}/new/dry"


def wrote(database: Database, skiers: int, outcome: Outcome = Outcome.SLOWER) -> list[int]:
    """So many skiers each held the good structure against the bad one; the second of them timed it."""
    with database.write.begin() as session:
        good, bad = (
            session.scalars(select(Structure).where(Structure.key == key)).one() for key in (GOOD, BAD)
        )
        made = []
        for number in range(skiers):
            who = make.person(session, name=f"Secret {number}")
            pairs = [make.pair(session, who) for _ in range(2)]
            runs = TimedRuns((20.6, 20.7, 20.8), (20.0, 20.1, 20.2), in_turn=True)
            made.append(
                GlideNote(
                    person_id=who.id,
                    pair_id=pairs[0].id,
                    structure_id=good.id,
                    other_pair_id=pairs[1].id,
                    other_structure_id=bad.id,
                    skied_on=make.TODAY,
                    air_c=-9.0,
                    humidity=Humidity.UNSURE,
                    kind=SnowKind.NEW,
                    moisture=Moisture.DRY,
                    outcome=outcome,
                    timed=runs.to_json() if number == 1 else None,
                    remarks="My own business",
                    created_at=make.NOW,
                )
            )
        session.add_all(made)
        session.flush()
        return [note.id for note in made]


@pytest.fixture
def tina(visitor: Visitor, cast: Cast) -> Visitor:
    return visitor.as_(cast.tina)


def test_what_the_notes_speak_against_is_said_and_leads_to_them(
    tina: Visitor, visitor: Visitor, cast: Cast, database: Database
) -> None:
    assert "It takes notes of at least three skiers" in tina.get("/shop/found-on-snow").text
    wrote(database, 10)
    page = tina.get("/shop/found-on-snow")
    assert "Twinflower: New snow, dry Runs worse than stated" in page.text
    assert "Butterwort: New snow, dry Runs better than stated" in page.text
    one = tina.get(f"/shop/found-on-snow/{GOOD}")
    assert "Runs worse than stated" in one.text
    assert BEHIND in one.links
    # Only whoever runs the shop can change the statement.
    assert not [link for link in one.links if link.endswith("/change")]
    manager = visitor.as_(cast.mia).get(f"/shop/found-on-snow/{GOOD}")
    assert [link for link in manager.links if f"/structures/{GOOD}/" in link]
    assert f"/shop/found-on-snow/{GOOD}" in tina.get(f"/shop/catalogue/structures/{GOOD}").links


def test_few_notes_claim_nothing(tina: Visitor, database: Database) -> None:
    wrote(database, 4)
    assert "worse than stated" not in tina.get("/shop/found-on-snow").text
    assert "Too few to tell" in tina.get(f"/shop/found-on-snow/{GOOD}").text


def test_notes_are_set_aside_with_a_reason_and_taken_back_without_a_name(
    tina: Visitor, database: Database
) -> None:
    ids = wrote(database, 6)
    page = tina.get(BEHIND)
    for words in ("Skier 1", "Skier 6", "Slower, beside Butterwort", "Speed −2.9 %", "By feel"):
        assert words in page.text, words
    assert "Secret" not in page.html
    assert "My own business" not in page.html
    asking = tina.get(f"/shop/glide-notes/{ids[0]}/set-aside")
    assert tina.send(asking, words=" ").errors == [
        "Write why the note does not count: whoever wrote it reads it"
    ]
    done = tina.send(asking, words="Other wax on one pair.")
    assert "counts no longer" in done.text
    assert "Other wax on one pair." in done.text
    refused = tina.send(asking, words="Twice at once.", status=409)
    assert "Twice at once." in refused.text
    assert "does not count already" in refused.text
    again = tina.send(tina.get(BEHIND), f"/glide-notes/{ids[0]}/count")
    assert "The note counts again" in again.text
    assert "Other wax" not in again.text
    with database.read() as session:
        assert list(session.scalars(select(AuditEntry.act).order_by(AuditEntry.id))) == [
            Act.NOTE_SET_ASIDE,
            Act.NOTE_COUNTED,
        ]
        assert session.get_one(GlideNote, ids[0]).set_aside is None


def test_the_report_holds_it_against_the_statement_in_every_file(tina: Visitor, database: Database) -> None:
    wrote(database, 10)
    page = tina.get("/shop/reports/evidence")
    link = next(one for one in page.links if "snow.csv" in one)
    head, *rows = tina.raw("GET", link).get_data().decode("utf-8-sig").splitlines()
    assert "Stated, per cent" in head
    assert any(row.startswith("Twinflower,") and row.endswith("Runs worse than stated") for row in rows)
    book = openpyxl.load_workbook(BytesIO(tina.raw("GET", link.replace(".csv", ".xlsx")).get_data()))
    assert book.active.max_column == 14


@pytest.mark.parametrize("who", ["alice", "cora"])
def test_it_is_the_workshop_s_alone(visitor: Visitor, cast: Cast, database: Database, who: str) -> None:
    (note_id, *_rest) = wrote(database, 1)
    stranger = visitor.as_(getattr(cast, who))
    for path in ("/shop/found-on-snow", f"/shop/found-on-snow/{GOOD}", BEHIND):
        stranger.get(path, 404)
    stranger.get(f"/shop/glide-notes/{note_id}/set-aside", 404)
    stranger.post(f"/shop/glide-notes/{note_id}/set-aside", {"words": "No."}, 404)
    stranger.post(f"/shop/glide-notes/{note_id}/count", status=404)
    with database.read() as session:
        assert session.get_one(GlideNote, note_id).set_aside is None


def test_what_is_not_there_is_not_found(tina: Visitor, database: Database) -> None:
    for path in (
        "/shop/found-on-snow/granite",
        f"/shop/found-on-snow/{GOOD}/sand/dry",
        f"/shop/found-on-snow/{GOOD}/new/soaked",
        "/shop/found-on-snow/granite/new/dry",
        "/shop/glide-notes/4711/set-aside",
    ):
        tina.get(path, 404)
    assert "None." in tina.get(BEHIND).text
