"""People choose how they are called: whatever that is, erasing it takes nothing away from anybody else."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.arrivals import CheckIn as CheckInRow
from portal.db.bookings import Booking
from portal.db.clubs import Club, ClubManager
from portal.db.diamonds import Diamond
from portal.db.grinds import Grind
from portal.db.imports import ListImport
from portal.db.money import Payment
from portal.db.people import Person
from portal.domain.arrivals import CheckIn, Condition, Side
from portal.domain.audit import Act
from portal.domain.bookings import Stage, Status
from portal.domain.importing.readings import Content, Subject
from portal.domain.payments import Method
from portal.domain.personal import ERASED
from portal.queries import erasing as find_erasing
from portal.queries import personal as find_personal
from portal.services import (
    audit,
    billing,
    booking_notes,
    bookings,
    erasing,
    grinds,
    imports,
    invoices,
    old_invoices,
    payments,
)
from portal.services.invoice_content import Buyer
from tests import make
from tests.cast import Cast
from tests.make import NOW, TODAY
from tests.services import test_invoices
from tests.services.test_erasing import LATER


def renamed(session: Session, cast: Cast, name: str, phone: str = "") -> Person:
    """Alice, who is called like that by now."""
    alice = session.get_one(Person, cast.alice.person_id)
    alice.name, alice.phone = name, phone
    session.flush()
    return alice


def erase(session: Session, person: Person) -> None:
    assert erasing.erase(session, make.actor(session, person), person.id, NOW)
    session.expire_all()


def over(session: Session, made: Booking) -> None:
    """The booking came to its end, however."""
    made.status, made.is_settled_elsewhere = Status.COMPLETED, True
    for item in made.items:
        item.stage = Stage.HANDED_BACK
    session.flush()


def rows_of(session: Session, tables: tuple[str, ...]) -> dict[str, list[Any]]:
    session.flush()
    found = {}
    for name in tables:
        table = find_personal.table_of(name)
        found[name] = [tuple(row) for row in session.execute(select(table).order_by(table.c.id))]
    return found


def paid(session: Session, cast: Cast, who: Person) -> Booking:
    """A booking that is agreed to and paid."""
    made = make.booking(session, who, note="Base flattening, please")
    bookings.confirm(session, cast.mia, made.id, NOW)
    payments.take(
        session,
        cast.tina,
        made.id,
        amount=made.total,
        method=Method.CARD,
        remark="",
        key=f"key-{made.id}",
        now=NOW,
    )
    session.flush()
    return made


@pytest.mark.parametrize(
    "name", ["Base flattening", "Grind", "24", "grind", "49.00", "Difference to the agreed price"]
)
def test_no_name_breaks_a_bill(session: Session, cast: Cast, name: str) -> None:
    me = renamed(session, cast, name)
    test_invoices.taxed(session)
    mine = paid(session, cast, me)
    carls = paid(session, cast, session.get_one(Person, cast.carl.person_id))
    before = [billing.bill_of(row) for row in (mine, carls)]
    kept = [row.statement for row in session.scalars(select(Payment).order_by(Payment.id))]
    over(session, mine)
    erase(session, me)
    assert [billing.bill_of(session.get_one(Booking, row.id)) for row in (mine, carls)] == before
    assert [row.statement for row in session.scalars(select(Payment).order_by(Payment.id))] == kept


@pytest.mark.parametrize("name", ["Main Street 12", "Please ask Fennmark", "Alder Valley Ski Club", "of the"])
def test_a_name_takes_no_words_from_others(session: Session, cast: Cast, name: str) -> None:
    me = renamed(session, cast, name, phone="unknown")
    club = session.get_one(Club, cast.club_id)
    club.address = club.invoice_address = "Main Street 12\n0001 Larchby"
    club.buyer_reference = name
    carl = session.get_one(Person, cast.carl.person_id)
    carls = make.booking(session, carl, note=f"Out of the box, {name}, unknown")
    booking_notes.write(session, cast.carl, carls.id, f"{name}: of the unknown", NOW)
    session.add(
        Diamond(
            mark="D9",
            nominal_width_mm=1.0,
            nominal_tip_mm=0.2,
            notes="Out of the box, unknown",
            created_at=NOW,
        )
    )
    audit.note(session, cast.mia, Act.CLUB_CHANGED, NOW, "Alder Valley Ski Club", "Main Street 12")
    tables = ("club", "booking", "booking_note", "diamond", "audit_entry", "pair", "structure", "price")
    before = rows_of(session, tables)
    erase(session, me)
    after = rows_of(session, tables)
    # Of Alice herself only her pair is nobody's now, and that she is gone is written down.
    assert after["audit_entry"][: len(before["audit_entry"])] == before["audit_entry"]
    for table in ("club", "booking", "booking_note", "diamond", "structure", "price"):
        assert after[table] == before[table], table


def test_a_name_beside_what_was_done_is_theirs_only_where_they_did_it(session: Session, cast: Cast) -> None:
    """Whoever never worked here did nothing at the bench, whatever they are called."""
    tina = session.get_one(Person, cast.tina.person_id)
    grinds.add(
        session, cast.club_pair_id, grinds.GrindFacts(make.structure(session).id, TODAY, "Tina Fell"), NOW
    )
    session.flush()
    me = renamed(session, cast, "Tina Fell")
    erase(session, me)
    assert session.scalars(select(Grind.technician)).all() == ["Tina Fell"]
    tina.name = "Tina Fell"
    tina.staff_role = None
    assert tina.worked_here
    erase(session, tina)
    assert session.scalars(select(Grind.technician)).all() == [ERASED]


def test_who_sent_a_clubs_list_is_named_by_their_club(session: Session, cast: Cast) -> None:
    me = renamed(session, cast, "Alwine Pellmoor")
    session.add(ClubManager(club_id=cast.club_id, person_id=me.id, since=NOW))
    session.flush()
    rows = Content.of_text(b"first name,birth year\nJunia,2012\n")
    imports.stage(session, make.actor(session, me), Subject.ROSTER, "a.csv", rows, NOW, cast.club_id)
    imports.stage(session, cast.dora, Subject.ROSTER, "b.csv", rows, NOW, cast.other_club_id)
    for row in session.scalars(select(ListImport)):
        row.sent_by = me.name
    erase(session, me)
    assert sorted(session.scalars(select(ListImport.sent_by))) == ["Alwine Pellmoor", ERASED]


def test_of_what_was_found_on_a_pair_only_the_words_are_struck_out(session: Session, cast: Cast) -> None:
    me = renamed(session, cast, "Left")
    made = make.booking(session, me)
    bookings.confirm(session, cast.mia, made.id, NOW)
    found = Condition("scratch", Side.LEFT, words="Left says: by the tip")
    grinds.check_in(session, cast.tina, made.items[0].id, NOW, CheckIn(conditions=(found,)))
    over(session, made)
    erase(session, me)
    row = session.scalars(select(CheckInRow)).one()
    assert [Condition.from_json(one) for one in row.conditions] == [
        Condition("scratch", Side.LEFT, words="… says: by the tip")
    ]


def test_an_old_invoice_keeps_its_lines_whatever_its_buyer_was_called(session: Session, cast: Cast) -> None:
    me = renamed(session, cast, "Grind")
    test_invoices.taxed(session)
    test_invoices.issuer(session)
    made = paid(session, cast, me)
    issued = invoices.issue(
        session,
        cast.mia,
        made.id,
        Buyer("Grind", "Main Street 12", "NO"),
        key="k",
        now=NOW,
        printed=test_invoices.printed,
    )
    session.flush()
    lines, amounts = list(issued.lines), invoices.content_of(issued).amounts
    over(session, made)
    erase(session, me)
    assert old_invoices.forget_names(session, LATER) == 1
    paper = invoices.content_of(issued)
    assert (paper.buyer.name, paper.buyer.lines) == (ERASED, ())
    assert (issued.lines, paper.amounts) == (lines, amounts)


def test_a_name_is_found_however_its_letters_are_cased(session: Session, cast: Cast) -> None:
    """A database that lowers plain letters only finds them too."""
    me = renamed(session, cast, "Åse Østby", phone="0555 77 88")
    words = (
        "ÅSE ØSTBY and Åse\nØstby called from 0555 77 88, alice@example.test, not marie-alice@example.test"
    )
    session.add(Diamond(mark="D9", nominal_width_mm=1.0, nominal_tip_mm=0.2, notes=words, created_at=NOW))
    erase(session, me)
    kept = session.scalars(select(Diamond.notes).where(Diamond.mark == "D9")).one()
    assert kept == "… and … called from …, …, not marie-alice@example.test"
    other = make.person(session, name="ÅSE ØSTBY")
    assert find_erasing.shares_name(session, make.person(session, name="Åse Østby"), "Åse Østby")
    assert not find_erasing.shares_name(session, other, "Bse Cstby")
