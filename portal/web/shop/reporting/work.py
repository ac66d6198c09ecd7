"""Pairs, minutes and dressings over time."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import NamedTuple

from markupsafe import Markup
from sqlalchemy.orm import Session

from portal.domain.reports.periods import Step, step_for
from portal.domain.reports.work import Done, by_step, in_all, without_quiet_start
from portal.domain.words import N_
from portal.i18n import Voice
from portal.pictures import report_columns
from portal.pictures.report_columns import Column
from portal.queries import reports as find_reports
from portal.web.shop.reporting.parts import Asked, Part, picture, said_period

NOTHING = Done(date.min)
STEPS = {
    Step.DAY: N_("Day"),
    Step.WEEK: N_("Week from"),
    Step.MONTH: N_("Month"),
}


def label(start: date, step: Step, voice: Voice) -> str:
    """What stands below a column: the month, or the first day."""
    return voice.month(start) if step is Step.MONTH else voice.short_date(start)


class _TwoPeriods(NamedTuple):
    """What was done in the period and in the one before, step by step beside each other and in all."""

    now: list[Done]
    step: Step
    steps: list[Done]
    beside: list[Done]
    whole: Done
    earlier: Done


def _two_periods(asked: Asked, found: Callable[[Session, date, date], list[Done]]) -> _TwoPeriods:
    now = found(asked.session, asked.period.first, asked.period.last)
    then = found(asked.session, asked.before.first, asked.before.last)
    step = step_for(asked.period)
    steps, beside = without_quiet_start(
        by_step(now, asked.period, step) if now else [], by_step(then, asked.before, step)
    )
    return _TwoPeriods(now, step, steps, beside, in_all(now, asked.period), in_all(then, asked.before))


def days(asked: Asked) -> list[Part]:
    """Pairs that were ground and minutes that were kept, with the pairs of the days before beside them."""
    say, number = asked.voice.say, asked.voice.number
    now, step, steps, beside, whole, earlier = _two_periods(asked, find_reports.days)
    worked = sum(day.pairs > 0 for day in now)
    words = [
        say(
            N_(
                "Pairs ground: %(pairs)s, on days with work: %(days)s, of these pairs to make a grind good: %(again)s. %(period)s: %(before)s pairs."
            ),
            pairs=number(whole.pairs),
            days=number(worked),
            again=number(whole.again),
            before=number(earlier.pairs),
            period=said_period(asked.before, asked.voice),
        ),
    ]
    if whole.full_pct is not None:
        words.append(
            say(
                N_("%(full)s %% of the open minutes were kept for work, dressings among them."),
                full=number(whole.full_pct, 1),
            )
        )
    return [
        Part(
            "days",
            say(N_("Pairs and minutes")),
            tuple(words),
            tuple(
                say(head)
                for head in (
                    STEPS[step],
                    N_("Pairs"),
                    N_("Ground again"),
                    N_("Pairs before"),
                    N_("Open minutes"),
                    N_("Kept minutes"),
                    N_("Full, per cent"),
                )
            ),
            tuple(
                (
                    label(one.start, step, asked.voice) if step is Step.MONTH else one.start,
                    one.pairs,
                    one.again,
                    _at(beside, at).pairs,
                    one.minutes_open,
                    one.minutes_kept,
                    one.full_pct,
                )
                for at, one in enumerate(steps)
            ),
            picture=_drawn(
                [(one.start, float(one.pairs), float(_at(beside, at).pairs)) for at, one in enumerate(steps)],
                step,
                "days",
                N_("Pairs that were ground"),
                asked.voice,
            ),
            key_words=say(N_("Columns: these days. Lines across them: the days before.")),
        )
    ]


def dressings(asked: Asked) -> list[Part]:
    """Dressings for each pair, over time."""
    say, number = asked.voice.say, asked.voice.number
    _now, step, steps, beside, whole, earlier = _two_periods(asked, find_reports.dressed)
    words = [
        say(
            N_(
                "These are the dressings that were made at the stone, those whose test cut was rejected too, and the pairs whose grind was recorded on those days."
            ),
        )
    ]
    if whole.dressings_a_pair is not None:
        words.append(
            say(
                N_(
                    "In all %(dressings)s dressings for %(pairs)s pairs, %(each)s a pair. %(period)s: %(before)s a pair."
                ),
                dressings=number(whole.dressings),
                pairs=number(whole.pairs),
                each=number(whole.dressings_a_pair, 2),
                before=number(earlier.dressings_a_pair, 2) if earlier.dressings_a_pair is not None else "–",
                period=said_period(asked.before, asked.voice),
            )
        )
    return [
        Part(
            "dressings",
            say(N_("Dressings a pair")),
            tuple(words),
            tuple(
                say(head)
                for head in (
                    STEPS[step],
                    N_("Pairs"),
                    N_("Dressings"),
                    N_("Dressings a pair"),
                    N_("A pair before"),
                )
            ),
            tuple(
                (
                    label(one.start, step, asked.voice) if step is Step.MONTH else one.start,
                    one.pairs,
                    one.dressings,
                    one.dressings_a_pair,
                    _at(beside, at).dressings_a_pair,
                )
                for at, one in enumerate(steps)
            ),
            places=2,
            picture=_drawn(
                [
                    (one.start, one.dressings_a_pair or 0.0, _at(beside, at).dressings_a_pair)
                    for at, one in enumerate(steps)
                ],
                step,
                "dressings",
                N_("Dressings a pair"),
                asked.voice,
                places=2,
            ),
            key_words=say(N_("Columns: these days. Lines across them: the days before.")),
        )
    ]


def _at(steps: list[Done], at: int) -> Done:
    """The step that stands beside another; two periods of equal length may touch one week more or less."""
    return steps[at] if at < len(steps) else NOTHING


def _drawn(
    rows: list[tuple[date, float, float | None]],
    step: Step,
    uid: str,
    title: str,
    voice: Voice,
    places: int = 0,
) -> Markup | None:
    if not rows:
        return None
    columns = [Column(label(start, step, voice), value, beside) for start, value, beside in rows]
    said = voice.say(title)
    told = report_columns.describe(columns, f"{said}.", voice, places)
    return picture(report_columns.draw(columns, voice, places=places), uid, said, told)
