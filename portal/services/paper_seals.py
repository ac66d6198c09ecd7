"""The code that a paper carries: what it states and a signature, so that nothing is kept to know it again.

HMAC with SHA-256 (RFC 2104, FIPS 198-1), cut to its first 128 bits. The same statement gives the same code.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import hmac
import json
from collections.abc import Sequence
from datetime import date
from typing import Any

from portal.domain.paper_facts import FleetStatement, PairStatement, PaperKind, Statement
from portal.domain.tags import BASE, CHARACTERS, LOOKS_LIKE

SIGNATURE_BYTES = 16
# Eight characters in two groups are compared at a glance, and are 78 thousand million possibilities.
CODE_LENGTH, GROUP = 8, 4
LONGEST = 8000


class PaperSeals:
    """Makes and reads the codes. The first key signs; what was signed with the others is still read."""

    def __init__(self, keys: Sequence[str]) -> None:
        self._keys = [hashlib.sha256(b"rillbook-paper:" + key.encode()).digest() for key in keys]

    def token(self, it: Statement) -> str:
        """The last part of the address that the square code says."""
        told = _text(json.dumps(_told(it), separators=(",", ":"), ensure_ascii=False).encode())
        return f"{told}.{_text(_signature(self._keys[0], told))}"

    def read(self, token: str) -> tuple[Statement, str] | None:
        """What a token states, and the check code of its paper; nothing when no key of ours signed it."""
        told, dot, signature = token.partition(".")
        given = _bytes(signature)
        if len(token) > LONGEST or not dot or given is None:
            return None
        for key in self._keys:
            if hmac.compare_digest(_signature(key, told), given):
                written = _bytes(told)
                # Whatever we have signed can be read.
                it = _statement(json.loads(written or b""))
                return it, _code(key, it)
        return None

    def code(self, it: Statement) -> str:
        """The check code that the paper shows: ``K7MD 4PXA``."""
        return _code(self._keys[0], it)

    def has_code(self, it: Statement, typed: str) -> bool:
        """Whether a paper with this statement shows what somebody typed, under any of the keys."""
        given = "".join(typed.upper().split()).replace("-", "").translate(LOOKS_LIKE)
        return any(
            hmac.compare_digest(_code(key, it).replace(" ", "").encode(), given.encode())
            for key in self._keys
        )


def _signature(key: bytes, told: str) -> bytes:
    return hmac.new(key, told.encode(), hashlib.sha256).digest()[:SIGNATURE_BYTES]


def _code(key: bytes, it: Statement) -> str:
    """Over what can be known again from the record alone: which paper, of when, and the digest of the work."""
    pairs = [it.pair] if isinstance(it, PairStatement) else list(it.pairs)
    about = json.dumps([_kind(it), pairs, it.issued_on.isoformat(), it.digest], separators=(",", ":"))
    number = int.from_bytes(hmac.new(key, b"code:" + about.encode(), hashlib.sha256).digest()[:8])
    characters = ""
    for _ in range(CODE_LENGTH):
        number, digit = divmod(number, BASE)
        characters += CHARACTERS[digit]
    return f"{characters[:GROUP]} {characters[GROUP:]}"


def _kind(it: Statement) -> PaperKind:
    return PaperKind.PAIR if isinstance(it, PairStatement) else PaperKind.FLEET


def _told(it: Statement) -> list[Any]:
    if isinstance(it, FleetStatement):
        return [_kind(it), it.issued_on.isoformat(), it.pairs, it.digest]
    ground_on = it.ground_on.isoformat() if it.ground_on else ""
    return [
        _kind(it),
        it.issued_on.isoformat(),
        it.pair,
        it.grinds,
        it.measured,
        it.reworks,
        ground_on,
        it.structure,
        it.thinnest_um,
        it.grinds_left,
        it.left_range,
        it.digest,
    ]


def _statement(told: list[Any]) -> Statement:
    kind, issued_on, *rest = told
    if kind == PaperKind.FLEET:
        pairs, digest = rest
        return FleetStatement(tuple(pairs), date.fromisoformat(issued_on), digest)
    pair, grinds, measured, reworks, ground_on, structure, thinnest_um, left, left_range, digest = rest
    return PairStatement(
        pair,
        date.fromisoformat(issued_on),
        grinds,
        measured,
        reworks,
        date.fromisoformat(ground_on) if ground_on else None,
        structure,
        thinnest_um,
        left,
        tuple(left_range) if left_range else None,
        digest,
    )


def _text(data: bytes) -> str:
    return base64.urlsafe_b64encode(data).decode().rstrip("=")


def _bytes(text: str) -> bytes | None:
    try:
        return base64.b64decode(text + "=" * (-len(text) % 4), altchars=b"-_", validate=True)
    except (binascii.Error, ValueError):
        return None
