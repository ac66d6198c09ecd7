"""The promise calendar: how full the days to come are by the ledger, with how many pairs and which layers."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta

from flask import render_template, request, url_for
from markupsafe import Markup

from portal.domain.words import Phrase
from portal.pictures import day_load
from portal.pictures.day_load import DayLoad
from portal.queries import catalogue as find_structures
from portal.queries import days as find_days
from portal.queries import stone_report as find_report
from portal.web.language import speak
from portal.web.request import actor, db, today
from portal.web.shop.blueprint import bp
from portal.web.shop.stone import may_plan
from portal.web.shop.stone_words import book_of
from portal.web.shown import on_page

WEEKS = 4


@dataclass(frozen=True)
class CalendarDay:
    """A day of the calendar; a closed one has no minutes. ``layers`` are the words of each with its pairs."""

    load: DayLoad
    picture: Markup | None
    told: str
    pairs: int
    layers: tuple[tuple[Phrase, int], ...]
    note: str

    @property
    def is_closed(self) -> bool:
        return not self.load.minutes


@bp.get("/stone/calendar")
def calendar() -> str:
    may_plan()
    here = today()
    first = _first_day(here)
    last = first + timedelta(weeks=WEEKS, days=-1)
    shown = _days(max(first, here), last)
    before = first - timedelta(weeks=WEEKS)
    return render_template(
        "shop/calendar.html",
        days=shown,
        is_open=any(not day.is_closed for day in shown),
        first=shown[0].load.day,
        last=last,
        before=url_for("shop.calendar", week=before.isoformat()) if first > here else None,
        after=url_for("shop.calendar", week=(last + timedelta(days=1)).isoformat()),
        is_manager=actor().is_manager,
    )


def _first_day(here: date) -> date:
    """The Monday that the address asks for, as far ahead as a year; without one, that of this week."""
    monday = here - timedelta(days=here.weekday())
    try:
        asked = date.fromisoformat(request.args.get("week", ""))
    except ValueError:
        return monday
    asked = min(max(asked, monday), monday + timedelta(weeks=52))
    return asked - timedelta(days=asked.weekday())


def _days(first: date, last: date) -> list[CalendarDay]:
    rows = {row.day: row for row in find_days.between(db(), first, last)}
    held = find_days.held(db(), list(rows.values()))
    pairs = find_report.pairs_on(db(), first, last)
    structures = [*find_report.structures_on(db(), first, last), *find_structures.all_current(db())]
    book, voice = book_of(structures), speak()
    found = []
    for offset in range((last - first).days + 1):
        day = first + timedelta(days=offset)
        row = rows.get(day)
        load = (
            DayLoad(day, row.minutes_in_all, row.minutes_committed) if row is not None else DayLoad(day, 0, 0)
        )
        layers: Counter[str] = Counter()
        for (_grinder, layer), (count, _minutes) in (held[row.id] if row is not None else {}).items():
            layers[layer] += count
        told = day_load.describe_one(load, voice)
        found.append(
            CalendarDay(
                load,
                on_page(day_load.draw_one(load, voice), f"load-{offset}", voice.date(day), told)
                if load.minutes
                else None,
                told,
                pairs.get(day, 0),
                tuple((book.of(layer).name, count) for layer, count in layers.most_common()),
                row.note if row is not None else "",
            )
        )
    return found
