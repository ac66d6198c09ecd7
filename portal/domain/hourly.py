"""Hourly weather as it stands in a file: the readings that can be used, and each row that cannot, with the reason."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from enum import StrEnum

from portal.domain.words import N_, Phrase

LARGEST_BYTES = 10_000_000
MOST_LINES = 200_000
LONGEST_LINE = 10_000
# A reading outside these was never taken near the ground in a place where people ski.
AIR_C = (-90.0, 60.0)
HUMIDITY_MOST_PCT = 100.0
PRESSURE_HPA = (300.0, 1100.0)
LATITUDE = (-90.0, 90.0)
ELEVATION_M = (-500.0, 6000.0)
# So many line numbers are kept for each reason that rows were left out.
LINES_KEPT = 5
PLACE_LENGTH = 80

NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)(e[+-]?\d{1,3})?", re.ASCII | re.IGNORECASE)
MINUS = str.maketrans({"\u2212": "-", "\u2013": "-"})


class Reason(StrEnum):
    """Why a row was left out."""

    UNREADABLE = "unreadable"
    TIME = "time"
    MISSING = "missing"
    OUT_OF_RANGE = "out_of_range"
    DUPLICATE = "duplicate"
    UNORDERED = "unordered"

    @property
    def label(self) -> str:
        return {
            Reason.UNREADABLE: N_("Cells are missing, or hold no number"),
            Reason.TIME: N_("The time cannot be read"),
            Reason.MISSING: N_("A reading is marked as missing"),
            Reason.OUT_OF_RANGE: N_("A reading is outside what can be"),
            Reason.DUPLICATE: N_("The time stands in an earlier row already"),
            Reason.UNORDERED: N_("The time is before that of the row above"),
        }[self]


@dataclass(frozen=True)
class LeftOut:
    """How many rows were left out for a reason, and the numbers of the first lines."""

    reason: Reason
    count: int
    lines: tuple[int, ...]


@dataclass(frozen=True)
class Reading:
    """One row: ``day`` tells days apart, ``hour`` runs from 0 to 24 in local time; pressure only where it was given."""

    day: int
    month: int
    hour: float
    air_c: float
    humidity_pct: float
    pressure_hpa: float | None


@dataclass(frozen=True)
class Hourly:
    """What a file holds. ``rows`` counts all rows of data, those left out too."""

    kind: str
    place: str
    latitude: float | None
    elevation_m: float | None
    rows: int
    readings: tuple[Reading, ...]
    left_out: tuple[LeftOut, ...]


class BadFile(Exception):
    """The file cannot be used at all; ``line`` where one line is the cause."""

    def __init__(self, reason: Phrase | str, line: int | None = None) -> None:
        self.reason = reason if isinstance(reason, Phrase) else Phrase(reason)
        self.line = line
        super().__init__(str(self.reason))

    @property
    def told(self) -> Phrase:
        """The reason with the line it stands in."""
        if self.line is None:
            return self.reason
        return Phrase(N_("Line %(line)s: %(reason)s"), {"line": self.line, "reason": self.reason})


class BadRow(Exception):
    """One row cannot be used."""

    def __init__(self, reason: Reason) -> None:
        self.reason = reason
        super().__init__(reason.value)


def lines_of(data: bytes) -> list[str]:
    """The lines of a text file; ``BadFile`` for what is no text, or is larger than any year of hourly weather."""
    if len(data) > LARGEST_BYTES:
        raise BadFile(
            Phrase(
                N_("The file is larger than %(most)s MB. Load one year of hourly weather."),
                {"most": LARGEST_BYTES // 1_000_000},
            )
        )
    if not data.strip():
        raise BadFile(N_("The file is empty."))
    lines = _decoded(data).replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if len(lines) > MOST_LINES:
        raise BadFile(
            Phrase(
                N_("The file has more than %(most)s lines. Load one year of hourly weather."),
                {"most": MOST_LINES},
            )
        )
    for number, line in enumerate(lines, 1):
        if len(line) > LONGEST_LINE:
            raise BadFile(N_("This line is too long for a row of hourly weather."), number)
    return lines


def _decoded(data: bytes) -> str:
    not_text = N_("The file is not text. Save it as EPW or as CSV, unpacked.")
    try:
        if data.startswith((b"\xff\xfe", b"\xfe\xff")):
            text = data.decode("utf-16")
        else:
            text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        # Names of places in older files; every number of ours is ASCII in either.
        text = data.decode("latin-1")
    if re.search(r"[\x00-\x08\x0e-\x1f]", text[:LARGEST_BYTES]):
        raise BadFile(not_text)
    return text


def number(cell: str) -> float:
    """A number as people and programs write it with a decimal point, or ``BadRow``."""
    text = cell.strip().translate(MINUS)
    if not NUMBER.fullmatch(text):
        raise BadRow(Reason.UNREADABLE)
    value = float(text)
    if not math.isfinite(value):
        raise BadRow(Reason.OUT_OF_RANGE)
    return value


def checked(
    air_c: float, humidity_pct: float, pressure_hpa: float | None
) -> tuple[float, float, float | None]:
    """The readings, or ``BadRow`` where one is outside what can be."""
    if not AIR_C[0] <= air_c <= AIR_C[1] or not 0 < humidity_pct <= HUMIDITY_MOST_PCT:
        raise BadRow(Reason.OUT_OF_RANGE)
    if pressure_hpa is not None and not PRESSURE_HPA[0] <= pressure_hpa <= PRESSURE_HPA[1]:
        raise BadRow(Reason.OUT_OF_RANGE)
    return air_c, humidity_pct, pressure_hpa


def cleaned_place(text: str) -> str:
    """The name of a place as it is shown: no characters that cannot be seen, and no longer than a name."""
    printable = "".join(one if one.isprintable() else " " for one in text)
    return " ".join(printable.split())[:PLACE_LENGTH]


class Sieve:
    """Takes rows in the order they stand, keeps what can be used and counts the rest."""

    def __init__(self) -> None:
        self.rows = 0
        self.readings: list[Reading] = []
        self._seen: set[int] = set()
        self._before: int | None = None
        self._left: dict[Reason, list[int]] = {}
        self._counts: dict[Reason, int] = {}

    def leave(self, reason: Reason, line: int) -> None:
        """Leave out the row of ``line``."""
        lines = self._left.setdefault(reason, [])
        if len(lines) < LINES_KEPT:
            lines.append(line)
        self._counts[reason] = self._counts.get(reason, 0) + 1

    def in_order(self, minute: int) -> None:
        """``BadRow`` for a time that was there before or runs backwards; ``minute`` counts from anywhere."""
        before, self._before = self._before, minute
        if minute in self._seen:
            raise BadRow(Reason.DUPLICATE)
        if before is not None and minute < before:
            raise BadRow(Reason.UNORDERED)
        self._seen.add(minute)

    @property
    def left_out(self) -> tuple[LeftOut, ...]:
        """What was left out, in the order of the reasons."""
        return tuple(
            LeftOut(reason, self._counts[reason], tuple(self._left[reason]))
            for reason in Reason
            if reason in self._counts
        )
