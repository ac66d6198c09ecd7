"""Invoices at the workshop: set up, looked at, issued, taken back, listed."""

from __future__ import annotations

import re
from datetime import timedelta
from xml.etree.ElementTree import Element

import pytest
import time_machine
from defusedxml.ElementTree import fromstring
from sqlalchemy import select

from portal.db.audit import AuditEntry
from portal.db.invoices import IssuedInvoice
from portal.db.outbox import Enclosed, OutboxLetter
from portal.domain.access import Actor
from portal.domain.audit import Act
from portal.queries import bookings as find_bookings
from portal.queries import people as find_people
from portal.queries import workshop as find_workshop
from portal.services import billing, bookings
from tests import make
from tests.cast import Cast
from tests.documents.reading import text_of
from tests.page import Page, Visitor
from tests.services.test_invoices import ISSUER, taxed
from tests.web.shop.conftest import Desk

TYPED = {
    "legal_name": "Hollowmere Slipeverksted AS",
    "street": "Mill Lane 4",
    "post_code": "4711",
    "city": "Hollowmere",
    "country": "NO",
    "vat_number": "no 999 999 999 mva",
    "iban": "no93 8601 1117 947",
    "bic": "holmnokk",
    "pay_days": "10",
    "no_tax_reason": "",
    "invoice_remark": "Interest after that day",
}


def set_up(desk: Desk) -> None:
    with desk.database.write.begin() as session:
        workshop = find_workshop.the(session)
        for name, value in ISSUER.items():
            setattr(workshop, name, value)
        taxed(session)


def order(desk: Desk, cast: Cast) -> int:
    """Cora's agreed order for her club; gives its number."""
    with desk.database.write.begin() as session:
        cora = find_people.one(session, cast.cora.person_id)
        pair = make.pair(session, club_id=cast.club_id, junior_id=cast.junior_id)
        made = make.booking(
            session, cora, wanted=[make.wanted(session, pair)], pair=object(), club_id=cast.club_id
        )
        bookings.confirm(session, cast.mia, made.id, make.NOW)
        return made.id


def issued(mia: Visitor, booking_id: int, **typed: str) -> Page:
    page = mia.get(f"/shop/bookings/{booking_id}/invoice")
    page = mia.send(page, "", address="Alder Valley 12\n0001 Alder Valley", **typed)
    assert page.h1 == "Check the invoice"
    return mia.send(page, "", sure="yes")


def papers(desk: Desk) -> list[IssuedInvoice]:
    with desk.database.read() as session:
        return list(session.scalars(select(IssuedInvoice).order_by(IssuedInvoice.id)))


def xml_of(visitor: Visitor, path: str) -> Element:
    answer = visitor.raw("GET", path)
    assert (answer.status_code, answer.mimetype) == (200, "application/xml")
    found: Element = fromstring(answer.data)
    return found


def test_what_stands_on_invoices_is_set_and_kept_tidy(mia: Visitor, desk: Desk) -> None:
    page = mia.send(mia.get("/shop/invoicing"), "", **TYPED)
    assert "This stands on invoices from now on" in page.text
    here = desk.read(find_workshop.the)
    assert (here.iban, here.bic, here.vat_number) == ("NO9386011117947", "HOLMNOKK", "NO999999999MVA")
    assert (here.country, here.pay_days) == ("NO", 10)
    with desk.database.read() as session:
        kept = session.scalars(select(AuditEntry).where(AuditEntry.act == Act.INVOICING_SET)).one()
    assert "NO9386011117947" in kept.words
    assert page.form()["legal_name"] == "Hollowmere Slipeverksted AS"


def test_slips_in_it_are_named_and_nothing_typed_is_lost(mia: Visitor, desk: Desk) -> None:
    wrong = {"legal_name": "", "country": "", "vat_number": "123", "iban": "NO9386011117948", "bic": "X"}
    page = mia.send(mia.get("/shop/invoicing"), "", **{**TYPED, **wrong, "pay_days": "500"})
    assert page.errors == [
        "Enter the name that the business is registered by",
        "Choose a country",
        "Begin with the two letters of the country, such as NO123456789MVA",
        "Compare it with a statement: its check digits are not right",
        "Enter the 8 or 11 letters and digits of the bank, or leave it empty",
        "Enter a number from 0 to 120",
    ]
    assert page.form()["iban"] == "NO9386011117948"
    assert page.form()["street"] == "Mill Lane 4"
    page = mia.send(page, "", **{**TYPED, "iban": ""})
    assert page.errors == ["Enter the IBAN too, or leave both empty"]
    assert desk.read(find_workshop.the).legal_name == ""


def test_an_invoice_is_refused_with_the_field_that_is_missing(mia: Visitor, desk: Desk) -> None:
    booked = desk.confirmed()
    page = mia.get(f"/shop/bookings/{booked.id}/invoice", status=409)
    assert "“Name of who issues invoices” is missing" in page.text
    asked = desk.asked()
    assert "Confirm the booking first" in mia.get(f"/shop/bookings/{asked.id}/invoice", status=409).text


def test_an_invoice_is_looked_at_before_it_is_issued(mia: Visitor, desk: Desk, cast: Cast) -> None:
    set_up(desk)
    number = order(desk, cast)
    page = mia.get(f"/shop/bookings/{number}/invoice")
    assert page.form()["name"] == "Alder Valley Ski Club"
    assert page.form()["country"] == "NO"
    page = mia.send(page, "", address="Alder Valley 12\n0001 Alder Valley", reference="Juniors")
    for words in ("€49.00", "€9.96", "NO9386011117947", "Mon 21 December 2026", "0001 Alder Valley"):
        assert words in page.text, words
    assert papers(desk) == []
    again = mia.send(page, "", again="yes")
    assert again.form()["reference"] == "Juniors"
    page = mia.send(page, "", sure="yes")
    assert "Invoice INV-2026-00001 is issued" in page.text
    assert page.h1.startswith("Booking ")
    (made,) = papers(desk)
    assert made.content["buyer"]["lines"] == ["Alder Valley 12", "0001 Alder Valley"]
    assert "There is an invoice for this booking already" in (
        mia.get(f"/shop/bookings/{number}/invoice", status=409).text
    )


def test_a_form_that_is_sent_twice_is_one_invoice(mia: Visitor, desk: Desk, cast: Cast) -> None:
    set_up(desk)
    number = order(desk, cast)
    page = mia.send(mia.get(f"/shop/bookings/{number}/invoice"), "", address="Valley")
    mia.send(page, "", sure="yes")
    page = mia.send(page, "", sure="yes")
    assert page.h1.startswith("Booking ")
    assert len(papers(desk)) == 1


def test_slips_about_the_buyer_are_named(mia: Visitor, desk: Desk, cast: Cast) -> None:
    set_up(desk)
    page = mia.send(mia.get(f"/shop/bookings/{order(desk, cast)}/invoice"), "", name=" ", country="XX")
    assert page.errors == ["Enter the name of whoever pays", "Choose a country"]
    assert papers(desk) == []


def test_what_changed_meanwhile_is_looked_at_again(mia: Visitor, desk: Desk, cast: Cast) -> None:
    set_up(desk)
    number = order(desk, cast)
    page = mia.send(mia.get(f"/shop/bookings/{number}/invoice"), "", address="Valley")
    paying = mia.get(f"/shop/bookings/{number}/payments")
    mia.send(paying, amount="20", method="card", remark="")
    answer = mia.send(page, "", status=409, sure="yes")
    assert "Something changed since you looked" in answer.text
    assert papers(desk) == []


@pytest.mark.parametrize("payable", ["sNaN", "", "1e9", "Infinity", "\0"])
def test_an_amount_that_no_page_of_ours_sent_is_looked_at_again(
    mia: Visitor, desk: Desk, cast: Cast, payable: str
) -> None:
    set_up(desk)
    number = order(desk, cast)
    check = mia.send(mia.get(f"/shop/bookings/{number}/invoice"), "", address="Valley")
    page = mia.send(check, "", status=409, payable=payable, key="k\0ey", sure="yes")
    assert "Something changed since you looked" in page.text
    assert papers(desk) == []


def test_the_files_say_the_same_and_the_letter_has_both(mia: Visitor, desk: Desk, cast: Cast) -> None:
    set_up(desk)
    issued(mia, order(desk, cast))
    answer = mia.raw("GET", "/shop/invoices/1/invoice.pdf")
    assert answer.mimetype == "application/pdf"
    assert "To pay by Mon 21 December 2026: €49.00" in text_of(answer.data)
    root = xml_of(mia, "/shop/invoices/1/invoice.xml")
    assert root.findtext("{*}LegalMonetaryTotal/{*}PayableAmount") == "49.00"
    with desk.database.read() as session:
        files = list(session.scalars(select(Enclosed).order_by(Enclosed.id)))
        letter = session.scalars(select(OutboxLetter).where(OutboxLetter.id == files[0].letter_id)).one()
    assert letter.recipient == cast.cora.email
    assert [one.file_name for one in files] == ["INV-2026-00001.pdf", "INV-2026-00001.xml"]
    assert files[0].content == answer.data


def test_an_invoice_is_taken_back_with_a_reason(mia: Visitor, desk: Desk, cast: Cast) -> None:
    set_up(desk)
    number = order(desk, cast)
    issued(mia, number)
    page = mia.get("/shop/invoices/1/credit")
    assert mia.send(page, "", listed="", own="").errors == [
        "Choose a reason from the list, or write your own"
    ]
    assert "costs no less" in (mia.send(page, "", status=409, how_much="part", own="x").text)
    page = mia.send(page, "", listed="address", own="It was the old name.")
    assert page.h1 == "Check the credit note"
    assert "It was the old name." in page.text
    page = mia.send(page, "", sure="yes")
    assert "Credit note CN-2026-00002 is issued" in page.text
    assert "Issue the invoice" in page.text
    assert [(one.called, str(one.signed)) for one in papers(desk)] == [
        ("INV-2026-00001", "49.00"),
        ("CN-2026-00002", "-49.00"),
    ]
    assert xml_of(mia, "/shop/invoices/2/invoice.xml").tag.endswith("}CreditNote")
    assert "Nothing of this invoice is left" in mia.get("/shop/invoices/1/credit", status=409).text


def test_a_bill_that_changed_is_said_beside_its_invoice(mia: Visitor, desk: Desk, cast: Cast) -> None:
    set_up(desk)
    number = order(desk, cast)
    issued(mia, number)
    assert "has changed since invoice" not in mia.get(f"/shop/bookings/{number}").text
    with desk.database.write.begin() as session:
        found = find_bookings.whole(session, number)
        billing.charge(found, billing.from_json([{**found.lines[0], "each": "39.00"}]))
    page = mia.get(f"/shop/bookings/{number}")
    assert "The bill has changed since invoice INV-2026-00001 was issued." in page.text
    page = mia.send(mia.get("/shop/invoices/1/credit"), "", how_much="part", listed="changed")
    mia.send(page, "", sure="yes")
    assert [str(one.signed) for one in papers(desk)] == ["49.00", "-10.00"]
    assert "has changed since invoice" not in mia.get(f"/shop/bookings/{number}").text


def test_the_list_is_narrowed_by_kind_and_days(mia: Visitor, desk: Desk, cast: Cast) -> None:
    assert "Nothing was issued this year" in mia.get("/shop/invoices").text
    set_up(desk)
    issued(mia, order(desk, cast))
    page = mia.send(mia.get("/shop/invoices/1/credit"), "", listed="address")
    mia.send(page, "", sure="yes")
    page = mia.get("/shop/invoices")
    assert "2 papers" in page.text
    assert re.search(r"CN-2026-00002.*INV-2026-00001", page.text)
    assert "CN-2026" not in mia.get("/shop/invoices?kind=invoice").text
    assert "Nothing was issued then" in mia.get("/shop/invoices?first=2026-12-08").text
    assert "1 paper" in mia.get("/shop/invoices?kind=credit_note&last=2026-12-07").text
    page = mia.get("/shop/invoices?first=2026-12-08&last=2026-12-07")
    assert page.errors == ["Enter a last day that is not before the first"]
    assert "ends before this page" in mia.get("/shop/invoices?page=9").text
    for odd in ("first=0001-01-01", "last=9999-12-31", "first=x", "kind=x", "page=x"):
        mia.get(f"/shop/invoices?{odd}")


def test_the_list_is_taken_along_with_credit_notes_below_zero(
    mia: Visitor, tina: Visitor, desk: Desk, cast: Cast
) -> None:
    set_up(desk)
    issued(mia, order(desk, cast))
    page = mia.send(mia.get("/shop/invoices/1/credit"), "", listed="address")
    mia.send(page, "", sure="yes")
    page = mia.get("/shop/invoices?kind=credit_note")
    path = next(link for link in page.links if "list.csv" in link)
    assert "kind=credit_note" in path
    head, *lines = mia.raw("GET", "/shop/invoices/list.csv").data.decode("utf-8-sig").splitlines()
    assert head.startswith("Number,Kind,Issued on,Takes back,To")
    # 25.5 % within 49.00 are 9.96 (domain/prices).
    assert lines == [
        "CN-2026-00002,Credit note,2026-12-07,INV-2026-00001,Alder Valley Ski Club,NO,"
        f"{papers(desk)[0].content['booking']},-39.04,-9.96,0.00,-49.00,0.00,EUR,",
        "INV-2026-00001,Invoice,2026-12-07,,Alder Valley Ski Club,NO,"
        f"{papers(desk)[0].content['booking']},39.04,9.96,0.00,49.00,0.00,EUR,2026-12-21",
    ]
    assert len(mia.raw("GET", path).data.decode().splitlines()) == 2
    assert mia.raw("GET", "/shop/invoices/list.xlsx").status_code == 200
    assert mia.raw("GET", "/shop/invoices/list.pdf").status_code == 404
    mia.get("/shop/invoices/list.csv?first=x", status=409)
    tina.get("/shop/invoices/list.csv", status=403)
    assert "list.csv" not in tina.get("/shop/invoices").html


def test_a_technician_sees_invoices_and_issues_none(
    mia: Visitor, tina: Visitor, desk: Desk, cast: Cast
) -> None:
    set_up(desk)
    number = order(desk, cast)
    tina.get(f"/shop/bookings/{number}/invoice", status=403)
    tina.get("/shop/invoicing", status=403)
    issued(mia, number)
    assert "INV-2026-00001" in tina.get("/shop/invoices").text
    page = tina.get(f"/shop/bookings/{number}")
    assert "INV-2026-00001" in page.text
    assert "Take the invoice back" not in page.text
    tina.get("/shop/invoices/1/credit", status=403)


def test_the_account_is_set_only_by_who_showed_lately_who_they_are(
    mia: Visitor, clock: time_machine.Traveller
) -> None:
    page = mia.get("/shop/invoicing")
    clock.shift(timedelta(minutes=16))
    assert "/account/again" in mia.raw("GET", "/shop/invoicing").location
    clock.shift(timedelta(hours=2))
    answer = mia.raw("POST", "/shop/invoicing", data={**page.form(), **TYPED})
    assert "/account/again" in answer.location


@pytest.mark.parametrize("who", ["dora", "carl", "alice"])
def test_nobody_else_finds_an_invoice(
    mia: Visitor, visitor: Visitor, desk: Desk, cast: Cast, who: str
) -> None:
    set_up(desk)
    number = order(desk, cast)
    issued(mia, number)
    other: Actor = getattr(cast, who)
    stranger = visitor.as_(other)
    for path in (
        "/my/invoices/1/invoice.pdf",
        "/my/invoices/1/invoice.xml",
        "/shop/invoices/1/invoice.pdf",
        f"/club/{cast.club_id}/orders/{number}/confirmation.pdf",
        f"/club/{cast.other_club_id}/orders/{number}/confirmation.pdf",
        f"/shop/bookings/{number}/confirmation.pdf",
    ):
        assert stranger.raw("GET", path).status_code == 404, path


def test_the_club_finds_it_beside_its_order(mia: Visitor, visitor: Visitor, desk: Desk, cast: Cast) -> None:
    set_up(desk)
    number = order(desk, cast)
    issued(mia, number)
    cora = visitor.as_(cast.cora)
    page = cora.get(f"/club/{cast.club_id}/orders/{number}")
    assert "€49.00 is still to pay by Mon 21 December 2026, as the invoice says" in page.text
    assert "/my/invoices/1/invoice.pdf" in page.links
    assert "/my/invoices/1/invoice.xml" in page.links
    answer = cora.raw("GET", "/my/invoices/1/invoice.pdf")
    assert answer.data == mia.raw("GET", "/shop/invoices/1/invoice.pdf").data
    xml_of(cora, "/my/invoices/1/invoice.xml")
    paper = cora.raw("GET", f"/club/{cast.club_id}/orders/{number}/confirmation.pdf")
    words = text_of(paper.data)
    for said in ("Order confirmation", "Alder Valley Ski Club", "Junia", "Mon 7 December 2026", "€49.00"):
        assert said in words, said
    assert mia.raw("GET", f"/shop/bookings/{number}/confirmation.pdf").status_code == 200


def test_there_is_no_confirmation_before_the_workshop_agreed_or_of_a_private_booking(
    mia: Visitor, desk: Desk
) -> None:
    for booked in (desk.asked(), desk.confirmed()):
        mia.get(f"/shop/bookings/{booked.id}/confirmation.pdf", status=404)
