"""Prices, tax, payments and receipts at the workshop."""

from __future__ import annotations

from decimal import Decimal
from io import BytesIO

import pytest
from pypdf import PdfReader
from sqlalchemy import select

from portal.db.audit import AuditEntry
from portal.db.money import Payment, TaxRate
from portal.db.workshop import Price
from portal.domain.audit import Act
from portal.queries import workshop as find_workshop
from tests.page import Page, Visitor
from tests.web.shop.conftest import Booked, Desk

MANAGER_PAGES = ("/shop/prices", "/shop/tax", "/shop/club-savings", "/shop/terms")


def acts(desk: Desk) -> list[tuple[Act, str, str]]:
    with desk.database.read() as session:
        rows = session.scalars(select(AuditEntry).order_by(AuditEntry.id))
        return [(row.act, row.about, row.words) for row in rows]


def test_a_price_to_come_is_set_and_can_be_withdrawn(mia: Visitor, desk: Desk) -> None:
    page = mia.send(mia.get("/shop/prices"), item="grind", amount="52,50 EUR", valid_from="2027-01-01")
    assert "from 1 Jan 2027" in page.text.replace("\xa0", " ")
    assert "52.50" in page.text
    assert acts(desk)[-1] == (Act.PRICE_SET, "Grind", "52.50 EUR from Fri 1 January 2027")
    page = mia.send(page, "withdraw")
    assert "52.50" not in page.text
    assert acts(desk)[-1] == (Act.PRICE_WITHDRAWN, "Grind", "52.50 from Fri 1 January 2027")


def test_a_price_of_days_that_are_over_is_neither_set_nor_withdrawn(mia: Visitor, desk: Desk) -> None:
    page = mia.send(mia.get("/shop/prices"), item="grind", amount="1,234", valid_from="2026-12-06")
    assert page.errors == [
        "Enter today or a later day: what was charged before stays as it was",
        "Enter an amount such as 49 or 49.50",
    ]
    assert page.form()["amount"] == "1,234"
    with desk.database.read() as session:
        old = session.scalars(select(Price.id)).first()
    assert "Its day has come" in mia.post(f"/shop/prices/{old}/withdraw", status=409).text
    mia.post("/shop/prices/99999/withdraw", status=404)


def test_a_tax_rate_is_set_and_stands_in_new_bills(mia: Visitor, desk: Desk) -> None:
    page = mia.send(mia.get("/shop/tax"), item="grind", percent="25,5 %", valid_from="2026-12-07")
    assert "25.5 %" in page.text
    booked = desk.asked()
    page = mia.get(f"/shop/bookings/{booked.id}")
    # 49.00 x 25.5 / 125.5 = 9.956.
    assert "Of this 25.5 % tax, on €39.04" in page.text
    assert "€9.96" in page.text
    page = mia.send(mia.get("/shop/tax"), item="grind", percent="24", valid_from="2027-01-01")
    page = mia.send(page, "withdraw")
    with desk.database.read() as session:
        assert [row.percent for row in session.scalars(select(TaxRate))] == [Decimal("25.50")]
    assert [act for act, _about, _words in acts(desk)] == [Act.TAX_SET, Act.TAX_SET, Act.TAX_WITHDRAWN]
    page = mia.send(page, "", item="", percent="101", valid_from="")
    assert page.errors == [
        "Choose what it is for",
        "Enter the first day",
        "Enter a number from 0 to 100, such as 25 or 25.5",
    ]


def test_savings_of_clubs_are_set_and_taken_away(mia: Visitor, desk: Desk) -> None:
    page = mia.send(mia.get("/shop/club-savings"), from_pairs="10", percent="7.5")
    assert "10 pairs" in page.text
    assert "7.5 %" in page.text
    page = mia.send(page, from_pairs="10", percent="0")
    assert "10 pairs" not in page.text
    assert [act for act, _about, _words in acts(desk)] == [Act.TIER_SET, Act.TIER_SET]
    assert mia.send(page, from_pairs="", percent="x").errors[0] == "Enter a number of pairs"


def test_express_and_deposit_are_set(mia: Visitor, desk: Desk) -> None:
    page = mia.get("/shop/terms")
    assert "Express has no price" in page.text
    page = mia.send(page, express_days="2", deposit_percent="30")
    here = desk.read(find_workshop.the)
    assert (here.express_days, here.deposit_percent) == (2, 30)
    assert acts(desk)[-1][0] is Act.TERMS_SET
    assert mia.send(page, express_days="x", deposit_percent="130").errors == [
        "Enter a whole number from 0 to 30, or leave it empty",
        "Enter a number from 0 to 100",
    ]


@pytest.mark.parametrize("path", MANAGER_PAGES)
def test_only_the_manager_sets_what_things_cost(tina: Visitor, path: str) -> None:
    tina.get(path, status=403)


def test_the_technician_cannot_withdraw_a_price(tina: Visitor, desk: Desk) -> None:
    with desk.database.read() as session:
        number = session.scalars(select(Price.id)).first()
    tina.post(f"/shop/prices/{number}/withdraw", status=403)
    tina.post("/shop/tax/1/withdraw", status=403)


def paid(visitor: Visitor, booked: Booked, amount: str, method: str = "card") -> Page:
    page = visitor.get(f"/shop/bookings/{booked.id}/payments")
    return visitor.send(page, amount=amount, method=method, remark="with thanks")


def test_a_payment_is_taken_and_has_a_receipt(tina: Visitor, desk: Desk) -> None:
    booked = desk.confirmed()
    page = tina.get(f"/shop/bookings/{booked.id}/payments")
    assert page.form()["amount"] == "49.00", "what is still to pay is filled in"
    page = paid(tina, booked, "20")
    assert "receipt 2026-00001" in page.text
    assert "Still to pay €29.00" in page.text
    assert "Still to pay €29.00" in tina.get(f"/shop/bookings/{booked.id}").text
    link = next(link for link in page.links if link.endswith("receipt.pdf"))
    words = PdfReader(BytesIO(tina.raw("GET", link).data)).pages[0].extract_text()
    assert "2026-00001" in words
    assert "€20.00" in words
    assert "Copy" not in words
    copy = tina.raw("GET", link.replace("receipt.pdf", "copy.pdf"))
    assert "Copy of the receipt" in PdfReader(BytesIO(copy.data)).pages[0].extract_text()
    assert copy.headers["Content-Disposition"] == 'inline; filename="receipt-2026-00001-copy.pdf"'


def test_a_form_that_is_sent_twice_charges_once(tina: Visitor, desk: Desk) -> None:
    booked = desk.confirmed()
    page = tina.get(f"/shop/bookings/{booked.id}/payments")
    # No database text holds the second one's last character.
    for more in ("", "\0"):
        answer = tina.send(page, amount="49.00", method="cash", key=page.form()["key"] + more)
        assert "receipt 2026-00001" in answer.text
    with desk.database.read() as session:
        assert session.scalars(select(Payment.amount)).all() == [Decimal("49.00")]


def test_a_wrong_amount_says_what_to_enter_and_keeps_what_was_typed(tina: Visitor, desk: Desk) -> None:
    booked = desk.confirmed()
    page = paid(tina, booked, "49.01")
    assert page.errors == ["Enter at most €49.00, which is still to pay"]
    assert page.form()["remark"] == "with thanks"
    page = tina.send(page, amount="many", method=None)
    assert page.errors == ["Enter an amount such as 49 or 49.50", "Choose how it is paid"]
    assert tina.send(page, amount="0", method="cash").errors == ["Enter an amount above zero"]


def test_the_manager_gives_money_back(mia: Visitor, tina: Visitor, desk: Desk) -> None:
    booked = desk.confirmed()
    paid(tina, booked, "30")
    tina.get(f"/shop/bookings/{booked.id}/refund", status=403)
    page = mia.get(f"/shop/bookings/{booked.id}/refund")
    page = mia.send(page, amount="30.01", method="cash")
    assert page.errors == ["Choose a reason from the list, or write your own"]
    page = mia.send(page, amount="30.01", own="A scratch that was ours.")
    assert page.errors == ["Enter at most €30.00, which was paid"]
    page = mia.send(page, amount="10")
    assert "receipt 2026-00002" in page.text
    assert "A scratch that was ours." in page.text
    assert "Still to pay €29.00" in page.text
    link = next(link for link in page.links if "/2/receipt.pdf" in link)
    words = PdfReader(BytesIO(mia.raw("GET", link).data)).pages[0].extract_text()
    assert "Given back: €10.00" in words


def test_the_takings_of_a_day_and_open_balances_are_listed_and_taken_along(
    mia: Visitor, tina: Visitor, desk: Desk
) -> None:
    assert "Nothing was taken on this day" in tina.get("/shop/takings").text
    assert "Every agreed booking is paid" in tina.get("/shop/open-balances").text
    booked = desk.confirmed()
    paid(tina, booked, "20", "transfer")
    page = tina.get("/shop/takings")
    assert "Bank transfer 1 €20.00 €0.00 €20.00" in page.text
    assert booked.reference in page.text
    assert "Nothing was taken" in tina.get("/shop/takings/2026-12-06").text
    tina.get("/shop/takings/nonsense", status=404)
    tina.get("/shop/takings/0001-01-01", status=404)
    csv = tina.raw("GET", "/shop/takings/2026-12-07/list.csv").get_data(as_text=True)
    assert f"2026-00001,2026-12-07 10:00,{booked.reference}" in csv
    assert tina.raw("GET", "/shop/takings/2026-12-07/list.doc").status_code == 404
    page = tina.get("/shop/open-balances")
    assert "€29.00" in page.text
    csv = tina.raw("GET", "/shop/open-balances/list.csv").get_data(as_text=True)
    assert "49.00,20.00,29.00,EUR" in csv
    assert tina.raw("GET", "/shop/open-balances/list.xlsx").status_code == 200


def test_whoever_ordered_has_a_copy_of_the_receipt_and_nobody_else(
    visitor: Visitor, tina: Visitor, desk: Desk
) -> None:
    booked = desk.confirmed()
    paid(tina, booked, "20")
    alice = visitor.as_(desk.cast.alice)
    page = alice.get(f"/my/bookings/{booked.id}")
    assert "€20.00 is paid, €29.00 is still to pay" in page.text
    link = next(link for link in page.links if link.endswith("receipt.pdf"))
    words = PdfReader(BytesIO(alice.raw("GET", link).data)).pages[0].extract_text()
    assert "Copy of the receipt" in words
    assert visitor.as_(desk.cast.carl).raw("GET", link).status_code == 404
    assert alice.raw("GET", f"/shop/bookings/{booked.id}/payments").status_code == 404
    tina.get("/shop/bookings/99999/payments", status=404)


def test_what_was_paid_of_a_cancelled_booking_comes_back(
    visitor: Visitor, mia: Visitor, tina: Visitor, desk: Desk
) -> None:
    booked = desk.confirmed()
    paid(tina, booked, "20")
    alice = visitor.as_(desk.cast.alice)
    alice.post(f"/my/bookings/{booked.id}/cancel")
    assert "€20.00 comes back to you" in alice.get(f"/my/bookings/{booked.id}").text
    page = mia.get(f"/shop/bookings/{booked.id}/refund")
    assert page.form()["amount"] == "20.00", "what is to give back is filled in"
    page = mia.send(page, method="cash", own="The booking was cancelled.")
    assert "Take a payment" not in page.text
    assert "What was paid has been given back" in alice.get(f"/my/bookings/{booked.id}").text
