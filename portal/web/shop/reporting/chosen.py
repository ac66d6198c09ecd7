"""Which structures were ground when and for which snow, and what glide notes say of them."""

from __future__ import annotations

from collections import Counter
from typing import Any

from markupsafe import Markup

from portal.domain.evidence import TOO_FEW, Tally
from portal.domain.reports.chosen import Grid, by_month, by_snow
from portal.domain.reports.shares import Share
from portal.domain.words import N_
from portal.pictures import report_shares, report_squares
from portal.queries import glide_notes as find_notes
from portal.queries import reports as find_reports
from portal.web.evidence import rows_of
from portal.web.shop.reporting.parts import Asked, Part, picture

DRAWN = 15
WON = (N_("Worth"), N_("Won, per cent"), N_("From, per cent"), N_("To, per cent"))
KEY_WORDS = N_(
    "The dot is the share, the line Wilson's interval of 95 per cent. A hollow dot rests on fewer than 30 comparisons' worth and says little."
)


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


def evidence(asked: Asked) -> list[Part]:
    """What glide notes say of each structure, on all snow together and on each class of it."""
    found = find_notes.evidence(asked.session)
    names = {row.key: row.name for row in find_reports.structures(asked.session).values() if row.current}
    by_class = [
        (names[key], asked.voice.say(row.snow), row.tally)
        for key in sorted(found.tallies, key=lambda key: names.get(key, ""))
        if key in names
        for row in rows_of(found, key)
    ]
    together: dict[str, Tally] = {}
    for name, _snow, tally in by_class:
        one = together.get(name, Tally())
        together[name] = Tally(one.notes + tally.notes, 0, one.wins + tally.wins, one.n + tally.n)
    return [_of_structures(together, asked), _of_classes(by_class, asked)]


def _won(tally: Tally) -> tuple[float, ...]:
    """The share won in per cent, and its interval."""
    return (100 * tally.wins / tally.n, *(100 * end for end in tally.seen))


def _of_structures(together: dict[str, Tally], asked: Asked) -> Part:
    say = asked.voice.say
    ordered = sorted(together.items(), key=lambda named: (-named[1].n, named[0]))
    title = say(N_("By structure"))
    return Part(
        "structures",
        title,
        (
            say(
                N_(
                    "All notes count, whenever they were written, as long as the structure on offer has the surface that was skied."
                )
            ),
            say(
                N_(
                    "A note compares two pairs on one day's snow; one that ended the same is half a win. Many notes of one skier are worth little more than two."
                )
            ),
        ),
        tuple(say(head) for head in (N_("Structure"), N_("Comparisons"), *WON)),
        tuple((name, tally.notes, tally.n, *_won(tally)) for name, tally in ordered),
        picture=_drawn([(name, tally) for name, tally in ordered], "evidence-structures", title, asked),
        key_words=say(KEY_WORDS),
    )


def _of_classes(rows: list[tuple[str, str, Tally]], asked: Asked) -> Part:
    say = asked.voice.say
    title = say(N_("By structure and snow"))
    enough = sorted((row for row in rows if row[2].is_enough), key=lambda row: (-row[2].n, row[:2]))
    return Part(
        "snow",
        title,
        (
            say(
                N_("Below %(few)s comparisons' worth there is too little to tell."),
                few=asked.voice.number(TOO_FEW),
            ),
        ),
        tuple(say(head) for head in (N_("Structure"), N_("Snow"), N_("Comparisons"), N_("Skiers"), *WON)),
        tuple(
            (
                name,
                snow,
                tally.notes,
                tally.skiers,
                tally.n,
                *(_won(tally) if tally.is_enough else (None, None, None)),
            )
            for name, snow, tally in rows
        ),
        picture=_drawn(
            [(f"{name}, {snow}", tally) for name, snow, tally in enough], "evidence-snow", title, asked
        ),
        key_words=say(KEY_WORDS) if enough else "",
    )


def _drawn(tallies: list[tuple[str, Tally]], uid: str, title: str, asked: Asked) -> Markup | None:
    """Nothing where there is none to draw."""
    shares = [(name, Share(tally.wins, tally.n)) for name, tally in tallies[:DRAWN]]
    if not shares:
        return None
    told = report_shares.describe(
        shares, asked.voice.say(N_("Share of comparisons that were won.")), asked.voice
    )
    return picture(report_shares.draw(shares, asked.voice), uid, title, told)
