"""What a square code for a payment says: EPC069-12, "Quick Response Code: Guidelines to Enable Data Capture for the Initiation of a
SEPA Credit Transfer", version 2.1 of the European Payments Council."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

LEAST, MOST = Decimal("0.01"), Decimal("999999999.99")
NAME, REMITTANCE, REFERENCE, INFORMATION = 70, 140, 35, 70
BYTES = 331
# The country, two check digits, and what the country itself says, at most 34 in all (ISO 13616-1).
IBAN = re.compile(r"[A-Z]{2}[0-9]{2}[A-Z0-9]{11,30}", re.ASCII)
# Bank, country and town, and the branch or not (ISO 9362).
BIC = re.compile(r"[A-Z0-9]{4}[A-Z]{2}[A-Z0-9]{2}([A-Z0-9]{3})?", re.ASCII)


def tidy(number: str) -> str:
    """An account or bank number without the spaces that people write into it."""
    return "".join(number.split()).upper()


def is_iban(number: str) -> bool:
    """Whether the check digits are right: ISO 7064, MOD 97-10, as ISO 13616-1 uses it. Without spaces."""
    if not IBAN.fullmatch(number):
        return False
    return int("".join(str(int(letter, 36)) for letter in number[4:] + number[:4])) % 97 == 1


def is_bic(number: str) -> bool:
    """Whether it has the form of a bank's number."""
    return BIC.fullmatch(number) is not None


@dataclass(frozen=True)
class Transfer:
    """A payment in euro: ``reference`` is structured (ISO 11649), ``text`` is for people to read, and one excludes the other."""

    name: str
    iban: str
    amount: Decimal
    bic: str = ""
    purpose: str = ""
    reference: str = ""
    text: str = ""
    information: str = ""


def payload(it: Transfer) -> str:
    """The lines of the code. ``ValueError`` for what the guidelines do not allow."""
    lines = [
        "BCD",
        # Without the number of a bank only the second version will do.
        "001" if it.bic else "002",
        "1",  # UTF-8
        "SCT",
        it.bic,
        it.name,
        it.iban,
        f"EUR{it.amount:.2f}",
        it.purpose,
        it.reference,
        it.text,
        it.information,
    ]
    wrong = {
        "name": not 0 < len(it.name) <= NAME,
        "account": not is_iban(it.iban),
        "bank": bool(it.bic) and not is_bic(it.bic),
        "amount": not LEAST <= it.amount <= MOST,
        "purpose": len(it.purpose) > 4,
        "reference": len(it.reference) > REFERENCE or bool(it.reference and it.text),
        "text": len(it.text) > REMITTANCE,
        "information": len(it.information) > INFORMATION,
        "line": any("\n" in line or "\r" in line for line in lines),
    }
    found = [name for name, is_wrong in wrong.items() if is_wrong]
    if found:
        raise ValueError(f"no payment can be made of this: {', '.join(found)}")
    # Nothing stands behind the last line that says something.
    said = "\n".join(lines).rstrip("\n")
    if len(said.encode()) > BYTES:
        raise ValueError("no payment can be made of this: it is too long")
    return said
