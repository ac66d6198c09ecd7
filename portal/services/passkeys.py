"""Passkeys (W3C WebAuthn): what a browser is asked, and whether its answer is right. Reads and writes no row.

A challenge is 32 random bytes in base64url, as browsers write it.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from ipaddress import ip_address
from urllib.parse import urlsplit

import webauthn
from webauthn.helpers import base64url_to_bytes, bytes_to_base64url
from webauthn.helpers.exceptions import WebAuthnException
from webauthn.helpers.structs import (
    AuthenticatorSelectionCriteria,
    PublicKeyCredentialDescriptor,
    ResidentKeyRequirement,
    UserVerificationRequirement,
)

# An answer is some hundred bytes; a longer one is not looked at.
LONGEST_ANSWER = 20_000
LONGEST_ID = 1400


@dataclass(frozen=True)
class Site:
    """What a passkey is bound to: the address that people type, and what it is called."""

    base_url: str
    name: str

    @property
    def rp_id(self) -> str:
        return urlsplit(self.base_url).hostname or ""

    @property
    def origin(self) -> str:
        """The address as a browser writes it: in small letters, and without the port that goes without saying."""
        parts = urlsplit(self.base_url.lower())
        usual = {"https": 443, "http": 80}.get(parts.scheme)
        host = f"[{self.rp_id}]" if ":" in self.rp_id else self.rp_id
        return f"{parts.scheme}://{host}" + ("" if parts.port in {None, usual} else f":{parts.port}")

    @property
    def can_passkeys(self) -> bool:
        """Whether browsers make passkeys for this address: over https and for a name, or on one's own machine."""
        try:
            ip_address(self.rp_id)
        except ValueError:
            return self.origin.startswith("https://") or self.rp_id == "localhost"
        return False


@dataclass(frozen=True)
class Key:
    """The public half of a passkey, and how often it says it was used."""

    credential_id: str
    public_key: bytes
    sign_count: int


def ask_for_new(
    site: Site, challenge: str, person_id: int, email: str, name: str, known: Sequence[str]
) -> str:
    """What the browser needs to make a passkey, as JSON; devices that have one of the ``known`` make no second."""
    options = webauthn.generate_registration_options(
        rp_id=site.rp_id,
        rp_name=site.name,
        user_id=f"person {person_id}".encode(),
        user_name=email,
        user_display_name=name,
        challenge=base64url_to_bytes(challenge),
        authenticator_selection=AuthenticatorSelectionCriteria(
            # Kept on the device, so that signing in need not tell a stranger which keys there are.
            resident_key=ResidentKeyRequirement.REQUIRED,
            require_resident_key=True,
            user_verification=UserVerificationRequirement.REQUIRED,
        ),
        exclude_credentials=[
            PublicKeyCredentialDescriptor(id=base64url_to_bytes(credential_id)) for credential_id in known
        ],
    )
    return webauthn.options_to_json(options)


def new_key(site: Site, challenge: str, answer: str) -> Key | None:
    """The passkey that was made for this challenge, or nothing when the answer is not as it must be."""
    if len(answer) > LONGEST_ANSWER:
        return None
    try:
        found = webauthn.verify_registration_response(
            credential=answer,
            expected_challenge=base64url_to_bytes(challenge),
            expected_rp_id=site.rp_id,
            expected_origin=site.origin,
            require_user_verification=True,
        )
    except (WebAuthnException, *MALFORMED):
        return None
    credential_id = bytes_to_base64url(found.credential_id)
    if len(credential_id) > LONGEST_ID:
        return None
    return Key(credential_id, found.credential_public_key, found.sign_count)


def ask_to_show(site: Site, challenge: str) -> str:
    """What the browser needs to show a passkey, as JSON. No key is named: that would tell whether there is one."""
    options = webauthn.generate_authentication_options(
        rp_id=site.rp_id,
        challenge=base64url_to_bytes(challenge),
        user_verification=UserVerificationRequirement.REQUIRED,
    )
    return webauthn.options_to_json(options)


def named_in(answer: str) -> str | None:
    """The credential that an answer says it is from."""
    if len(answer) > LONGEST_ANSWER:
        return None
    try:
        told = json.loads(answer)
    except (ValueError, RecursionError):
        return None
    found = told.get("id") if isinstance(told, dict) else None
    return found if isinstance(found, str) and len(found) <= LONGEST_ID and "\0" not in found else None


def counted(site: Site, challenge: str, answer: str, key: Key) -> int | None:
    """How often the key now says it was used, when it signed this challenge; else nothing."""
    try:
        found = webauthn.verify_authentication_response(
            credential=answer,
            expected_challenge=base64url_to_bytes(challenge),
            expected_rp_id=site.rp_id,
            expected_origin=site.origin,
            credential_public_key=key.public_key,
            credential_current_sign_count=key.sign_count,
            require_user_verification=True,
        )
    except (WebAuthnException, *MALFORMED):
        return None
    return found.new_sign_count


# What the library lets through from an answer that somebody made up.
MALFORMED = (ValueError, TypeError, KeyError, IndexError, AttributeError, RecursionError, OverflowError)
