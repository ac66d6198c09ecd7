"""The sheet of stickers that tags are printed on: how many there are, how large, and where the first one begins."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, fields
from enum import StrEnum
from typing import Any

from portal.domain.words import N_


class Paper(StrEnum):
    """What a sheet is cut to."""

    A4 = "a4"
    LETTER = "letter"

    @property
    def label(self) -> str:
        return {Paper.A4: N_("A4"), Paper.LETTER: N_("US letter")}[self]

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height: of A4 after ISO 216, of letter after ANSI/ASME Y14.1 (8.5 by 11 inches)."""
        return {Paper.A4: (210.0, 297.0), Paper.LETTER: (215.9, 279.4)}[self]


# What no sheet is wider or higher than.
LARGEST_MM = (215.9, 297.0)
# A square code smaller than that is hard to scan, and beside it there must be room for words.
LEAST_WIDTH_MM, LEAST_HEIGHT_MM = 40.0, 20.0


@dataclass(frozen=True)
class TagSheet:
    """Stickers in columns and rows on a sheet of paper; each is ``width_mm`` by ``height_mm`` with its share of the gaps."""

    columns: int = 3
    rows: int = 8
    left_mm: float = 7.5
    top_mm: float = 16.5
    width_mm: float = 65.0
    height_mm: float = 33.0
    paper: Paper = Paper.A4

    @property
    def many(self) -> int:
        return self.columns * self.rows

    @property
    def over_mm(self) -> tuple[float, float]:
        """How far the stickers reach over the right and the lower edge of the paper; not above zero where they fit."""
        width, height = self.paper.size_mm
        return (
            round(self.left_mm + self.columns * self.width_mm - width, 3),
            round(self.top_mm + self.rows * self.height_mm - height, 3),
        )

    def places(self, used: int = 0) -> Iterator[tuple[int, float, float]]:
        """(page from 0, left and top in mm) of each sticker, row by row, after so many of the first sheet that are used."""
        at = used
        while True:
            page, here = divmod(at, self.many)
            row, column = divmod(here, self.columns)
            yield page, self.left_mm + column * self.width_mm, self.top_mm + row * self.height_mm
            at += 1

    def to_json(self) -> dict[str, Any]:
        return asdict(self)

    @classmethod
    def from_json(cls, kept: Mapping[str, Any] | None) -> TagSheet:
        """What ``to_json`` made, or the usual one."""
        names = {field.name for field in fields(cls)}
        given = {name: value for name, value in (kept or {}).items() if name in names}
        # Sheets that were kept before there was another paper are A4.
        return cls(**given | {"paper": Paper(given.get("paper", Paper.A4))})
