"""Invoices as XML, read back and reckoned anew with the rules of EN 16931 and the element order of the UBL 2.1 schemas.

The orders are typed from the OASIS schemas UBL-Invoice-2.1, UBL-CreditNote-2.1 and UBL-CommonAggregateComponents-2.1, as far as we
use their elements. No official validator is run here.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from xml.etree.ElementTree import Element

import pytest
from defusedxml.ElementTree import fromstring
from defusedxml.minidom import parseString
from hypothesis import given

from portal.documents import ubl
from portal.domain.invoices import Invoice
from portal.domain.prices import Bill
from tests.documents import bills
from tests.domain import test_invoices as random

D = Decimal
ORDER = {
    "Invoice": "CustomizationID ID IssueDate DueDate InvoiceTypeCode Note DocumentCurrencyCode BuyerReference "
    "BillingReference AccountingSupplierParty AccountingCustomerParty Delivery PaymentMeans PaymentTerms AllowanceCharge "
    "TaxTotal LegalMonetaryTotal InvoiceLine",
    "CreditNote": "CustomizationID ID IssueDate CreditNoteTypeCode Note DocumentCurrencyCode BuyerReference "
    "BillingReference AccountingSupplierParty AccountingCustomerParty Delivery PaymentMeans PaymentTerms AllowanceCharge "
    "TaxTotal LegalMonetaryTotal CreditNoteLine",
    "Party": "PartyIdentification PartyName PostalAddress PartyTaxScheme PartyLegalEntity Contact",
    "PostalAddress": "StreetName AdditionalStreetName CityName PostalZone AddressLine Country",
    "PartyTaxScheme": "CompanyID TaxScheme",
    "PartyLegalEntity": "RegistrationName CompanyID",
    "Contact": "Name Telephone ElectronicMail",
    "InvoiceDocumentReference": "ID IssueDate",
    "PaymentMeans": "PaymentMeansCode PaymentID PayeeFinancialAccount",
    "PayeeFinancialAccount": "ID Name FinancialInstitutionBranch",
    "AllowanceCharge": "ChargeIndicator AllowanceChargeReasonCode AllowanceChargeReason Amount TaxCategory",
    "TaxTotal": "TaxAmount TaxSubtotal",
    "TaxSubtotal": "TaxableAmount TaxAmount TaxCategory",
    "TaxCategory": "ID Percent TaxExemptionReason TaxScheme",
    "ClassifiedTaxCategory": "ID Percent TaxExemptionReason TaxScheme",
    "LegalMonetaryTotal": "LineExtensionAmount TaxExclusiveAmount TaxInclusiveAmount AllowanceTotalAmount PrepaidAmount "
    "PayableRoundingAmount PayableAmount",
    "InvoiceLine": "ID InvoicedQuantity LineExtensionAmount Item Price",
    "CreditNoteLine": "ID CreditedQuantity LineExtensionAmount Item Price",
    "Item": "Name ClassifiedTaxCategory",
    "Price": "PriceAmount BaseQuantity",
}
NAMES = {
    "": "urn:oasis:names:specification:ubl:schema:xsd:Invoice-2",
    "cac": "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2",
    "cbc": "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2",
}


def local(node: Element) -> str:
    return node.tag.rpartition("}")[2]


def read(it: Invoice) -> Element:
    """The document, after every element was held to its place."""
    root: Element = fromstring(ubl.render(it))
    for node in root.iter():
        kids = [local(kid) for kid in node]
        assert kids or (node.text or "").strip(), f"{local(node)} says nothing"
        if local(node) in ORDER:
            order = ORDER[local(node)].split()
            assert kids == sorted(kids, key=order.index), local(node)
        else:
            assert len(kids) <= 1, local(node)
    return root


def amount(node: Element, path: str) -> Decimal:
    found = node.find("/".join(f"{{*}}{part}" for part in path.split("/")))
    return D("0.00") if found is None else D(found.text or "")


def text(node: Element, path: str) -> str:
    return node.findtext("/".join(f"{{*}}{part}" for part in path.split("/")), "")


def reckon(root: Element) -> None:
    """Every rule about sums, from nothing but the document."""
    lines = root.findall("{*}InvoiceLine") + root.findall("{*}CreditNoteLine")
    off = root.findall("{*}AllowanceCharge")
    parts = root.findall("{*}TaxTotal/{*}TaxSubtotal")
    total = root.find("{*}LegalMonetaryTotal")
    assert total is not None
    nets = sum(amount(line, "LineExtensionAmount") for line in lines)
    allowed = sum(amount(one, "Amount") for one in off)
    assert amount(total, "LineExtensionAmount") == nets  # BR-CO-10
    assert amount(total, "AllowanceTotalAmount") == allowed  # BR-CO-11
    assert amount(total, "TaxExclusiveAmount") == nets - allowed  # BR-CO-13
    assert amount(root, "TaxTotal/TaxAmount") == sum(amount(part, "TaxAmount") for part in parts)  # BR-CO-14
    assert amount(total, "TaxInclusiveAmount") == nets - allowed + amount(
        root, "TaxTotal/TaxAmount"
    )  # BR-CO-15
    assert amount(total, "PayableAmount") == (  # BR-CO-16
        amount(total, "TaxInclusiveAmount")
        - amount(total, "PrepaidAmount")
        + amount(total, "PayableRoundingAmount")
    )
    for part in parts:
        key = text(part, "TaxCategory/ID"), text(part, "TaxCategory/Percent")
        taxable = sum(
            amount(line, "LineExtensionAmount")
            for line in lines
            if (text(line, "Item/ClassifiedTaxCategory/ID"), text(line, "Item/ClassifiedTaxCategory/Percent"))
            == key
        ) - sum(
            amount(one, "Amount")
            for one in off
            if (text(one, "TaxCategory/ID"), text(one, "TaxCategory/Percent")) == key
        )
        assert amount(part, "TaxableAmount") == taxable  # BR-S-08 and its like
        rate = D(key[1] or 0)
        assert amount(part, "TaxAmount") == (taxable * rate / 100).quantize(
            D("0.01"), ROUND_HALF_UP
        )  # BR-CO-17
        assert (key[0] == "O") == (key[1] == "")  # BR-48, BR-O-05
    for line in lines:
        count = amount(line, "InvoicedQuantity") or amount(line, "CreditedQuantity")
        per = amount(line, "Price/BaseQuantity") or 1
        assert count * amount(line, "Price/PriceAmount") == per * amount(line, "LineExtensionAmount")


@pytest.mark.parametrize("it", [bills.invoice(), bills.credit_note(), bills.untaxed()])
def test_what_the_document_says_adds_up(it: Invoice) -> None:
    reckon(read(it))


@given(bill=random.bills())
def test_it_adds_up_for_any_bill(bill: Bill) -> None:
    reckon(read(random.of(bill, "")))


def test_an_invoice_says_who_what_and_how_to_pay() -> None:
    root = read(bills.invoice())
    assert root.tag == f"{{{NAMES['']}}}Invoice"
    for path, said in {
        "CustomizationID": "urn:cen.eu:en16931:2017",
        "ID": "INV-2026-00042",
        "IssueDate": "2026-12-07",
        "DueDate": "2026-12-21",
        "InvoiceTypeCode": "380",
        "DocumentCurrencyCode": "EUR",
        "BuyerReference": "Juniors 2027",
        "AccountingSupplierParty/Party/PartyLegalEntity/RegistrationName": "Hollowmere Slipeverksted AS",
        "AccountingSupplierParty/Party/PartyName/Name": "Hollowmere Ski Grinding",
        "AccountingSupplierParty/Party/PartyTaxScheme/CompanyID": "NO999999999MVA",
        "AccountingSupplierParty/Party/PostalAddress/Country/IdentificationCode": "NO",
        "AccountingCustomerParty/Party/PartyLegalEntity/RegistrationName": "Alder Valley Ski Club",
        "AccountingCustomerParty/Party/PostalAddress/AddressLine/Line": "Second floor, 0001 Alder Valley",
        "AccountingCustomerParty/Party/PartyIdentification/ID": "888 888 888",
        "Delivery/ActualDeliveryDate": "2026-12-04",
        "PaymentMeans/PaymentMeansCode": "58",
        "PaymentMeans/PaymentID": "INV-2026-00042",
        "PaymentMeans/PayeeFinancialAccount/ID": "NO9386011117947",
        "AllowanceCharge/AllowanceChargeReason": "Club saving of 10 % for 12 pairs",
        "LegalMonetaryTotal/PrepaidAmount": "120.42",
        "LegalMonetaryTotal/PayableAmount": "481.68",
    }.items():
        assert text(root, path) == said, path


def test_a_credit_note_is_a_document_of_its_own_and_names_what_it_takes_back() -> None:
    root = read(bills.credit_note())
    assert root.tag == "{urn:oasis:names:specification:ubl:schema:xsd:CreditNote-2}CreditNote"
    assert text(root, "CreditNoteTypeCode") == "381"
    assert text(root, "BillingReference/InvoiceDocumentReference/ID") == "INV-2026-00042"
    assert text(root, "BillingReference/InvoiceDocumentReference/IssueDate") == "2026-12-07"
    assert "<b>Γιώργος & 雪村" in text(root, "Note")
    assert root.find("{*}DueDate") is None
    assert root.find("{*}PaymentMeans") is None


def test_a_workshop_without_tax_says_why_and_names_no_vat_number() -> None:
    root = read(bills.untaxed())
    assert text(root, "TaxTotal/TaxSubtotal/TaxCategory/ID") == "O"
    assert text(root, "TaxTotal/TaxSubtotal/TaxCategory/TaxExemptionReason") == bills.NOT_TAXED
    assert [node.text for node in root.iter(f"{{{NAMES['cbc']}}}ID")].count("VAT") == 2  # of line and sum
    assert text(root, "PaymentMeans/PaymentMeansCode") == "30"
    assert text(root, "AccountingSupplierParty/Party/PartyIdentification/ID") == "12/345"
    assert root.find("{*}AccountingSupplierParty/{*}Party/{*}PartyTaxScheme") is None  # BR-O-02


def test_the_same_invoice_gives_the_same_bytes_whatever_people_wrote() -> None:
    odd = bills.invoice(remark="a\x00b\x0bc\ud800 <ns0:x> xmlns:ns0= ]]>")
    assert ubl.render(odd) == ubl.render(odd)
    assert "abc <ns0:x> xmlns:ns0= ]]>" in text(read(odd), "Note")
    document = parseString(ubl.render(odd)).documentElement
    assert document is not None
    assert (document.tagName, document.prefix) == ("Invoice", None)
    assert document.getAttribute("xmlns") == NAMES[""]
