"""What has to be read again and must not lie open in the database: sealed with the secret key, and marks of what is compared."""

from __future__ import annotations

import hmac
from base64 import urlsafe_b64encode
from collections.abc import Sequence

from cryptography.fernet import Fernet, InvalidToken, MultiFernet


class Seals:
    """The first key seals and marks; what older ones sealed is still opened."""

    def __init__(self, keys: Sequence[str]) -> None:
        self._marking = [_derived(key, b"rillbook-mark") for key in keys]
        self._sealing = MultiFernet(
            [Fernet(urlsafe_b64encode(_derived(key, b"rillbook-seal"))) for key in keys]
        )

    def close(self, text: str) -> str:
        """Encrypted and signed (Fernet: AES-128-CBC with HMAC-SHA-256)."""
        return self._sealing.encrypt(text.encode()).decode()

    def open(self, sealed: str) -> str | None:
        """What was sealed, or nothing when none of our keys did it."""
        try:
            return self._sealing.decrypt(sealed.encode()).decode()
        except InvalidToken:
            return None

    def marks(self, text: str) -> list[str]:
        """Keyed hashes of a text, by the newest key first: keep the first, compare with all."""
        return [hmac.digest(key, text.encode(), "sha256").hex() for key in self._marking]

    def stands_in(self, text: str) -> bool:
        """A coin that falls the same each time for a text and that nobody without the key foresees; one in four."""
        return hmac.digest(self._marking[0], b"stands in " + text.encode(), "sha256")[0] % 4 == 0


def _derived(key: str, purpose: bytes) -> bytes:
    # The keys are random already, so one step of HMAC parts their uses (RFC 5869, the expanding half).
    return hmac.digest(key.encode(), purpose, "sha256")
