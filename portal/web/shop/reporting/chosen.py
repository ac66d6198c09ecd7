"""Which structures were ground when and for which snow."""

from __future__ import annotations

from collections import Counter
from typing import Any

from portal.domain.reports.chosen import Grid, by_month, by_snow
from portal.domain.words import N_
from portal.pictures import report_squares
from portal.queries import reports as find_reports
from portal.web.shop.reporting.parts import Asked, Part, picture

DRAWN = 15


def structures(asked: Asked) -> list[Part]:
    """Pairs by structure and month, and by structure and the snow their skiers meet."""
    say, number = asked.voice.say, asked.voice.number
    names = {row_id: row.name for row_id, row in find_reports.structures(asked.session).items()}
    first, last = asked.period.first, asked.period.last
    months: Counter[tuple[str, int, int]] = Counter()
    for structure, year, month, pairs in find_reports.by_month(asked.session, first, last):
        months[names[structure], year, month] += pairs
    over_time = by_month((name, year, month, pairs) for (name, year, month), pairs in months.items())
    ground = find_reports.for_snow(asked.session, first, last)
    on_snow, unknown = by_snow(((names[row], stored) for row, stored in ground), asked.tables.often)
    snow_words = (
        say(
            N_(
                "A pair is shared out among the kinds of snow that the newest answers for it name, by how often it meets each; %(unknown)s of %(all)s pairs have no answers that name any and are left out."
            ),
            unknown=number(unknown),
            all=number(len(ground)),
        ),
    )
    return [
        _squares(
            "by-month",
            say(N_("Structures by month")),
            (),
            over_time,
            {month: asked.voice.month(month) for month in over_time.columns},
            asked,
            whole=True,
        ),
        _squares(
            "by-snow",
            say(N_("Structures by usual snow")),
            snow_words,
            on_snow,
            {kind: say(kind.label) for kind in on_snow.columns},
            asked,
            whole=False,
        ),
    ]


def _squares(
    key: str,
    title: str,
    words: tuple[str, ...],
    grid: Grid,
    heads: dict[Any, str],
    asked: Asked,
    *,
    whole: bool,
) -> Part:
    say = asked.voice.say
    rows = grid.rows[:DRAWN]
    cells = {(row, heads[column]): grid.at(row, column) for row in rows for column in grid.columns}
    columns = list(heads.values())
    number = int if whole else float
    return Part(
        key,
        title,
        words,
        (say(N_("Structure")), *columns, say(N_("In all"))),
        tuple(
            (
                row,
                *(number(grid.at(row, column)) for column in grid.columns),
                number(grid.of_row(row)),
            )
            for row in grid.rows
        ),
        picture=picture(
            report_squares.draw(rows, columns, cells, asked.voice),
            key,
            title,
            report_squares.describe(rows, columns, cells, f"{title}.", asked.voice),
        )
        if rows
        else None,
        key_words=say(N_("The area of a square goes with the number of pairs; reworks are not counted.")),
    )
