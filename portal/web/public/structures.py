"""The workshop's structures: what each is for, in words, in its computed surface and in numbers."""

from __future__ import annotations

from flask import render_template, url_for

from portal.domain.snow import SnowKind
from portal.queries import catalogue as find_structures
from portal.web.evidence import of_structure
from portal.web.language import speak
from portal.web.public.blueprint import bp
from portal.web.range_words import SUITS, air_words, suited_to, water_words
from portal.web.request import db
from portal.web.structure_pictures import structure_pictures


@bp.get("/structures", endpoint="structures")
def all_structures() -> str:
    rows = find_structures.all_current(db())
    return render_template(
        "public/structures.html",
        families=[
            (family, [(row, find_structures.value(row)) for row in rows if row.family_id == family.id])
            for family in find_structures.families(db())
        ],
        suited_to=suited_to,
    )


@bp.get("/structures/<key>")
def structure(key: str) -> str:
    row = find_structures.by_key(db(), key)
    value = find_structures.value(row)
    return render_template(
        "public/structure.html",
        row=row,
        value=value,
        surface=structure_pictures(value.layers) if value.layers else None,
        air=air_words(value.range),
        water=water_words(value.range),
        removal=speak().mm(value.removal_um, 3),
        suits=[(kind.label, SUITS[value.range.suits[kind]]) for kind in SnowKind],
        best=suited_to(value.range),
        evidence=of_structure(db(), row.key),
        back_url=url_for("public.structures"),
    )
