"""What had to be ground again, by structure, diamond and technician, and what measuring says of the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from portal.domain.reports.measured import Measured, quality, taken
from portal.domain.reports.shares import Share, summed
from portal.domain.words import N_
from portal.i18n import Voice
from portal.pictures import report_columns, report_shares, report_spreads
from portal.pictures.report_columns import Column
from portal.queries import catalogue as find_structures
from portal.queries import reports as find_reports
from portal.queries import workshop as find_workshop
from portal.web.shop.reporting.parts import Asked, Part, picture, said_period, said_share, share_cells

if TYPE_CHECKING:
    from portal.db.catalogue import Structure

# So many rows a picture has; the table has all of them.
DRAWN = 15
BY = (
    ("structure", N_("By structure")),
    ("diamond", N_("By diamond")),
    ("technician", N_("By technician")),
)
NO_DIAMOND = N_("No diamond is named")


def rework(asked: Asked) -> list[Part]:
    """Of the grinds of the period those that were made good since, and why."""
    say = asked.voice.say
    rows = find_reports.made_good(asked.session, asked.period.first, asked.period.last)
    then = find_reports.made_good(asked.session, asked.before.first, asked.before.last)
    names = _Names(find_reports.structures(asked.session), asked.voice)
    whole, earlier = (
        Share(sum(row[4] for row in part), sum(row[2] for row in part)) for part in (rows, then)
    )
    words = (
        say(N_("Ground again: %(share)s."), share=say(said_share(whole, asked.voice))),
        say(
            N_("%(period)s: %(share)s."),
            period=said_period(asked.before, asked.voice),
            share=say(said_share(earlier, asked.voice)),
        ),
        say(N_("Only grinds that were new work are counted; one that made another good is not.")),
    )
    parts: list[Part] = []
    for key, title in BY:
        shares = summed(
            (name, grinds, bad)
            for number, technician, grinds, _asked, bad in rows
            for name in names.of(key, number, technician)
        )
        complained = summed(
            (name, grinds, heard)
            for number, technician, grinds, heard, _bad in rows
            for name in names.of(key, number, technician)
        )
        parts.append(_shares(key, say(title), words if not parts else (), shares, complained, asked.voice))
    return [*parts, _causes(asked)]


class _Names:
    """What a grind counts for: its structure, each diamond that a layer of it names, or whoever ground it."""

    def __init__(self, structures: dict[int, Structure], voice: Voice) -> None:
        self.structures = {number: row.name for number, row in structures.items()}
        # Read once a version, since many grinds have the same one.
        marks = {
            number: sorted({layer.diamond for layer in find_structures.value(row).layers if layer.diamond})
            for number, row in structures.items()
        }
        self.diamonds = {number: named or [voice.say(NO_DIAMOND)] for number, named in marks.items()}

    def of(self, key: str, number: int, technician: str) -> Sequence[str]:
        """One name, or for diamonds several."""
        if key == "technician":
            return (technician,)
        return (self.structures[number],) if key == "structure" else self.diamonds[number]


def _shares(
    key: str,
    title: str,
    words: tuple[str, ...],
    shares: dict[str, Share],
    complained: dict[str, Share],
    voice: Voice,
) -> Part:
    say = voice.say
    drawn = list(shares.items())[:DRAWN]
    return Part(
        key,
        title,
        words,
        tuple(
            say(head)
            for head in (
                N_("Name"),
                N_("Ground again"),
                N_("Grinds"),
                N_("Share, per cent"),
                N_("From, per cent"),
                N_("To, per cent"),
                N_("Complained of"),
            )
        ),
        tuple((name, *share_cells(one), complained[name].hits) for name, one in shares.items()),
        picture=picture(
            report_shares.draw(drawn, voice),
            f"rework-{key}",
            title,
            report_shares.describe(drawn, say(N_("Share of grinds that were ground again.")), voice),
        )
        if drawn
        else None,
        key_words=say(
            N_(
                "The dot is the share, the line Wilson's interval of 95 per cent. A hollow dot rests on fewer than 30 grinds and says little."
            )
        ),
    )


def _causes(asked: Asked) -> Part:
    say = asked.voice.say
    counted: dict[str, int] = {}
    for reason, many in find_reports.causes(asked.session, asked.period.first, asked.period.last):
        # The first line is the reason from the list; what was written besides is in the history.
        first = (reason.splitlines() or [""])[0]
        counted[first] = counted.get(first, 0) + many
    rows = sorted(counted.items(), key=lambda named: (-named[1], named[0]))
    columns = [Column(name, float(many)) for name, many in rows[:6]]
    title = say(N_("Why"))
    return Part(
        "causes",
        title,
        (),
        (say(N_("Reason")), say(N_("Grinds"))),
        tuple(rows),
        picture=picture(
            report_columns.draw(
                [Column(asked.voice.number(at), one.value) for at, one in enumerate(columns, 1)], asked.voice
            ),
            "rework-causes",
            title,
            report_columns.describe(columns, say(N_("Reasons why pairs were ground again.")), asked.voice),
        )
        if columns
        else None,
        key_words=say(N_("The columns stand in the order of the table.")),
    )


def measured(asked: Asked) -> list[Part]:
    """How much base grinds took beside what is stated, where it was measured before and after."""
    say = asked.voice.say
    workshop = find_workshop.the(asked.session)
    structures = find_reports.structures(asked.session)
    names = _Names(structures, asked.voice)
    stated = {number: find_structures.value(row).removal_um for number, row in structures.items()}
    rows = find_reports.thickness(asked.session, asked.period.first, asked.period.last)
    ground = [_measured(row, stated, workshop.flattening_um) for row in rows]
    words = (
        say(
            N_(
                "What a grind took is the mean of the points that were measured before and after it; stated is the structure's removal, and %(um)s µm more where the base was flattened. The workshop's minimum is %(minimum)s."
            ),
            um=asked.voice.number(workshop.flattening_um),
            minimum=asked.voice.mm(workshop.minimum_um),
        ),
    )
    parts: list[Part] = []
    for key, title in BY:
        part = quality(
            (
                replace(one, name=name)
                for number, technician, one in ground
                for name in names.of(key, number, technician)
            ),
            workshop.minimum_um,
        )
        named = [(one.name, one.off_um) for one in part if one.off_um is not None][:DRAWN]
        parts.append(
            Part(
                key,
                say(title),
                words if not parts else (),
                tuple(
                    say(head)
                    for head in (
                        N_("Name"),
                        N_("Measured twice"),
                        N_("Grinds"),
                        N_("Taken more than stated, µm: lower quartile"),
                        N_("Median"),
                        N_("Upper quartile"),
                        N_("Below the minimum"),
                    )
                ),
                tuple(
                    (
                        one.name,
                        one.measured.hits,
                        one.measured.n,
                        *(
                            (one.off_um.lower, one.off_um.median, one.off_um.upper)
                            if one.off_um
                            else (None, None, None)
                        ),
                        one.too_thin.hits,
                    )
                    for one in part
                ),
                picture=picture(
                    report_spreads.draw(named, asked.voice, "µm"),
                    f"measured-{key}",
                    say(title),
                    report_spreads.describe(
                        named, say(N_("Micrometres taken more than stated.")), asked.voice
                    ),
                )
                if named
                else None,
                key_words=say(
                    N_(
                        "Above zero more was taken than stated. The box holds the middle half, the bar is the median; the number at the end counts grinds."
                    )
                ),
            )
        )
    return parts


def _measured(row: Any, stated: dict[int, int], flattening_um: int) -> tuple[int, str, Measured]:
    """The structure row, the technician, and what measuring says, without a name yet."""
    number, technician, flattened, *readings = row
    before, after = readings[:3], readings[3:]
    known: Sequence[int] = [um for um in after if um is not None]
    return (
        number,
        technician,
        Measured(
            "",
            stated[number] + (flattening_um if flattened else 0),
            taken(before, after),
            min(known, default=None),
        ),
    )
