"""Codes by the clock, held against RFC 6238, appendix B."""

from __future__ import annotations

from base64 import b32encode
from datetime import UTC, datetime, timedelta
from urllib.parse import parse_qs, urlsplit

import pytest

from portal.services.authenticators import address_of, in_groups, step_of

# The seed of the appendix for SHA-1.
SECRET = b32encode(b"12345678901234567890").decode()
# (seconds since 1970, T, the eight figures of the appendix): a code of six figures is the last six of them, since both are
# the same number modulo a power of ten (RFC 4226, 5.3).
APPENDIX_B = [
    (59, 0x1, "94287082"),
    (1111111109, 0x23523EC, "07081804"),
    (1111111111, 0x23523ED, "14050471"),
    (1234567890, 0x273EF07, "89005924"),
    (2000000000, 0x3F940AA, "69279037"),
    (20000000000, 0x27BC86AA, "65353130"),
]


def at(seconds: int) -> datetime:
    return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=seconds)


@pytest.mark.parametrize(("seconds", "step", "figures"), APPENDIX_B)
def test_the_codes_are_those_of_the_standard(seconds: int, step: int, figures: str) -> None:
    assert step_of(SECRET, figures[-6:], at(seconds), 0) == step
    assert step_of(SECRET, f" {figures[2:5]} {figures[5:]} ", at(seconds), 0) == step


def test_a_code_is_good_one_step_before_and_after_its_own() -> None:
    # The step of 1111111109 s ends with that second: the next one is in 1111111111's.
    start = 0x23523EC * 30
    for off, is_good in ((-31, False), (-30, True), (0, True), (29, True), (59, True), (60, False)):
        assert (step_of(SECRET, "081804", at(start + off), 0) is not None) is is_good, off


def test_no_code_is_good_twice_and_none_before_it() -> None:
    step = step_of(SECRET, "050471", at(1111111111), 0)
    assert step is not None
    assert step_of(SECRET, "050471", at(1111111111), step) is None
    assert step_of(SECRET, "081804", at(1111111111), step) is None


@pytest.mark.parametrize(
    "code", ["", "81804", "0081804", "abcdef", "٠٨١٨٠٤", "08180４", "081805", "0818 04 "]
)
def test_nothing_else_is_a_code(code: str) -> None:
    right = code.replace(" ", "") == "081804"
    assert (step_of(SECRET, code, at(1111111109), 0) is not None) is right


def test_the_square_code_says_what_apps_read() -> None:
    told = urlsplit(address_of(SECRET, "ada@example.test", "Hollowmere & Sons"))
    assert (told.scheme, told.netloc) == ("otpauth", "totp")
    values = parse_qs(told.query)
    assert values["secret"] == [SECRET]
    assert values["issuer"] == ["Hollowmere & Sons"]
    assert "ada%40example.test" in told.path
    assert in_groups("ABCDEFGHIJ") == "ABCD EFGH IJ"
