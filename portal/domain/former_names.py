"""By what people were known before: records of that time still say it."""

from __future__ import annotations

from enum import StrEnum


class KnownBy(StrEnum):
    """What somebody changed."""

    NAME = "name"
    TELEPHONE = "telephone"
