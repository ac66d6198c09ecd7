"""A device that keeps passkeys, in software: what a browser would send for it (W3C WebAuthn, 5.1 and 6.1)."""

from __future__ import annotations

import hashlib
import json
import struct
from base64 import urlsafe_b64decode, urlsafe_b64encode
from dataclasses import dataclass, field
from typing import Any

import cbor2
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec

PRESENT, VERIFIED, WITH_KEY = 0x01, 0x04, 0x40


def b64(data: bytes) -> str:
    return urlsafe_b64encode(data).decode().rstrip("=")


def raw(text: str) -> bytes:
    return urlsafe_b64decode(text + "=" * (-len(text) % 4))


@dataclass
class Device:
    """Holds one key pair; what it says can be bent by a test."""

    origin: str
    credential_id: bytes = b"a device in a test"
    flags: int = PRESENT | VERIFIED
    count: int = 0
    key: ec.EllipticCurvePrivateKey = field(default_factory=lambda: ec.generate_private_key(ec.SECP256R1()))

    def make(self, options: str, **bent: Any) -> str:
        """The answer to ``navigator.credentials.create``."""
        asked = json.loads(options)
        numbers = self.key.public_key().public_numbers()
        # COSE_Key of an ES256 key (RFC 9053, 7.1).
        cose = cbor2.dumps(
            {1: 2, 3: -7, -1: 1, -2: numbers.x.to_bytes(32, "big"), -3: numbers.y.to_bytes(32, "big")}
        )
        attested = bytes(16) + struct.pack(">H", len(self.credential_id)) + self.credential_id + cose
        data = self._data(bent.get("rp_id", asked["rp"]["id"]), self.flags | WITH_KEY) + attested
        client = self._client("webauthn.create", asked["challenge"], bent)
        statement = cbor2.dumps({"fmt": "none", "attStmt": {}, "authData": data})
        return self._answer({"clientDataJSON": b64(client), "attestationObject": b64(statement)})

    def show(self, options: str, **bent: Any) -> str:
        """The answer to ``navigator.credentials.get``."""
        asked = json.loads(options)
        self.count += 1
        data = self._data(bent.get("rp_id", asked["rpId"]), self.flags)
        client = self._client("webauthn.get", asked["challenge"], bent)
        signed = self.key.sign(data + hashlib.sha256(client).digest(), ec.ECDSA(hashes.SHA256()))
        return self._answer(
            {"clientDataJSON": b64(client), "authenticatorData": b64(data), "signature": b64(signed)}
        )

    def _data(self, rp_id: str, flags: int) -> bytes:
        return hashlib.sha256(rp_id.encode()).digest() + struct.pack(">BI", flags, self.count)

    def _client(self, kind: str, challenge: str, bent: dict[str, Any]) -> bytes:
        told = {
            "type": kind,
            "challenge": bent.get("challenge", challenge),
            "origin": bent.get("origin", self.origin),
            "crossOrigin": False,
        }
        return json.dumps(told).encode()

    def _answer(self, response: dict[str, str]) -> str:
        name = b64(self.credential_id)
        return json.dumps(
            {
                "id": name,
                "rawId": name,
                "type": "public-key",
                "response": response,
                "clientExtensionResults": {},
            }
        )
