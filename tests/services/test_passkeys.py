"""Passkeys against a device in software."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.services.passkeys import Key, Site, ask_for_new, ask_to_show, counted, named_in, new_key
from tests.authenticators import PRESENT, Device, b64

SITE = Site("https://grind.example.org", "Hollowmere")
CHALLENGE = b64(b"\x07" * 32)
OTHER = b64(b"\x08" * 32)


def made(device: Device, **bent: Any) -> Key | None:
    options = ask_for_new(SITE, CHALLENGE, 3, "ada@example.test", "Ada", ["AAAA"])
    return new_key(SITE, CHALLENGE, device.make(options, **bent))


def test_a_device_is_kept_and_shows_itself_again() -> None:
    device = Device(SITE.origin)
    key = made(device)
    assert key is not None
    assert key.credential_id == b64(device.credential_id)
    answer = device.show(ask_to_show(SITE, OTHER))
    assert named_in(answer) == key.credential_id
    assert counted(SITE, OTHER, answer, key) == 1


def test_what_is_asked_keeps_the_key_on_the_device_and_names_none_to_strangers() -> None:
    options = json.loads(ask_for_new(SITE, CHALLENGE, 3, "ada@example.test", "Ada", ["AAAA"]))
    assert options["rp"] == {"id": "grind.example.org", "name": "Hollowmere"}
    assert options["authenticatorSelection"]["userVerification"] == "required"
    assert options["authenticatorSelection"]["residentKey"] == "required"
    assert [one["id"] for one in options["excludeCredentials"]] == ["AAAA"]
    shown = json.loads(ask_to_show(SITE, CHALLENGE))
    assert shown.get("allowCredentials", []) == []
    assert shown["userVerification"] == "required"


@pytest.mark.parametrize(
    "bent",
    [
        {"challenge": OTHER},
        {"origin": "https://evil.example"},
        {"origin": "http://grind.example.org"},
        {"rp_id": "evil.example"},
    ],
)
def test_an_answer_for_something_else_is_none(bent: dict[str, str]) -> None:
    device = Device(SITE.origin)
    assert made(device, **bent) is None
    key = made(device)
    assert key is not None
    assert counted(SITE, CHALLENGE, device.show(ask_to_show(SITE, CHALLENGE), **bent), key) is None


def test_a_person_who_was_not_verified_by_the_device_is_not_let_in() -> None:
    device = Device(SITE.origin)
    key = made(device)
    assert key is not None
    device.flags = PRESENT
    assert made(device) is None
    assert counted(SITE, CHALLENGE, device.show(ask_to_show(SITE, CHALLENGE)), key) is None


def test_another_device_and_a_copied_one_are_not_let_in() -> None:
    device, other = Device(SITE.origin), Device(SITE.origin)
    key = made(device)
    assert key is not None
    assert counted(SITE, CHALLENGE, other.show(ask_to_show(SITE, CHALLENGE)), key) is None
    # A copy counts for itself and falls behind (WebAuthn, 6.1.1).
    used = Key(key.credential_id, key.public_key, 5)
    assert counted(SITE, CHALLENGE, device.show(ask_to_show(SITE, CHALLENGE)), used) is None


@given(st.one_of(st.text(), st.recursive(st.none() | st.text() | st.integers(), st.lists).map(json.dumps)))
def test_what_is_no_answer_is_refused_without_falling_over(text: str) -> None:
    assert new_key(SITE, CHALLENGE, text) is None
    assert counted(SITE, CHALLENGE, text, Key("AAAA", b"", 0)) is None
    assert named_in(text) is None


@pytest.mark.parametrize("part", ["clientDataJSON", "attestationObject", "authenticatorData", "signature"])
@pytest.mark.parametrize(
    "value", ["", "AAAA", "!!!", b64(b"\xff" * 300), b64(b"{}"), b64(b"\xa1\x63fmt\x60"), None, 7]
)
def test_a_broken_part_is_refused_without_falling_over(part: str, value: Any) -> None:
    device = Device(SITE.origin)
    key = made(device)
    assert key is not None
    new = json.loads(device.make(ask_for_new(SITE, CHALLENGE, 3, "a@example.test", "A", [])))
    shown = json.loads(device.show(ask_to_show(SITE, CHALLENGE)))
    if part in new["response"]:
        new["response"][part] = value
        assert new_key(SITE, CHALLENGE, json.dumps(new)) is None
    if part in shown["response"]:
        shown["response"][part] = value
        assert counted(SITE, CHALLENGE, json.dumps(shown), key) is None


@pytest.mark.parametrize(
    ("address", "can"),
    [
        ("https://grind.example.org", True),
        ("http://grind.example.org", False),
        ("http://localhost:8460", True),
        ("http://127.0.0.1:8460", False),
        ("https://192.0.2.1", False),
        ("https://[2001:db8::1]", False),
    ],
)
def test_browsers_make_passkeys_for_some_addresses_only(address: str, can: bool) -> None:
    assert Site(address, "x").can_passkeys is can


@pytest.mark.parametrize(
    ("address", "origin"),
    [
        ("https://Grind.Example.org:443", "https://grind.example.org"),
        ("https://grind.example.org:8443", "https://grind.example.org:8443"),
        ("http://localhost:8460", "http://localhost:8460"),
    ],
)
def test_the_address_is_compared_as_browsers_write_it(address: str, origin: str) -> None:
    assert Site(address, "x").origin == origin
