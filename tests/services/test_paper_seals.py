"""Codes of papers: read back, told from forged ones, and read after the key has changed."""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
from dataclasses import replace
from datetime import date

import pytest

from portal.domain.paper_facts import FleetStatement, PairStatement, Statement
from portal.services.paper_seals import PaperSeals

OLD, NEW = "o" * 40, "n" * 40
PAIR = PairStatement(
    42, date(2026, 12, 10), 6, 1, 0, date(2026, 6, 27), "Marsh “Æ” 3", 890, 9, (7, 12), "abcDEF-_1234"
)
EMPTY = PairStatement(1, date(2026, 12, 10), 0, 0, 0, None, "", None, None, None, "abcDEF-_1234")
FLEET = FleetStatement((3, 42, 77), date(2026, 12, 10), "abcDEF-_1234")


@pytest.mark.parametrize("it", [PAIR, EMPTY, FLEET])
def test_what_was_signed_is_read_back_with_its_check_code_and_is_always_the_same(it: Statement) -> None:
    seals = PaperSeals([NEW])
    assert seals.read(seals.token(it)) == (it, seals.code(it))
    assert seals.token(it) == PaperSeals([NEW]).token(it)
    assert seals.has_code(it, seals.code(it).lower().replace(" ", "-"))
    assert len(seals.token(it)) < 200


def test_the_signature_is_hmac_sha_256() -> None:
    # RFC 2104 by the standard library; that itself gives test case 2 of RFC 4231.
    assert (
        hmac.new(b"Jefe", b"what do ya want for nothing?", hashlib.sha256)
        .hexdigest()
        .startswith("5bdcc146bf60")
    )
    told, _, signature = PaperSeals([NEW]).token(EMPTY).partition(".")
    key = hashlib.sha256(b"rillbook-paper:" + NEW.encode()).digest()
    expected = hmac.new(key, told.encode(), "sha256").digest()[:16]
    assert signature == base64.urlsafe_b64encode(expected).decode().rstrip("=")


def test_a_paper_of_an_older_key_is_known_as_long_as_the_key_is_listed() -> None:
    token, code = PaperSeals([OLD]).token(PAIR), PaperSeals([OLD]).code(PAIR)
    rotated = PaperSeals([NEW, OLD])
    assert rotated.read(token) == (PAIR, code)
    assert rotated.has_code(PAIR, code)
    assert rotated.token(PAIR) != token
    assert PaperSeals([NEW]).read(token) is None
    assert not PaperSeals([NEW]).has_code(PAIR, code)


def test_nothing_else_is_read() -> None:
    seals = PaperSeals([NEW])
    token = seals.token(PAIR)
    told, _, signature = token.partition(".")
    other = json.dumps(["p", "2026-12-10", 43, 6, 1, 0, "", "", None, None, "x"]).encode()
    forged = base64.urlsafe_b64encode(other).decode().rstrip("=")
    for wrong in (
        *(token[:cut] for cut in range(0, len(token), 7)),
        token[:-1],
        f"{told}.",
        f".{signature}",
        f"{forged}.{signature}",
        f"{told}.{'A' * len(signature)}",
        token.swapcase(),
        f"{token}A",
        f"{told}.{signature}.{signature}",
        "é.é",
        "x" * 10_000,
    ):
        assert seals.read(wrong) is None, wrong[:60]


def test_a_check_code_is_for_one_paper_of_one_day() -> None:
    seals = PaperSeals([NEW])
    others = (
        replace(PAIR, pair=43),
        replace(PAIR, issued_on=date(2026, 12, 11)),
        replace(PAIR, digest="abcDEF-_1235"),
        FleetStatement((42,), PAIR.issued_on, PAIR.digest),
    )
    codes = {seals.code(one) for one in (PAIR, *others)}
    assert len(codes) == 5
    # How many grinds are left is not known again from the record.
    assert seals.code(replace(PAIR, grinds_left=3)) == seals.code(PAIR)
    assert not seals.has_code(PAIR, "")
    assert not seals.has_code(PAIR, seals.code(PAIR)[:-1])
    assert not seals.has_code(PAIR, "ÆØÅ")
