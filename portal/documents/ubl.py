"""An invoice as XML: UBL 2.1 (ISO/IEC 19845), by the syntax binding of EN 16931 (CEN/TS 16931-3-2).

Elements stand in the order of the UBL schemas. What is not said has no element at all.
"""

from __future__ import annotations

import re
from decimal import Decimal
from xml.etree import ElementTree as ET

from portal.domain.invoices import Allowance, Category, Invoice, InvoiceKind, InvoiceLine, Party, TaxPart

# The rules that the document keeps (BT-24).
RULES = "urn:cen.eu:en16931:2017"
UBL = "urn:oasis:names:specification:ubl:schema:xsd:"
CAC, CBC = f"{UBL}CommonAggregateComponents-2", f"{UBL}CommonBasicComponents-2"
DOCUMENTS = {InvoiceKind.INVOICE: "Invoice", InvoiceKind.CREDIT_NOTE: "CreditNote"}
# What a thing is counted in: one of it (UN/ECE Recommendation 20).
ONE = "C62"
# UNCL 4461: a credit transfer, and one within SEPA.
TRANSFER, SEPA = "30", "58"
# UNCL 5189: a discount.
DISCOUNT = "95"
# What XML 1.0 cannot say at all.
UNSAYABLE = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def render(it: Invoice) -> bytes:
    """The document; the same invoice gives the same bytes."""
    kind = DOCUMENTS[it.kind]
    root = ET.Element(f"{{{UBL}{kind}-2}}{kind}")
    _head(root, it)
    _seller(_part(_part(root, "AccountingSupplierParty"), "Party"), it)
    _buyer(_part(_part(root, "AccountingCustomerParty"), "Party"), it.buyer)
    if it.supplied_on:
        _say(_part(root, "Delivery"), "ActualDeliveryDate", it.supplied_on.isoformat())
    _payment(root, it)
    for allowance in it.amounts.allowances:
        _allowance(root, allowance, it.currency)
    total = _part(root, "TaxTotal")
    _money(total, "TaxAmount", it.amounts.tax, it.currency)
    for part in it.amounts.taxes:
        _tax(total, part, it.currency)
    _totals(root, it)
    for number, line in enumerate(it.amounts.lines, start=1):
        _line(root, it, number, line)
    return _written(root, kind)


def _written(root: ET.Element, kind: str) -> bytes:
    ET.register_namespace("cac", CAC)
    ET.register_namespace("cbc", CBC)
    ET.indent(root)
    said = ET.tostring(root, encoding="unicode")
    # The document's own name needs no prefix; the library gives it the first that is free.
    opened, body = said.split(">", 1)
    opened = opened.replace(f"<ns0:{kind}", f"<{kind}").replace("xmlns:ns0=", "xmlns=")
    body = body.removesuffix(f"</ns0:{kind}>")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{opened}>{body}</{kind}>\n'.encode()


def _part(parent: ET.Element, name: str) -> ET.Element:
    return ET.SubElement(parent, f"{{{CAC}}}{name}")


def _say(parent: ET.Element, name: str, text: str, **attributes: str) -> None:
    clean = UNSAYABLE.sub("", text).strip()
    if clean:
        ET.SubElement(parent, f"{{{CBC}}}{name}", attributes).text = clean


def _money(parent: ET.Element, name: str, amount: Decimal, currency: str) -> None:
    _say(parent, name, f"{amount:f}", currencyID=currency)


def _head(root: ET.Element, it: Invoice) -> None:
    is_invoice = it.kind is InvoiceKind.INVOICE
    _say(root, "CustomizationID", RULES)
    _say(root, "ID", it.number)
    _say(root, "IssueDate", it.issued_on.isoformat())
    if is_invoice and it.due_on:
        _say(root, "DueDate", it.due_on.isoformat())
    _say(root, f"{DOCUMENTS[it.kind]}TypeCode", it.kind.type_code)
    _say(root, "Note", "\n".join(filter(None, (it.booking, it.reason, it.remark))))
    _say(root, "DocumentCurrencyCode", it.currency)
    _say(root, "BuyerReference", it.buyer_reference)
    if it.corrects:
        before = _part(_part(root, "BillingReference"), "InvoiceDocumentReference")
        _say(before, "ID", it.corrects)
        if it.corrects_of:
            _say(before, "IssueDate", it.corrects_of.isoformat())


def _address(parent: ET.Element, party: Party) -> None:
    address = _part(parent, "PostalAddress")
    # The standard has three lines for what stands above the town (BT-35 to BT-37, BT-50 to BT-52 and BT-162, BT-163).
    lines = [*party.lines[:2], ", ".join(party.lines[2:])]
    for name, line in zip(("StreetName", "AdditionalStreetName"), lines, strict=False):
        _say(address, name, line)
    _say(address, "CityName", party.city)
    _say(address, "PostalZone", party.post_code)
    if len(party.lines) > 2:
        _say(_part(address, "AddressLine"), "Line", lines[-1])
    _say(_part(address, "Country"), "IdentificationCode", party.country)


def _registered(parent: ET.Element, number: str, scheme: str) -> None:
    if number:
        tax = _part(parent, "PartyTaxScheme")
        _say(tax, "CompanyID", number)
        _say(_part(tax, "TaxScheme"), "ID", scheme)


def _identified(parent: ET.Element, number: str) -> None:
    if number:
        _say(_part(parent, "PartyIdentification"), "ID", number)


def _seller(parent: ET.Element, it: Invoice) -> None:
    party = it.seller
    # Without tax there is no registration for it (BR-O-02), and whoever has only a tax number is told by that (BR-CO-26):
    # common practice.
    outside = any(part.category is Category.OUTSIDE for part in it.amounts.taxes)
    only = outside or not (party.vat_number or party.register_number)
    _identified(parent, party.tax_number if only else "")
    _say(_part(parent, "PartyName"), "Name", it.trading_as)
    _address(parent, party)
    _registered(parent, party.vat_number, "VAT")
    _registered(parent, "" if outside else party.tax_number, "TAX")
    legal = _part(parent, "PartyLegalEntity")
    _say(legal, "RegistrationName", party.name)
    _say(legal, "CompanyID", party.register_number)
    if party.phone or party.email:
        contact = _part(parent, "Contact")
        _say(contact, "Name", it.trading_as)
        _say(contact, "Telephone", party.phone)
        _say(contact, "ElectronicMail", party.email)


def _buyer(parent: ET.Element, party: Party) -> None:
    _identified(parent, party.tax_number)
    _address(parent, party)
    _registered(parent, party.vat_number, "VAT")
    _say(_part(parent, "PartyLegalEntity"), "RegistrationName", party.name)


def _payment(root: ET.Element, it: Invoice) -> None:
    if it.account is not None:
        means = _part(root, "PaymentMeans")
        _say(means, "PaymentMeansCode", SEPA if it.currency == "EUR" else TRANSFER)
        _say(means, "PaymentID", it.remittance)
        account = _part(means, "PayeeFinancialAccount")
        _say(account, "ID", it.account.iban)
        _say(account, "Name", it.account.holder)
        if it.account.bic:
            _say(_part(account, "FinancialInstitutionBranch"), "ID", it.account.bic)
    if it.terms:
        _say(_part(root, "PaymentTerms"), "Note", it.terms)


def _category(
    parent: ET.Element, name: str, category: Category, rate: Decimal | None, reason: str = ""
) -> None:
    made = _part(parent, name)
    _say(made, "ID", category.value)
    if rate is not None:
        _say(made, "Percent", f"{rate.normalize():f}")
    _say(made, "TaxExemptionReason", reason)
    _say(_part(made, "TaxScheme"), "ID", "VAT")


def _allowance(root: ET.Element, it: Allowance, currency: str) -> None:
    made = _part(root, "AllowanceCharge")
    _say(made, "ChargeIndicator", "false")
    _say(made, "AllowanceChargeReasonCode", DISCOUNT)
    _say(made, "AllowanceChargeReason", it.reason)
    _money(made, "Amount", it.net, currency)
    _category(made, "TaxCategory", it.category, it.rate)


def _tax(parent: ET.Element, part: TaxPart, currency: str) -> None:
    made = _part(parent, "TaxSubtotal")
    _money(made, "TaxableAmount", part.taxable, currency)
    _money(made, "TaxAmount", part.tax, currency)
    _category(made, "TaxCategory", part.category, part.rate, part.reason)


def _totals(root: ET.Element, it: Invoice) -> None:
    made = _part(root, "LegalMonetaryTotal")
    amounts = it.amounts
    _money(made, "LineExtensionAmount", amounts.lines_net, it.currency)
    _money(made, "TaxExclusiveAmount", amounts.net, it.currency)
    _money(made, "TaxInclusiveAmount", amounts.total, it.currency)
    optional = (
        ("AllowanceTotalAmount", amounts.allowances_net),
        ("PrepaidAmount", it.prepaid),
        ("PayableRoundingAmount", amounts.rounding),
    )
    for name, amount in optional:
        if amount:
            _money(made, name, amount, it.currency)
    _money(made, "PayableAmount", it.payable, it.currency)


def _line(root: ET.Element, it: Invoice, number: int, line: InvoiceLine) -> None:
    is_invoice = it.kind is InvoiceKind.INVOICE
    made = _part(root, f"{DOCUMENTS[it.kind]}Line")
    _say(made, "ID", str(number))
    _say(made, "InvoicedQuantity" if is_invoice else "CreditedQuantity", str(line.count), unitCode=ONE)
    _money(made, "LineExtensionAmount", line.net, it.currency)
    item = _part(made, "Item")
    _say(item, "Name", line.name)
    _category(item, "ClassifiedTaxCategory", line.category, line.rate)
    price = _part(made, "Price")
    _money(price, "PriceAmount", line.price, it.currency)
    if line.per > 1:
        _say(price, "BaseQuantity", str(line.per), unitCode=ONE)
