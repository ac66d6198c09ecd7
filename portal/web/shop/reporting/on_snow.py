"""What glide notes say of each structure, on all snow together and on each class of it, beside what is stated."""

from __future__ import annotations

from markupsafe import Markup

from portal.documents.tables import Cell
from portal.domain.evidence import TOO_FEW, Tally
from portal.domain.found_on_snow import Found, found
from portal.domain.reports.shares import Share
from portal.domain.words import N_
from portal.pictures import report_shares
from portal.queries import catalogue as find_structures
from portal.web.evidence import class_words, evidence_now
from portal.web.shop.reporting.parts import Asked, Part, percent, picture

DRAWN = 15
WON = (N_("Worth"), N_("Won, per cent"), N_("From, per cent"), N_("To, per cent"))
BESIDE = (
    N_("Stated, per cent"),
    N_("Taken for the advice, per cent"),
    N_("Its interval from, per cent"),
    N_("Its interval to, per cent"),
    N_("With its family, per cent"),
    N_("What it says"),
)
KEY_WORDS = N_(
    "The dot is the share, the line Wilson's interval of 95 per cent. A hollow dot rests on fewer than 30 comparisons' worth and says little."
)


def evidence(asked: Asked) -> list[Part]:
    """What glide notes say of each structure, on all snow together and on each class of it."""
    rows = find_structures.all_current(asked.session)
    on_snow = found(evidence_now(asked.session), [find_structures.value(row) for row in rows])
    by_class = [
        (row.name, asked.voice.say(class_words(one.kind, one.moisture)), one)
        for row in sorted(rows, key=lambda row: row.name)
        for one in on_snow[row.key]
    ]
    together: dict[str, Tally] = {}
    for name, _snow, one in by_class:
        sum_, tally = together.get(name, Tally()), one.tally
        together[name] = Tally(sum_.notes + tally.notes, 0, sum_.wins + tally.wins, sum_.n + tally.n)
    return [_of_structures(together, asked), _of_classes(by_class, asked)]


def _won(tally: Tally) -> tuple[float, ...]:
    """The share won in per cent, and its interval."""
    return (100 * tally.wins / tally.n, *(100 * end for end in tally.seen))


def _beside(one: Found, asked: Asked) -> tuple[Cell, ...]:
    """What is stated, what the advice takes instead with its interval, what the family shows, and the verdict."""
    low, high = one.tally.interval(one.stated)
    return (
        100 * one.stated,
        100 * one.tally.believed(one.stated),
        100 * low,
        100 * high,
        percent(one.drawn),
        asked.voice.say(one.verdict.label),
    )


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


def _of_classes(rows: list[tuple[str, str, Found]], asked: Asked) -> Part:
    say = asked.voice.say
    title = say(N_("By structure and snow"))
    enough = sorted(
        ((name, snow, one.tally) for name, snow, one in rows if one.tally.is_enough),
        key=lambda row: (-row[2].n, row[:2]),
    )
    return Part(
        "snow",
        title,
        (
            say(
                N_("Below %(few)s comparisons' worth there is too little to tell."),
                few=asked.voice.number(TOO_FEW),
            ),
        ),
        tuple(
            say(head)
            for head in (N_("Structure"), N_("Snow"), N_("Comparisons"), N_("Skiers"), *WON, *BESIDE)
        ),
        tuple(
            (
                name,
                snow,
                one.tally.notes,
                one.tally.skiers,
                one.tally.n,
                *(_won(one.tally) if one.tally.is_enough else (None, None, None)),
                *_beside(one, asked),
            )
            for name, snow, one in rows
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
