"""What the form of an order opens with: what was chosen before, else what is advised for each class and discipline."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from flask import request

from portal.domain.age_classes import class_of
from portal.domain.answers import Discipline, Purpose
from portal.queries import age_classes as find_classes
from portal.web.club.answers import Suits, advised
from portal.web.club.forms import ticked_name
from portal.web.club.order_defaults import Defaults, Group, group_of
from portal.web.request import db

Offered = dict[Discipline, dict[int, Any]]
# Places (none for the plain counter) with the days on which they take skis.
PlaceDays = Sequence[tuple[Any, Sequence[date]]]


def every_day(days: PlaceDays) -> list[date]:
    """The days on which at least one place takes skis."""
    return sorted({day for _place, taken in days for day in taken})


def classes_of(club_id: int, pairs: Sequence[Any]) -> dict[int, Any]:
    """The age class of the junior who skis each pair: pair -> class."""
    classes = find_classes.of_club(db(), club_id)
    found = {pair.id: class_of(pair.junior.birth_year, classes) for pair in pairs if pair.junior}
    return {pair_id: one for pair_id, one in found.items() if one is not None}


def race_hints(
    club_id: int, pairs: Sequence[Any], offered: Offered, suits: dict[Group, Suits], of: dict[int, Any]
) -> dict[int, Any]:
    """For pairs meant for races the structure that suits races best, where that is not the one for all pairs like it."""
    racers = [pair for pair in pairs if pair.purpose is Purpose.RACE]
    for_races = advised(db(), club_id, offered, Purpose.RACE) if racers else {}
    found = {}
    for pair in racers:
        group = group_of(pair, of)
        best, usual = for_races.get(group), suits.get(group)
        if best is not None and usual is not None and best.structure is not usual.structure:
            found[pair.id] = best.structure
    return found


def start_of(
    club: Any,
    pairs: Sequence[Any],
    shared: Defaults,
    suits: dict[Group, Suits],
    classes: dict[int, Any],
    days: PlaceDays,
    kept: dict[str, Any],
) -> dict[str, Any]:
    """What the form opens with: what was chosen before, else the advised structures; ticked are all pairs, or those of a
    class, when asked for."""
    data = dict(kept)
    if not kept:
        data = {one.name: str(suits[one.group].structure.id) for one in shared.fields if one.group in suits}
        if any(place is not None and place.id == club.hand_in_place_id for place, _days in days):
            data["place"] = str(club.hand_in_place_id)
    asked = request.args.get("tick")
    ticked = [
        pair for pair in pairs if asked in ("all", str(classes[pair.id].id if pair.id in classes else 0))
    ]
    data.update({ticked_name(pair.id): True for pair in ticked})
    if data.get("hand_in") not in {day.isoformat() for day in every_day(days)}:
        data["hand_in"] = ""
    return data
