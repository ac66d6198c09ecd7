"""What every report is made of: the days it was asked for, and parts with words, a picture and a table."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date

from markupsafe import Markup
from sqlalchemy.orm import Session

from portal.documents.tables import Cell, Table
from portal.domain.reports.periods import Beside, Period
from portal.domain.reports.shares import Share
from portal.domain.snow_tables import Tables
from portal.domain.words import N_, Phrase
from portal.i18n import Voice
from portal.pictures.svg import Drawing
from portal.web.shown import on_page

# Longer tables stand in the files whole, and on the page with so many rows.
ROWS_ON_PAGE = 100


@dataclass(frozen=True)
class Asked:
    """Who asks for which days, and what words and tables a report may need."""

    session: Session
    period: Period
    beside: Beside
    voice: Voice
    tables: Tables

    @property
    def before(self) -> Period:
        """The days that stand beside."""
        return self.period.before(self.beside)


@dataclass(frozen=True)
class Part:
    """A table with a picture. Words, title and heads are translated already; floats are shown with ``places`` decimals."""

    key: str
    title: str
    words: tuple[str, ...]
    heads: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    places: int = 1
    picture: Markup | None = None
    key_words: str = ""

    @property
    def table(self) -> Table:
        return Table(self.title, self.heads, self.rows)

    @property
    def figures(self) -> list[int]:
        """The columns of numbers."""
        return [
            at
            for at in range(1, len(self.heads))
            if all(isinstance(row[at], int | float) or row[at] is None for row in self.rows)
        ]

    def shown(self, cell: Cell, voice: Voice) -> str:
        """A cell as the page writes it."""
        if cell is None:
            return "–"
        if isinstance(cell, bool | str):
            return str(cell)
        if isinstance(cell, int):
            return voice.number(cell)
        if isinstance(cell, float):
            return voice.number(cell, self.places).replace("-", "\N{MINUS SIGN}")
        return voice.short_date(cell) if isinstance(cell, date) else str(cell)


@dataclass(frozen=True)
class Report:
    """One kind of report: its name in addresses, its words, and what makes its parts."""

    key: str
    title: str
    words: str
    make: Callable[[Asked], list[Part]]
    # Those that name people are for whoever runs the shop.
    for_managers: bool = False
    # Whether the days before stand beside, and whether days are asked for at all.
    compares: bool = False
    has_period: bool = True
    notes: tuple[str, ...] = field(default=())

    @property
    def endpoint(self) -> str:
        """The name of its page among the workshop's."""
        return f"report_{self.key.replace('-', '_')}"


def picture(drawing: Drawing, uid: str, title: str, described: str) -> Markup:
    """The drawing for a page."""
    return on_page(drawing, uid, title, described)


def percent(share: float | None) -> float | None:
    """A share as per cent."""
    return None if share is None else 100 * share


def share_cells(one: Share) -> tuple[Cell, ...]:
    """How many of how many, the share in per cent, and its interval."""
    low, high = one.interval
    return (one.hits, one.n, percent(one.share), *((100 * low, 100 * high) if one.n else (None, None)))


def said_share(one: Share, voice: Voice) -> Phrase:
    """``83.3 % (35 of 42; with 95 % between 69.4 and 91.7 %)``, to stand in a sentence."""
    if not one.n:
        return Phrase(N_("nothing yet"))
    low, high = one.interval
    return Phrase(
        N_("%(share)s %% (%(hits)s of %(n)s; with 95 %% between %(low)s and %(high)s %%)"),
        {
            "share": voice.number(100 * (one.share or 0), 1),
            "hits": voice.number(one.hits),
            "n": voice.number(one.n),
            "low": voice.number(100 * low, 1),
            "high": voice.number(100 * high, 1),
        },
    )


def said_period(period: Period, voice: Voice) -> str:
    """``1 Sep 2026 to 7 Dec 2026``."""
    return voice.say(
        N_("%(first)s to %(last)s"),
        first=voice.short_date(period.first),
        last=voice.short_date(period.last),
    )
