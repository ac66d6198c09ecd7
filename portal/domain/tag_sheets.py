"""The sheet of stickers that tags are printed on: how many there are, how large, and where the first one begins."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, fields
from typing import Any

# ISO 216, in millimetres.
PAPER_MM = (210.0, 297.0)
# A square code smaller than that is hard to scan, and beside it there must be room for words.
LEAST_WIDTH_MM, LEAST_HEIGHT_MM = 40.0, 20.0


@dataclass(frozen=True)
class TagSheet:
    """Stickers in columns and rows on A4; each is ``width_mm`` by ``height_mm`` with its share of the gaps."""

    columns: int = 3
    rows: int = 8
    left_mm: float = 7.5
    top_mm: float = 16.5
    width_mm: float = 65.0
    height_mm: float = 33.0

    @property
    def many(self) -> int:
        return self.columns * self.rows

    @property
    def over_mm(self) -> tuple[float, float]:
        """How far the stickers reach over the right and the lower edge of the paper; not above zero where they fit."""
        return (
            round(self.left_mm + self.columns * self.width_mm - PAPER_MM[0], 3),
            round(self.top_mm + self.rows * self.height_mm - PAPER_MM[1], 3),
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
        return cls(**{name: value for name, value in (kept or {}).items() if name in names})
