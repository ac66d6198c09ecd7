"""How one file is read: which of its sheets, how its letters are written, what parts its cells, where its headings stand."""

from __future__ import annotations

import zlib
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from enum import StrEnum
from typing import Any

from portal.domain.importing.columns import Column, Field, guess, heading_row
from portal.domain.importing.customer_fields import CUSTOMER_FIELDS
from portal.domain.importing.roster_fields import ROSTER_FIELDS, ROSTER_HEADINGS, guess_roster
from portal.domain.importing.sheets import BadTable, Sheet, packed, unpacked
from portal.domain.importing.text_tables import between_of, encoding_of, read_text, text_of
from portal.domain.words import N_

# A file is kept no longer than that, whether its import was finished or not.
KEPT_DAYS = 7


class Subject(StrEnum):
    """What a list is of."""

    CUSTOMERS = "customers"
    ROSTER = "roster"

    @property
    def fields(self) -> Sequence[Field]:
        return {Subject.CUSTOMERS: CUSTOMER_FIELDS, Subject.ROSTER: ROSTER_FIELDS}[self]

    def guess(self, columns: Sequence[Column]) -> dict[int, str]:
        """What each column of such a list seems to hold: its place -> key of a field."""
        return guess_roster(columns) if self is Subject.ROSTER else guess(columns, self.fields)

    def heading_row(self, sheet: Sheet) -> int:
        """The number of the row with the headings of such a list; 0 when the sheet is empty."""
        return heading_row(sheet, ROSTER_HEADINGS if self is Subject.ROSTER else self.fields)


@dataclass(frozen=True)
class Content:
    """What a file holds, in the form in which it is kept: the text as it was sent, or the sheets of a workbook."""

    is_text: bool
    kept: bytes

    @classmethod
    def of_text(cls, data: bytes) -> Content:
        return cls(True, zlib.compress(data, 6))

    @classmethod
    def of_sheets(cls, sheets: Sequence[Sheet]) -> Content:
        return cls(False, packed(sheets))

    @property
    def text(self) -> bytes:
        """The bytes of a text file as they were sent."""
        return zlib.decompress(self.kept)

    @property
    def sheets(self) -> tuple[Sheet, ...]:
        """The sheets of a workbook."""
        return unpacked(self.kept)


@dataclass(frozen=True)
class Reading:
    """``sheet`` counts from 0, ``heading`` is the number of a row."""

    heading: int
    sheet: int = 0
    encoding: str = ""
    between: str = ""

    def to_json(self) -> dict[str, Any]:
        return asdict(self)

    @classmethod
    def from_json(cls, kept: Mapping[str, Any]) -> Reading:
        return cls(**kept)


def read(content: Content, reading: Reading) -> Sheet:
    """The sheet that is read so; ``BadTable`` where it cannot be."""
    if content.is_text:
        return read_text(text_of(content.text, reading.encoding), reading.between)
    sheets = content.sheets
    if not 0 <= reading.sheet < len(sheets):
        raise BadTable(N_("There is no such sheet."))
    return sheets[reading.sheet]


def first_reading(content: Content, subject: Subject) -> Reading:
    """The likeliest way to read a file; ``BadTable`` where there is none."""
    if content.is_text:
        encoding = encoding_of(content.text)
        between = between_of(text_of(content.text, encoding))
        reading = Reading(0, encoding=encoding, between=between)
    else:
        # The first sheet that can be seen, as in a spreadsheet program.
        shown = [at for at, sheet in enumerate(content.sheets) if not sheet.hidden]
        reading = Reading(0, sheet=shown[0] if shown else 0)
    return with_heading(content, reading, subject)


def with_heading(content: Content, reading: Reading, subject: Subject) -> Reading:
    """The same with the row in which the headings seem to stand; ``BadTable`` for a sheet without rows."""
    heading = subject.heading_row(read(content, reading))
    if not heading:
        raise BadTable(N_("The file is empty."))
    return replace(reading, heading=heading)
