"""Invoices: numbered without gaps, kept for ever, answered by credit notes, and seen by nobody else."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from portal.db.audit import AuditEntry
from portal.db.bookings import Booking
from portal.db.engine import Database
from portal.db.invoices import IssuedInvoice
from portal.db.outbox import Enclosed, OutboxLetter
from portal.domain.access import Actor
from portal.domain.audit import Act
from portal.domain.bookings import Status
from portal.domain.enclosures import Enclosure
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.invoice_rules import problems_of
from portal.domain.invoices import Category, Invoice, InvoiceKind
from portal.domain.payments import Method
from portal.domain.prices import Item
from portal.queries import bookings as find_bookings
from portal.queries import invoices as find_invoices
from portal.queries import payments as find_payments
from portal.queries import workshop as find_workshop
from portal.services import billing, booking_changes, bookings, invoices, payments, prices
from portal.services.invoice_content import Buyer
from tests import make
from tests.cast import Cast
from tests.make import NOW

ISSUER = {
    "legal_name": "Hollowmere Slipeverksted AS",
    "street": "Mill Lane 4",
    "post_code": "4711",
    "city": "Hollowmere",
    "country": "NO",
    "vat_number": "NO999999999MVA",
    "register_number": "999999999",
    "iban": "NO9386011117947",
    "bic": "HOLMNOKK",
}
BUYER = Buyer("Alder Valley Ski Club", "Alder Valley 12\n0001 Alder Valley", "NO", "888 888 888", "Juniors")


def issuer(session: Session, **more: Any) -> None:
    workshop = find_workshop.the(session)
    for name, value in {**ISSUER, **more}.items():
        setattr(workshop, name, value)
    session.flush()


def taxed(session: Session, percent: str = "25.50") -> None:
    for item in Item:
        prices.write_rate(session, item, Decimal(percent), date(2025, 1, 1))
    session.flush()


def printed(it: Invoice) -> Sequence[Enclosure]:
    return [Enclosure(f"{it.number}.pdf", "application/pdf", it.number.encode())]


def ordered(session: Session, cast: Cast, pairs: int = 6, *, confirmed: bool = True) -> Booking:
    """Cora's order for her club, agreed: six pairs at 49.00 with 5 % off are 279.30."""
    cora = make.find_people.one(session, cast.cora.person_id)
    club_id = next(iter(cast.cora.clubs))
    wanted = [make.wanted(session, make.pair(session, club_id=club_id)) for _ in range(pairs)]
    made = make.booking(session, cora, wanted=wanted, pair=object(), club_id=club_id)
    if confirmed:
        bookings.confirm(session, cast.mia, made.id, NOW)
    session.flush()
    return find_bookings.whole(session, made.id)


def issue(session: Session, actor: Actor, booking: Booking, key: str = "a", **more: Any) -> IssuedInvoice:
    values: dict[str, Any] = {"key": key, "now": NOW, "printed": printed, **more}
    buyer = values.pop("buyer", BUYER)
    return invoices.issue(session, actor, booking.id, buyer, **values)


def credit(session: Session, actor: Actor, issued: IssuedInvoice, key: str, **more: Any) -> IssuedInvoice:
    values: dict[str, Any] = {
        "whole": True,
        "reason": "Wrong name",
        "now": NOW,
        "printed": printed,
        **more,
    }
    return invoices.credit(session, actor, issued.id, key=key, **values)


@pytest.fixture
def order(session: Session, cast: Cast) -> Booking:
    issuer(session)
    taxed(session)
    return ordered(session, cast)


def test_an_invoice_is_numbered_and_says_what_the_bill_says(
    session: Session, cast: Cast, order: Booking
) -> None:
    made = issue(session, cast.mia, order)
    it = invoices.content_of(made)
    assert (made.called, made.name, made.kind) == ("INV-2026-00001", "Mia", InvoiceKind.INVOICE)
    assert it.number == it.remittance == "INV-2026-00001"
    assert it.billed == order.total == made.total == Decimal("279.30")
    assert it.payable == find_payments.balance(session, order)
    assert it.due_on is not None
    assert (it.due_on - it.issued_on).days == 14
    assert [part.tax for part in it.amounts.taxes] == [tax.tax for tax in billing.bill_of(order).taxes]
    assert (it.buyer.name, it.buyer.lines[1], it.buyer_reference) == (
        "Alder Valley Ski Club",
        "0001 Alder Valley",
        "Juniors",
    )
    assert problems_of(it) == []


def test_what_is_paid_is_taken_off_and_still_to_pay_agrees_with_the_open_balances(
    session: Session, cast: Cast, order: Booking
) -> None:
    payments.take(
        session,
        cast.tina,
        order.id,
        amount=Decimal("100.00"),
        method=Method.CARD,
        remark="",
        key="p",
        now=NOW,
    )
    it = invoices.content_of(issue(session, cast.mia, order))
    assert (it.prepaid, it.payable) == (Decimal("100.00"), Decimal("179.30"))
    rows, _total = find_payments.open_balances(session, None)
    assert [row.balance for row in rows if row.booking.id == order.id] == [it.payable]


def test_a_second_one_comes_only_after_the_first_is_taken_back(
    session: Session, cast: Cast, order: Booking
) -> None:
    first = issue(session, cast.mia, order)
    with pytest.raises(NotNow, match="INV-2026-00001"):
        issue(session, cast.mia, order, "b")
    back = credit(session, cast.mia, first, "c")
    assert (back.called, back.corrects_id, back.total) == ("CN-2026-00002", first.id, first.total)
    it, of = invoices.content_of(back), invoices.content_of(first)
    assert (it.corrects, it.corrects_of, it.reason) == ("INV-2026-00001", of.issued_on, "Wrong name")
    assert (it.amounts, it.payable, it.account) == (of.amounts, of.payable, None)
    assert problems_of(it) == []
    with pytest.raises(NotNow, match="Nothing of this invoice is left"):
        credit(session, cast.mia, first, "d")
    assert issue(session, cast.mia, order, "e").called == "INV-2026-00003"
    assert [one.called for one in find_invoices.of_booking(session, order.id)] == [
        "INV-2026-00001",
        "CN-2026-00002",
        "INV-2026-00003",
    ]


def test_a_credit_note_for_what_changed_leaves_the_rest_standing(
    session: Session, cast: Cast, order: Booking
) -> None:
    first = issue(session, cast.mia, order)
    with pytest.raises(NotNow, match="costs no less"):
        credit(session, cast.mia, first, "b", whole=False)
    booking_changes.take_out(
        session, cast.mia, order.id, order.items[0].id, NOW, fee=Decimal("0.00"), reason="It broke"
    )
    session.flush()
    changed = find_bookings.whole(session, order.id)
    off = credit(session, cast.mia, first, "c", whole=False, reason="One pair fewer")
    # Five pairs at 49.00 with 5 % off are 232.75.
    assert off.total == Decimal("279.30") - Decimal("232.75") == first.total - changed.total
    it = invoices.content_of(off)
    assert it.prepaid == Decimal("0.00")
    assert problems_of(it) == []
    there = invoices.standing(find_invoices.of_booking(session, order.id))
    assert there is not None
    assert (there.invoice.id, there.left.total) == (first.id, changed.total)
    with pytest.raises(NotNow, match="costs no less"):
        credit(session, cast.mia, first, "d", whole=False)
    rest = credit(session, cast.mia, first, "e")
    assert rest.total == changed.total
    assert problems_of(invoices.content_of(rest)) == []
    assert invoices.standing(find_invoices.of_booking(session, order.id)) is None


def test_a_form_that_comes_twice_is_one_invoice(session: Session, cast: Cast, order: Booking) -> None:
    first = issue(session, cast.mia, order, "same")
    assert issue(session, cast.mia, order, "same").id == first.id
    with pytest.raises(NotNow, match="another booking"):
        issue(session, cast.mia, ordered(session, cast), "same")
    back = credit(session, cast.mia, first, "back")
    assert credit(session, cast.mia, first, "back").id == back.id
    assert len(session.scalars(select(OutboxLetter).where(OutboxLetter.subject.contains("00001"))).all()) == 1


def test_an_invoice_that_is_not_what_the_page_showed_is_not_issued(
    session: Session, cast: Cast, order: Booking
) -> None:
    with pytest.raises(NotNow, match="Something changed"):
        issue(session, cast.mia, order, payable=Decimal("279.31"))
    assert issue(session, cast.mia, order, payable=Decimal("279.30")).number == 1


@pytest.mark.parametrize(
    ("missing", "said"),
    [
        ({"legal_name": ""}, "Name of who issues invoices"),
        ({"street": ""}, "Street"),
        ({"city": ""}, "Town"),
        ({"country": ""}, "Country"),
        ({"vat_number": ""}, "VAT number or tax number"),
    ],
)
def test_what_is_missing_is_named_with_the_page_where_it_is_entered(
    session: Session, cast: Cast, order: Booking, missing: dict[str, str], said: str
) -> None:
    issuer(session, **missing)
    with pytest.raises(NotNow) as refused:
        issue(session, cast.mia, order)
    assert said in str(refused.value.reason)
    assert "What stands on invoices" in str(refused.value.reason)


def test_there_is_none_for_what_is_not_agreed_costs_nothing_or_states_tax_in_part(
    session: Session, cast: Cast
) -> None:
    issuer(session)
    asked = ordered(session, cast, 1, confirmed=False)
    with pytest.raises(NotNow, match="Confirm the booking first"):
        issue(session, cast.mia, asked)
    free = ordered(session, cast, 1)
    billing.charge(free, billing.Bill(()))
    session.flush()
    with pytest.raises(NotNow, match="costs nothing"):
        issue(session, cast.mia, free)
    mixed = ordered(session, cast, 1)
    lines = [{**mixed.lines[0], "rate": "25.50"}, mixed.lines[0]]
    billing.charge(mixed, billing.from_json(lines))
    session.flush()
    with pytest.raises(NotNow, match="some none"):
        issue(session, cast.mia, mixed)
    old = ordered(session, cast, 1)
    old.is_settled_elsewhere = True
    session.flush()
    with pytest.raises(NotNow, match="before payments were kept"):
        issue(session, cast.mia, old)
    with pytest.raises(NotNow, match="a name and a country"):
        issue(session, cast.mia, ordered(session, cast, 1), buyer=Buyer("Club"))


def test_a_workshop_without_tax_issues_invoices_outside_its_scope(session: Session, cast: Cast) -> None:
    issuer(session)
    it = invoices.content_of(issue(session, cast.mia, ordered(session, cast)))
    assert [(part.category, part.tax) for part in it.amounts.taxes] == [(Category.OUTSIDE, Decimal("0.00"))]
    assert it.amounts.taxes[0].reason == "Not subject to value-added tax"
    assert it.seller.vat_number == ""
    assert problems_of(it) == []


@pytest.mark.parametrize(
    ("reason", "category"), [("", Category.ZERO), ("Exempt: small business", Category.EXEMPT)]
)
def test_a_rate_of_nothing_is_zero_or_exempt_with_its_reason(
    session: Session, cast: Cast, reason: str, category: Category
) -> None:
    issuer(session, no_tax_reason=reason)
    taxed(session, "0")
    it = invoices.content_of(issue(session, cast.mia, ordered(session, cast)))
    assert [(part.category, part.reason) for part in it.amounts.taxes] == [(category, reason)]
    assert problems_of(it) == []


def test_it_says_when_the_work_was_done_once_all_is_back(session: Session, cast: Cast) -> None:
    issuer(session)
    made = ordered(session, cast, 2)
    assert invoices.draft(session, cast.mia, made.id, None, NOW)[0].supplied_on is None
    made.status = Status.COMPLETED
    # By the clock of Oslo the second pair went back on the next day.
    made.items[0].handed_back_at = datetime(2026, 12, 3, 9, tzinfo=UTC)
    made.items[1].handed_back_at = datetime(2026, 12, 3, 23, 30, tzinfo=UTC)
    session.flush()
    shown = invoices.draft(session, cast.mia, made.id, None, NOW)[0]
    assert shown.supplied_on == date(2026, 12, 4)


def test_a_private_booking_is_to_the_person_by_name(session: Session, cast: Cast) -> None:
    issuer(session)
    alice = make.find_people.one(session, cast.alice.person_id)
    made = make.booking(session, alice)
    bookings.confirm(session, cast.mia, made.id, NOW)
    session.flush()
    shown, buyer = invoices.draft(session, cast.mia, made.id, None, NOW)
    assert (buyer.name, buyer.country, shown.number) == (alice.name, "NO", "–")
    it = invoices.content_of(issue(session, cast.mia, made, buyer=buyer))
    assert it.buyer.name == alice.name
    letters = session.scalars(select(OutboxLetter).where(OutboxLetter.subject.contains("INV-"))).all()
    assert [letter.recipient for letter in letters] == [cast.alice.email]


def test_the_letter_goes_to_the_clubs_managers_with_the_papers(
    session: Session, cast: Cast, order: Booking
) -> None:
    issue(session, cast.mia, order)
    letters = session.scalars(select(OutboxLetter).where(OutboxLetter.subject.contains("INV-"))).all()
    assert [letter.recipient for letter in letters] == [cast.cora.email]
    assert "NO9386011117947" in letters[0].body
    assert "€279.30" in letters[0].body
    files = session.scalars(select(Enclosed)).all()
    assert [(one.file_name, one.media_type, one.letter_id) for one in files] == [
        ("INV-2026-00001.pdf", "application/pdf", letters[0].id)
    ]


def test_or_to_its_address_for_bills(session: Session, cast: Cast, order: Booking) -> None:
    assert order.club is not None
    order.club.invoice_email = "bills@club.example"
    issued = issue(session, cast.mia, order)
    credit(session, cast.mia, issued, "b")
    letters = session.scalars(select(OutboxLetter).where(OutboxLetter.subject.contains("-2026-"))).all()
    assert [letter.recipient for letter in letters] == ["bills@club.example"] * 2
    assert "Credit note CN-2026-00002" in letters[1].subject
    assert "Wrong name" in letters[1].body


def test_only_the_manager_issues_and_nobody_else_sees(session: Session, cast: Cast, order: Booking) -> None:
    for who, refusal in ((cast.tina, NotAllowed), (cast.cora, NotAllowed), (cast.dora, NotFound)):
        with pytest.raises(refusal):
            issue(session, who, order)
    made = issue(session, cast.mia, order)
    for who in (cast.cora, cast.tina, cast.mia):
        assert find_invoices.one(session, who, made.id).id == made.id
    for who in (cast.dora, cast.carl, cast.alice):
        with pytest.raises(NotFound):
            find_invoices.one(session, who, made.id)
    with pytest.raises(NotAllowed):
        credit(session, cast.tina, made, "b")


def test_it_is_found_under_who_did_what(session: Session, cast: Cast, order: Booking) -> None:
    credit(session, cast.mia, issue(session, cast.mia, order), "b")
    acts = session.scalars(
        select(AuditEntry)
        .where(AuditEntry.act.in_([Act.INVOICE_ISSUED, Act.CREDIT_NOTE_ISSUED]))
        .order_by(AuditEntry.id)
    ).all()
    assert [(one.act, one.name, one.about) for one in acts] == [
        (Act.INVOICE_ISSUED, "Mia", f"INV-2026-00001, {order.reference}"),
        (Act.CREDIT_NOTE_ISSUED, "Mia", f"CN-2026-00002, {order.reference}"),
    ]


def test_numbers_begin_anew_each_year_by_the_clock_of_the_workshop(
    session: Session, cast: Cast, order: Booking
) -> None:
    # In Oslo the new year is an hour old.
    late = datetime(2026, 12, 31, 23, 30, tzinfo=UTC)
    first = issue(session, cast.mia, order, now=NOW)
    assert credit(session, cast.mia, first, "b", now=late).called == "CN-2027-00001"


def test_a_number_is_not_lost_when_the_rest_fails(session: Session, cast: Cast, order: Booking) -> None:
    def broken(_it: Invoice) -> Sequence[Enclosure]:
        raise RuntimeError("no paper")

    session.commit()
    with pytest.raises(RuntimeError, match="no paper"):
        issue(session, cast.mia, order, printed=broken)
    session.rollback()
    order = find_bookings.whole(session, order.id)
    assert issue(session, cast.mia, order).called == "INV-2026-00001"


def test_the_database_itself_refuses_a_number_twice_and_a_credit_note_of_nothing(
    session: Session, cast: Cast, order: Booking
) -> None:
    made = issue(session, cast.mia, order)
    session.commit()
    same: dict[str, Any] = {
        "booking_id": order.id,
        "year": made.year,
        "issued_at": NOW,
        "name": "Mia",
        "total": Decimal("1.00"),
        "lines": [],
        "content": {},
    }
    wrong = (
        {"key": "x", "number": made.number, "kind": InvoiceKind.INVOICE},
        {"key": made.key, "number": 9, "kind": InvoiceKind.INVOICE},
        {"key": "x", "number": 9, "kind": InvoiceKind.CREDIT_NOTE},
        {"key": "x", "number": 9, "kind": InvoiceKind.INVOICE, "corrects_id": made.id},
    )
    for values in wrong:
        session.add(IssuedInvoice(**same, **values))
        with pytest.raises(IntegrityError):
            session.flush()
        session.rollback()


def test_what_changes_later_changes_no_invoice(session: Session, cast: Cast, order: Booking) -> None:
    made = issue(session, cast.mia, order)
    before = invoices.content_of(made)
    issuer(session, legal_name="Another AS", iban="", pay_days=3)
    order.total = Decimal("1.00")
    session.flush()
    session.expire_all()
    kept = find_invoices.one(session, cast.mia, made.id)
    assert invoices.content_of(kept) == before


def test_two_at_once_get_two_numbers_and_one_booking_gets_one(
    database: Database, session: Session, cast: Cast
) -> None:
    issuer(session)
    orders = [ordered(session, cast, 1).id for _ in range(3)]
    session.commit()
    told: list[str] = []

    def act(booking_id: int, key: str) -> None:
        with database.write.begin() as own:
            try:
                made = invoices.issue(own, cast.mia, booking_id, BUYER, key=key, now=NOW, printed=printed)
                told.append(made.called)
            except NotNow:
                told.append("refused")

    threads = [threading.Thread(target=act, args=(one, f"{one}-{at}")) for one in orders for at in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timedelta(seconds=60).total_seconds())
    assert sorted(told) == ["INV-2026-00001", "INV-2026-00002", "INV-2026-00003", *["refused"] * 3]
