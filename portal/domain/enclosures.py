"""Files that go with a letter."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Enclosure:
    """A file with its name and its media type (RFC 6838)."""

    file_name: str
    media_type: str
    content: bytes
