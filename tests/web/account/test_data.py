"""Taking everything along and erasing oneself: what the archive holds, whose it never is, and the way through the pages."""

from __future__ import annotations

import json
import zipfile
from datetime import timedelta
from io import BytesIO

import jsonschema
import pytest
from sqlalchemy import select, update

from portal.db.audit import AuditEntry
from portal.db.bookings import Booking, BookingItem
from portal.db.engine import Database
from portal.db.pairs import Pair
from portal.db.people import LoginSession, Person
from portal.domain.access import Actor
from portal.domain.audit import Act
from portal.domain.bookings import Stage, Status
from portal.domain.personal import ERASED
from portal.queries import people as find_people
from tests import make
from tests.anywhere import anywhere
from tests.cast import Cast
from tests.documents.reading import text_of
from tests.page import Visitor
from tests.services.everything import EMAIL, FORMER, FORMER_PHONE, NAME, SAID, Everything

ARCHIVE = "/account/everything-about-me.zip"


@pytest.fixture
def hers(database: Database, cast: Cast) -> Actor:
    with database.write.begin() as session:
        return Everything(session, cast).who


def opened(visitor: Visitor) -> dict[str, bytes]:
    answer = visitor.raw("GET", ARCHIVE)
    assert answer.status_code == 200
    assert answer.headers["Cache-Control"] == "no-store"
    with zipfile.ZipFile(BytesIO(answer.data)) as archive:
        assert archive.testzip() is None
        return {name: archive.read(name) for name in archive.namelist()}


def words_of(files: dict[str, bytes]) -> str:
    """All that can be read in an archive."""
    return "\n".join(
        text_of(data)
        if name.endswith(".pdf") and data.startswith(b"%PDF")
        else data.decode("utf-8", "replace")
        for name, data in files.items()
    )


def test_the_archive_has_all_of_hers_and_nothing_of_others(
    visitor: Visitor, cast: Cast, database: Database, hers: Actor
) -> None:
    files = opened(visitor.as_(hers))
    made, schema = json.loads(files["me.json"]), json.loads(files["me.schema.json"])
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(made, schema, format_checker=jsonschema.FormatChecker())
    # No part is empty: she did everything.
    assert [part for part, rows in made["records"].items() if not rows] == []
    told = words_of(files)
    for text in (NAME, EMAIL, FORMER, FORMER_PHONE, *SAID):
        assert text in told, text
    for other in ("Tina", "Mia", "Carl", "Cora", "Junia", "Alice", "@example.test"):
        assert other not in told, other
    assert {name.split("/")[0] for name in files if "/" in name} == {
        "pairs",
        "photos",
        "receipts",
        "invoices",
        "letters",
    }
    papers = [name for name in files if name.startswith("invoices/")]
    assert [name.rpartition(".")[2] for name in papers] == ["pdf", "xml"]
    listed = {row["file"] for part in ("photo", "outbox_enclosure") for row in made["records"][part]}
    assert listed <= set(files)
    # What opens something stays here.
    assert not {"secret", "password_hash", "public_key", "mark"} & set(
        json.dumps(made["records"]["passkey"]).split('"')
    )
    with database.read() as session:
        acts = session.scalars(select(AuditEntry.act).where(AuditEntry.person_id == hers.person_id)).all()
    assert acts.count(Act.TAKEN_ALONG) == 1


def test_the_paper_of_a_pair_in_dispute_says_not_whose_it_is_and_has_no_seal(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    def paper() -> str:
        files = opened(visitor.as_(cast.alice))
        (pdf,) = [data for name, data in files.items() if name.startswith("pairs/")]
        return text_of(pdf)

    assert "Owner" in (before := paper())
    assert "Check code" in before
    with database.write.begin() as session:
        session.get_one(Pair, cast.pair_id).frozen_at = make.NOW
    assert "Owner" not in (after := paper())
    assert "Check code" not in after


def test_every_part_is_told_and_everybody_gets_their_own(visitor: Visitor, cast: Cast, hers: Actor) -> None:
    for who in (cast.cora, cast.mia):
        told = words_of(opened(visitor.as_(who)))
        for other in (NAME, EMAIL, "Junia", "zephyr"):
            assert other not in told, (who.name, other)
    page = visitor.as_(hers).get("/account/data/format")
    for words in ("before_tip_um", "snow_answers", "ISO 8601"):
        assert words in page.text


@pytest.mark.parametrize("path", [ARCHIVE, "/account/erase"])
def test_both_ask_again_who_it_is(visitor: Visitor, cast: Cast, database: Database, path: str) -> None:
    assert visitor.raw("GET", path).status_code == 303
    alice = visitor.as_(cast.alice)
    with database.write.begin() as session:
        session.execute(update(LoginSession).values(created_at=make.NOW - timedelta(days=1), fresh_at=None))
    assert alice.raw("GET", path).location.startswith("/account/again")


def finished(database: Database, booking_id: int) -> None:
    """A booking that is over and paid, however it came to that."""
    with database.write.begin() as session:
        row = session.get_one(Booking, booking_id)
        row.status, row.is_settled_elsewhere = Status.COMPLETED, True
        session.execute(
            update(BookingItem).where(BookingItem.booking_id == booking_id).values(stage=Stage.HANDED_BACK)
        )


def test_the_way_out_through_the_pages(visitor: Visitor, cast: Cast, database: Database) -> None:
    with database.write.begin() as session:
        alice = find_people.one(session, cast.alice.person_id)
        alice.name = "Alwine Pellmoor"
        made = make.booking(session, alice, pair=session.get_one(Pair, cast.pair_id), note="zephyrask")
        number, reference = made.id, made.reference
    browser = visitor.as_(cast.alice)
    page = browser.get("/account")
    assert "/account/data" in page.links
    page = browser.get("/account/erase")
    assert f"Booking {reference} is open" in page.text
    assert f"/my/bookings/{number}" in page.links
    # A form from another tab changes nothing either.
    page = browser.post("/account/erase", {"sure": "y"})
    assert f"Booking {reference} is open" in page.text
    finished(database, number)
    page = browser.get("/account/erase")
    page = browser.send(page, "")
    assert page.errors == ["Tick that you are sure"]
    page = browser.send(page, "", sure="y")
    assert "Your account is erased" in page.text
    assert browser.raw("GET", "/account").status_code in {303, 401}
    assert anywhere(database, "Pellmoor") == anywhere(database, "zephyrask") == []
    # The workshop still finds the pair and the booking, and nobody behind them.
    mia = visitor.as_(cast.mia)
    for path in (
        f"/shop/bookings/{number}",
        f"/shop/pair/{cast.pair_id}",
        "/shop/bookings",
        "/shop/audit",
        f"/shop/pair/{cast.pair_id}/tags",
    ):
        page = mia.get(path)
        if path.startswith("/shop/bookings/"):
            assert ERASED in page.text
    assert mia.raw("GET", f"/shop/bookings/{number}/slip.pdf").status_code in {200, 404}
    assert "Nobody is known" in mia.get("/shop/bookings/new?words=erased").text
    # Whoever brings it in takes it on, without the other's past.
    page = mia.get(f"/shop/pair/{cast.pair_id}/take-on")
    assert mia.send(page, email="nobody@example.test").errors
    page = mia.send(page, email="carl@example.test")
    assert "The pair is Carl's from now on" in page.text
    page = visitor.as_(cast.carl).get(f"/my/pairs/{cast.pair_id}")
    assert reference not in page.text


def test_the_shop_manager_erases_who_asks_at_the_counter(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    with database.write.begin() as session:
        known = make.person(session, name="Walburga Inmoor", email=None, phone="0555 7777")
        number = known.id
    path = f"/shop/people/{number}/erase"
    assert visitor.as_(cast.alice).raw("GET", path).status_code == 404
    assert visitor.as_(cast.tina).raw("GET", path).status_code == 403
    mia = visitor.as_(cast.mia)
    assert path in mia.get(f"/shop/bookings/new/{number}").links
    page = mia.send(mia.get(path), "", sure="y")
    assert "Nothing is kept of this person" in page.text
    assert anywhere(database, "Walburga") == anywhere(database, "Inmoor") == []
    with database.read() as session:
        assert session.get(Person, number) is None
    mia.get(path, status=404)
