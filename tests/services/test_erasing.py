"""Erasing an account: the whole database is searched afterwards for somebody who did everything."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.audit import AuditEntry
from portal.db.bookings import Booking
from portal.db.clubs import ClubManager
from portal.db.engine import Database
from portal.db.grinds import Grind
from portal.db.invoices import IssuedInvoice
from portal.db.outbox import OutboxLetter
from portal.db.pairs import Pair, SnowAnswers
from portal.db.people import FailedTry, Person
from portal.domain.access import Actor
from portal.domain.audit import Act
from portal.domain.errors import NotFound, NotNow
from portal.domain.handovers import Holder, Way
from portal.domain.leaving import Way as Obstructed
from portal.domain.personal import ERASED, HELD
from portal.queries import erasing as find_erasing
from portal.queries import personal as find_personal
from portal.services import (
    accounts,
    bookings,
    claims,
    disputes,
    erasing,
    handovers,
    invoices,
    letters,
    old_invoices,
    snow_answers,
    throttle,
)
from portal.services.links import Link, Links, Purpose
from tests import make
from tests.anywhere import anywhere
from tests.cast import Cast
from tests.make import NOW
from tests.services.everything import DESK, EMAIL, FORMER, FORMER_PHONE, NAME, PHONE, SAID, Everything
from tests.services.test_parallel_runs import at_once

# Kept as long as the law asks.
LAWFUL = {"invoice.content"}
LATER = datetime(2037, 1, 1, 12, tzinfo=UTC)


@pytest.fixture
def hers(database: Database, cast: Cast) -> Everything:
    with database.write.begin() as session:
        made = Everything(session, cast)
        made.id, made.actor = made.person.id, made.who
    return made


def erase(database: Database, actor: Actor, person_id: int) -> bool:
    with database.write.begin() as session:
        return erasing.erase(session, actor, person_id, NOW)


def send(database: Database) -> None:
    """The letters that wait have left the house."""
    with database.write.begin() as session:
        for number in session.scalars(select(OutboxLetter.id)).all():
            letters.mark_sent(session, number, NOW)


def test_she_has_a_row_in_every_table_that_has_rows_of_people(database: Database, hers: Everything) -> None:
    with database.read() as session:
        missing = [
            name
            for name, held in HELD.items()
            if held.whose is not None and not find_personal.has_row(session, name, hers.id, EMAIL)
        ]
    assert missing == []
    for text in (NAME, EMAIL, PHONE, FORMER, FORMER_PHONE, *SAID):
        assert anywhere(database, text), text


def test_nothing_of_hers_is_found_afterwards(database: Database, cast: Cast, hers: Everything) -> None:
    assert erase(database, hers.actor, hers.id)
    # The letter that says so still waits, and has her address alone.
    assert set(anywhere(database, EMAIL)) == {"outbox_letter.recipient"}
    send(database)
    for text in (EMAIL, PHONE, *NAME.split(), *FORMER.split(), "zephyr", "+47 555"):
        assert set(anywhere(database, text)) <= LAWFUL, text
    assert anywhere(database, DESK) == []
    # What was seen of a pair when it was Carl's is Carl's.
    assert anywhere(database, "Carl's photo") == ["photo.data"]
    with database.write.begin() as session:
        # What is the workshop's stays.
        pair = session.get_one(Pair, hers.pair_id)
        assert (pair.owner_id, pair.archived_at) == (None, NOW)
        assert [row.technician for row in session.scalars(select(Grind).order_by(Grind.id))].count(
            ERASED
        ) >= 3
        booking = session.get_one(Booking, hers.booking_id)
        assert session.get_one(Person, booking.person_id).is_erased
        assert session.scalars(select(IssuedInvoice)).one().content["buyer"]["name"] == NAME
        last = session.scalars(select(AuditEntry).where(AuditEntry.act == Act.ACCOUNT_ERASED)).one()
        assert (last.name, last.person_id) == (ERASED, None)
        # Twice is once.
        assert not erasing.erase(session, hers.actor, hers.id, NOW)


def test_names_on_invoices_go_when_the_law_asks_for_them_no_more(
    database: Database, hers: Everything
) -> None:
    erase(database, hers.actor, hers.id)
    send(database)
    for now, is_kept in ((datetime(2036, 12, 31, 12, tzinfo=UTC), True), (LATER, False)):
        with database.write.begin() as session:
            old_invoices.forget_names(session, now)
        assert (anywhere(database, NAME) != []) is is_kept
        assert (anywhere(database, "zephyrplace") != []) is is_kept
    with database.read() as session:
        paper = invoices.content_of(session.scalars(select(IssuedInvoice)).one())
    assert (paper.buyer.name, paper.buyer.lines) == (ERASED, ())


def test_somebody_of_the_same_name_keeps_theirs(database: Database, cast: Cast, hers: Everything) -> None:
    with database.write.begin() as session:
        other = make.person(session, name=NAME, email="other@example.test")
        made = make.booking(session, other, note=f"I am {NAME}")
        number = made.id
    erase(database, hers.actor, hers.id)
    send(database)
    with database.read() as session:
        assert session.get_one(Booking, number).note == f"I am {NAME}"
        assert session.scalars(select(Person.name).where(Person.email == "other@example.test")).one() == NAME
        # A name without a number beside it may be the other's.
        assert NAME in session.scalars(select(Grind.technician)).all()
    for text in (EMAIL, PHONE, *(word for word in SAID if word != "zephyrplace")):
        assert anywhere(database, text) == [], text


def test_what_is_in_the_way_is_named_and_nothing_is_erased(session: Session, cast: Cast) -> None:
    alice = session.get_one(Person, cast.alice.person_id)
    made = make.booking(session, alice)
    told = [str(one.words) for one in erasing.in_the_way(session, alice)]
    assert told == [
        f"Booking {made.reference} is open. Cancel it, or wait until your skis are back with you."
    ]
    with pytest.raises(NotNow):
        erasing.erase(session, cast.alice, alice.id, NOW)
    pair = session.get_one(Pair, cast.pair_id)
    pair.frozen_at = NOW
    assert "clearing up whose the pair" in str(erasing.in_the_way(session, alice)[-1].words)
    pair.frozen_at = None
    bookings.cancel(session, cast.alice, made.id, NOW)
    for who, words in (
        (cast.cora, "Nobody but you manages Alder Valley Ski Club"),
        (cast.tina, "You work here"),
    ):
        person = session.get_one(Person, who.person_id)
        assert any(words in str(one.words) for one in erasing.in_the_way(session, person, to_write=True))
    assert erasing.erase(session, cast.alice, alice.id, NOW)


def test_only_a_shop_manager_erases_others_and_only_who_cannot_sign_in(session: Session, cast: Cast) -> None:
    walked_in = make.person(session, email=None, name="Walburga Inmoor")
    for who in (cast.alice, cast.cora, cast.tina):
        with pytest.raises(NotFound):
            erasing.erase(session, who, walked_in.id, NOW)
    session.get_one(Person, cast.alice.person_id).password_hash = "x"
    with pytest.raises(NotNow):
        erasing.erase(session, cast.mia, cast.alice.person_id, NOW)
    assert erasing.erase(session, cast.mia, walked_in.id, NOW)
    last = session.scalars(select(AuditEntry).where(AuditEntry.act == Act.ACCOUNT_ERASED)).one()
    assert (last.name, last.about, last.words) == (cast.mia.name, "", "")
    # Whoever stands for those who are gone is nobody that can be erased.
    nobody = find_erasing.nobody(session)
    assert nobody is None or not erasing.erase(session, cast.mia, nobody.id, NOW)


def test_the_file_of_the_database_has_none_of_it_either(database: Database, hers: Everything) -> None:
    path = database.engine.url.database
    if database.engine.dialect.name != "sqlite":
        # A server keeps its files to itself; its own way is VACUUM.
        return
    assert _in_file(database, path, EMAIL)
    erase(database, hers.actor, hers.id)
    send(database)
    for text in (EMAIL, PHONE, *(word for word in SAID if word != "zephyrplace")):
        assert not _in_file(database, path, text), text


def _in_file(database: Database, path: str, text: str) -> bool:
    with database.engine.connect() as connection:
        connection.exec_driver_sql("COMMIT")
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    database.close()
    with open(path, "rb") as file:
        return text.encode() in file.read()


def test_two_tabs_at_once_erase_once(database: Database, hers: Everything) -> None:
    done: list[bool] = []

    def erase_it(session: Session, _number: int) -> None:
        done.append(erasing.erase(session, hers.actor, hers.id, NOW))

    assert at_once(database, erase_it) == {"done": 6}
    assert done.count(True) == 1
    with database.read() as session:
        assert len(session.scalars(select(Person).where(Person.is_erased)).all()) == 1
        assert len(session.scalars(select(AuditEntry).where(AuditEntry.act == Act.ACCOUNT_ERASED)).all()) == 1


def test_a_name_of_one_word_is_struck_out_of_their_orders_alone(session: Session, cast: Cast) -> None:
    """It is too common a word to be struck out everywhere."""
    alice = session.get_one(Person, cast.alice.person_id)
    session.add(ClubManager(club_id=cast.club_id, person_id=alice.id, since=NOW))
    session.flush()
    wanted = [make.wanted(session, make.pair(session, club_id=cast.club_id))]
    order = make.booking(
        session, alice, wanted=wanted, pair=object(), club_id=cast.club_id, note="Alice and malice"
    )
    carls = make.booking(session, session.get_one(Person, cast.carl.person_id), note="Alice skis too")
    assert erasing.erase(session, cast.alice, alice.id, NOW)
    assert session.get_one(Booking, order.id).note == "… and malice"
    assert session.get_one(Booking, carls.id).note == "Alice skis too"
    for letter in session.scalars(select(OutboxLetter).where(OutboxLetter.booking_id == order.id)):
        assert "Alice" not in letter.body


def test_answers_of_a_club_stay_when_whoever_gave_them_goes(session: Session, cast: Cast) -> None:
    alice = session.get_one(Person, cast.alice.person_id)
    session.add(ClubManager(club_id=cast.club_id, person_id=alice.id, since=NOW))
    session.flush()
    who = make.actor(session, alice)
    for token, club_id in (("of-the-club", cast.club_id), ("hers", None)):
        snow_answers.begin(session, who, token, NOW, club_id=club_id)
    session.flush()
    theirs = find_personal.is_theirs("snow_answers", alice.id, alice.email)
    assert session.scalars(select(SnowAnswers.token).where(theirs)).all() == ["hers"]
    assert erasing.erase(session, who, alice.id, NOW)
    (left,) = session.scalars(select(SnowAnswers))
    assert (left.token, left.person_id, left.club_id) == ("of-the-club", None, cast.club_id)
    assert snow_answers.theirs(session, cast.cora, "of-the-club", [])


def test_a_pair_that_may_come_back_is_in_the_way(session: Session, cast: Cast) -> None:
    alice = session.get_one(Person, cast.alice.person_id)
    pair = session.get_one(Pair, cast.pair_id)
    title = pair.title
    handovers.pass_to(session, pair, Holder(cast.carl.person_id, None), Way.HANDED_OVER, NOW)
    session.flush()
    assert erasing.in_the_way(session, alice) == []
    disputes.freeze(session, cast.tina, pair.id, "Alice says it was stolen", NOW)
    (found,) = erasing.in_the_way(session, alice)
    assert (found.way, found.number) == (Obstructed.GIVEN, pair.id)
    assert title in str(found.words)
    assert "Wait until that is settled, or ask the workshop." in str(found.words)
    with pytest.raises(NotNow):
        erasing.erase(session, cast.alice, alice.id, NOW)
    # Carl, who has it, is told of his own pair, and whoever had it long before is not held up.
    carl = session.get_one(Person, cast.carl.person_id)
    assert [one.way for one in erasing.in_the_way(session, carl)] == [Obstructed.PAIR]
    disputes.clear(session, cast.mia, pair.id, NOW)
    assert erasing.erase(session, cast.alice, alice.id, NOW)


def test_whoever_gets_the_number_of_somebody_erased_inherits_nothing(session: Session, cast: Cast) -> None:
    """SQLite gives the highest number again; a link and counted tries of the one before are not the next one's."""
    links = Links(["a key that is long enough for this test"])
    gone = make.person(session, name="Walburga Inmoor", email="wal@example.test", confirmed_at=None)
    number, until = gone.id, NOW + timedelta(hours=2)
    token = links.token(Purpose.RESET, Link(number, accounts._mark(gone)), until)
    assert accounts.to_reset(session, links, token, NOW) is gone
    claims.miss(session, make.actor(session, gone), NOW)
    throttle.count(session, claims.TRIES, f"1{number}", NOW)
    assert erasing.erase(session, cast.mia, number, NOW)
    session.add(Person(id=number, name="Next", language="en", created_at=NOW + timedelta(seconds=1)))
    session.flush()
    assert accounts.to_reset(session, links, token, NOW) is None
    assert session.scalars(select(FailedTry.bucket)).all() == [claims.TRIES.bucket(f"1{number}")]
