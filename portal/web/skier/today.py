"""Which pair today: the snow of the day in, the skier's own pairs ranked, each kind of skiing by itself."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from flask import render_template, url_for

from portal.domain.answers import Discipline, Humidity
from portal.domain.bookings import Stage
from portal.domain.conditions import Conditions, Moisture
from portal.domain.coverage import likely_moisture
from portal.domain.shares import hundred
from portal.domain.snow import SnowKind
from portal.domain.today import Fit, ranked
from portal.domain.words import N_, Phrase
from portal.queries import bookings as find_bookings
from portal.queries import catalogue as find_structures
from portal.queries import glide_notes as find_notes
from portal.queries import pairs as find_pairs
from portal.web.evidence import evidence_now, snow_at, snow_words, told
from portal.web.request import actor, db, portal, today
from portal.web.skier.blueprint import bp
from portal.web.skier.day_forms import TodayForm, keep_snow
from portal.web.skier.due import booking_url

# So many of the best pairs are proposed to be compared.
COMPARED = 2


@dataclass(frozen=True)
class Choice:
    """One pair for today, with what the page says of it, and where it stands in a booking."""

    pair: Any
    fit: Fit
    item: Any

    @property
    def is_here(self) -> bool:
        """Whether it can be skied: it does not lie at the workshop."""
        return self.pair.found_at is None and (self.item is None or self.item.stage is Stage.AWAITED)

    @property
    def booking_url(self) -> str | None:
        return booking_url(self)

    @property
    def suits(self) -> int:
        return hundred(self.fit.fit)

    @property
    def evidence(self) -> Any:
        """What glide notes say of its structure on such snow; nothing without notes."""
        return told(self.fit.tally) if self.fit.tally is not None else None


@dataclass(frozen=True)
class Ranking:
    """The pairs for one kind of skiing, the best first, and the way to say how they ran."""

    discipline: Discipline
    choices: tuple[Choice, ...]
    ran_url: str | None


@bp.get("/today", endpoint="today")
def which_pair() -> str:
    form = TodayForm.asked()
    mine = find_pairs.of_person(db(), actor().person_id)
    known = find_notes.on_base(db(), [pair.id for pair in mine], today())
    rankings, snow = None, None
    if form.is_asked_and_right():
        day = Conditions(
            form["air"].degrees,
            SnowKind(form["kind"].data),
            form.felt or Moisture.DRY,
            Humidity(form["humidity"].data),
        )
        rankings, snow = _rankings(form, day, mine, known), _said(form, day)
        keep_snow(today(), _answers(form))
    return render_template(
        "skier/today.html",
        form=form,
        snow=snow,
        rankings=rankings,
        unknown=[pair for pair in mine if pair.id not in known],
        known=known,
        back_url=url_for("skier.pairs"),
    )


def _said(form: TodayForm, day: Conditions) -> Phrase:
    """The snow that was entered, in words."""
    if form.felt is None:
        snow = Phrase(N_("%(snow)s, not known how wet the track is"), {"snow": snow_at(day.kind, day.air_c)})
    else:
        snow = snow_words(day)
    if day.humidity is Humidity.UNSURE:
        return snow
    return Phrase(
        N_("%(snow)s; humidity: %(humidity)s"), {"snow": snow, "humidity": Phrase(day.humidity.label)}
    )


def _rankings(form: TodayForm, day: Conditions, mine: list[Any], known: dict[int, Any]) -> list[Ranking]:
    items = find_bookings.items_with_pairs(db(), list(known))
    found = []
    for discipline in Discipline:
        own = [pair for pair in mine if pair.discipline is discipline and pair.id in known]
        if own:
            choices = _choices(form, day, own, known, items)
            found.append(Ranking(discipline, choices, _ran_url(form, choices)))
    return found


def _ran_url(form: TodayForm, choices: Sequence[Choice]) -> str | None:
    """Where a skier says how the best pairs for this snow ran, with what was answered of it."""
    here = [one.pair.id for one in choices if one.is_here]
    if len(here) < COMPARED:
        return None
    # What is left to say is how they ran; with the wetness nobody felt, the snow before it.
    step = "snow" if form.felt is None else "on"
    return url_for("skier.how_they_ran", pair=here[:COMPARED], step=step, **_answers(form))


def _answers(form: TodayForm) -> dict[str, Any]:
    """What was answered of the snow, for a glide note of the same day."""
    answers = {name: form[name].data for name in ("air", "kind", "humidity")}
    return answers if form.felt is None else {**answers, "moisture": form.felt.value}


def _choices(
    form: TodayForm, day: Conditions, own: Sequence[Any], known: Mapping[int, Any], items: Mapping[int, Any]
) -> tuple[Choice, ...]:
    tables = portal().reference.tables
    likely = (
        {form.felt: 1.0}
        if form.felt is not None
        else likely_moisture(day.air_c, day.kind, day.humidity, tables)
    )
    by_id = {pair.id: pair for pair in own}
    pairs = [(number, find_structures.value(known[number].structure)) for number in by_id]
    found = ranked(day, likely, pairs, evidence_now(db()))
    return tuple(Choice(by_id[fit.pair_id], fit, items.get(fit.pair_id)) for fit in found)
