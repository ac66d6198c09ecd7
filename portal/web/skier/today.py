"""Which pair today: the snow of the day in, the skier's own pairs ranked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from flask import render_template, url_for

from portal.domain.advice_words import hundred
from portal.domain.answers import Humidity
from portal.domain.conditions import Conditions, Moisture
from portal.domain.coverage import likely_moisture
from portal.domain.snow import SnowKind
from portal.domain.today import Fit, ranked
from portal.queries import catalogue as find_structures
from portal.queries import glide_notes as find_notes
from portal.queries import pairs as find_pairs
from portal.web.evidence import evidence_now, told
from portal.web.request import actor, db, portal, today
from portal.web.skier.blueprint import bp
from portal.web.skier.day_forms import TodayForm

# So many of the best pairs are proposed to be compared.
COMPARED = 2


@dataclass(frozen=True)
class Choice:
    """One pair for today, with what the page says of it."""

    pair: Any
    fit: Fit

    @property
    def suits(self) -> int:
        return hundred(self.fit.fit)

    @property
    def evidence(self) -> Any:
        """What glide notes say of its structure on such snow; nothing without notes."""
        return told(self.fit.tally) if self.fit.tally is not None else None


@bp.get("/today", endpoint="today")
def which_pair() -> str:
    form = TodayForm.asked()
    mine = find_pairs.of_person(db(), actor().person_id)
    known = find_notes.on_base(db(), [pair.id for pair in mine], today())
    choices, day = None, None
    if form.is_asked_and_right():
        day = Conditions(
            form["air"].degrees,
            SnowKind(form["kind"].data),
            form.felt or Moisture.DRY,
            Humidity(form["humidity"].data),
        )
        choices = _choices(form, day, mine, known)
    return render_template(
        "skier/today.html",
        form=form,
        day=day,
        choices=choices,
        unknown=[pair for pair in mine if pair.id not in known],
        known=known,
        ran_url=_ran_url(form, choices) if choices else None,
        back_url=url_for("skier.pairs"),
    )


def _ran_url(form: TodayForm, choices: list[Choice]) -> str | None:
    """Where a skier says how the best pairs for this snow ran, with what was answered of it."""
    first = choices[0].pair.discipline
    alike = [one.pair.id for one in choices if one.pair.discipline is first]
    if len(alike) < COMPARED:
        return None
    answers = {name: form[name].data for name in ("air", "kind", "humidity")}
    if form.felt is not None:
        answers["moisture"] = form.felt.value
    answers["step"] = "snow" if form.felt is None else "pairs"
    return url_for("skier.how_they_ran", pair=alike[:COMPARED], **answers)


def _choices(form: TodayForm, day: Conditions, mine: list[Any], known: dict[int, Any]) -> list[Choice]:
    tables = portal().reference.tables
    likely = (
        {form.felt: 1.0}
        if form.felt is not None
        else likely_moisture(day.air_c, day.kind, day.humidity, tables)
    )
    pairs = [(number, find_structures.value(grind.structure)) for number, grind in known.items()]
    by_id = {pair.id: pair for pair in mine}
    found = ranked(day, likely, pairs, evidence_now(db()))
    return [Choice(by_id[fit.pair_id], fit) for fit in found]
