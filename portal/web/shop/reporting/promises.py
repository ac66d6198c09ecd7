"""Promised days beside the days on which bookings were ready, and how long they took."""

from __future__ import annotations

from portal.domain.reports.finished import FARTHEST, Finished, kept, lead
from portal.domain.reports.periods import Period
from portal.domain.reports.spread import Spread
from portal.domain.words import N_
from portal.i18n import Voice
from portal.pictures import report_columns, report_spreads
from portal.pictures.report_columns import Column
from portal.queries import reports as find_reports
from portal.web.shop.reporting.parts import Asked, Part, picture, said_period, said_share


def _finished(asked: Asked, period: Period) -> list[Finished]:
    return find_reports.finished(asked.session, period.first, period.last, asked.voice.timezone)


def promises(asked: Asked) -> list[Part]:
    """By how many days bookings were early or late, and the share that was ready in time."""
    say, number = asked.voice.say, asked.voice.number
    now, then = kept(_finished(asked, asked.period)), kept(_finished(asked, asked.before))
    words = (
        say(
            N_("Ready on the promised day or before: %(share)s."),
            share=say(said_share(now.share, asked.voice)),
        ),
        say(
            N_("%(early)s were early, %(on)s ready on the day, %(late)s late."),
            early=number(now.early),
            on=number(now.on_the_day),
            late=number(now.late),
        ),
        say(
            N_("%(period)s: %(share)s."),
            period=said_period(asked.before, asked.voice),
            share=say(said_share(then.share, asked.voice)),
        ),
    )
    columns = [
        Column(_short(days, asked.voice), float(many), float(dict(then.by_days).get(days, 0)))
        for days, many in now.by_days
    ]
    title = say(N_("Bookings by days early or late"))
    return [
        Part(
            "promises",
            title,
            words,
            tuple(say(head) for head in (N_("Day"), N_("Bookings"), N_("Bookings before"))),
            tuple(
                (_long(days, asked.voice), many, dict(then.by_days).get(days, 0))
                for days, many in now.by_days
            ),
            picture=picture(
                report_columns.draw(columns, asked.voice),
                "promises",
                title,
                report_columns.describe(columns, f"{title}.", asked.voice),
            )
            if columns
            else None,
            key_words=say(
                N_(
                    "In calendar days from the promised day, early below zero. Lines across the columns: the days before."
                )
            ),
        )
    ]


def _short(days: int, voice: Voice) -> str:
    text = voice.number(abs(days))
    more = "≥" if days >= FARTHEST else "≤" if days <= -FARTHEST else ""
    return f"{more}{'−' if days < 0 else '+' if days > 0 else ''}{text}"


def _long(days: int, voice: Voice) -> str:
    if days == 0:
        return voice.say(N_("On the day"))
    if abs(days) >= FARTHEST:
        text = N_("%(num)s days or more after it") if days > 0 else N_("%(num)s days or more before it")
        return voice.say(text, num=voice.number(abs(days)))
    one, many = (
        (N_("%(num)s day after"), N_("%(num)s days after"))
        if days > 0
        else (N_("%(num)s day before"), N_("%(num)s days before"))
    )
    return voice.plural(one, many, abs(days)) % {"num": voice.number(abs(days))}


def lead_time(asked: Asked) -> list[Part]:
    """How many days bookings took, from asking and from hand-in, in all and by month."""
    say = asked.voice.say
    now, then = lead(_finished(asked, asked.period)), lead(_finished(asked, asked.before))
    parts = []
    for key, title, of in (
        ("from-asking", N_("Days from asking to ready"), "from_asking"),
        ("from-hand-in", N_("Days from hand-in to ready"), "from_hand_in"),
    ):
        named = [
            (asked.voice.month(one.month) if one.month else say(N_("In all")), getattr(one, of))
            for one in now
        ]
        words = [
            say(
                N_("Half of the bookings took %(median)s days or less. %(period)s: %(before)s days."),
                median=_median(named[0][1] if named else None, asked.voice),
                before=_median(getattr(then[0], of) if then else None, asked.voice),
                period=said_period(asked.before, asked.voice),
            )
        ]
        parts.append(_part(key, say(title), words, named, asked.voice))
    return parts


def _median(one: Spread | None, voice: Voice) -> str:
    return voice.number(one.median, 1) if one is not None else "–"


def _part(key: str, title: str, words: list[str], named: list[tuple[str, Spread]], voice: Voice) -> Part:
    say = voice.say
    return Part(
        key,
        title,
        tuple(words),
        tuple(
            say(head)
            for head in (
                N_("Ready in"),
                N_("Bookings"),
                N_("Least"),
                N_("Lower quartile"),
                N_("Median"),
                N_("Upper quartile"),
                N_("Most"),
            )
        ),
        tuple((name, one.n, one.least, one.lower, one.median, one.upper, one.most) for name, one in named),
        picture=picture(
            report_spreads.draw(named, voice, say(N_("days"))),
            key,
            title,
            report_spreads.describe(named, f"{title}.", voice),
        )
        if named
        else None,
        key_words=say(
            N_(
                "The line goes from the least to the most, the box holds the middle half, the bar is the median; the number at the end counts bookings. Quartiles are those of Hyndman and Fan's definition 7."
            )
        ),
    )
