"""The workshop's structures: what each is for, in words and in its own nominal numbers."""

from __future__ import annotations

from flask import render_template, url_for

from portal.domain.snow import SnowKind
from portal.domain.structures import StatedRange
from portal.domain.words import N_, Phrase
from portal.queries import catalogue as find_structures
from portal.web.public.blueprint import bp
from portal.web.request import db

# How well the workshop says that a structure suits a kind of snow, from 0 to 3.
SUITS = (N_("Not at all"), N_("A little"), N_("Well"), N_("Very well"))


def air_words(stated: StatedRange) -> Phrase:
    """The stated window of air temperature in words."""
    return Phrase(
        N_("Air from %(low)s to %(high)s °C, and with less effect up to %(soft)s °C beyond"),
        {
            "low": signed(stated.air_low_c),
            "high": signed(stated.air_high_c),
            "soft": f"{stated.air_soft_c:g}",
        },
    )


def signed(value: float) -> str:
    """A temperature with a real minus sign."""
    return f"{value:g}".replace("-", "\N{MINUS SIGN}")


def suited_to(stated: StatedRange) -> list[SnowKind]:
    """The kinds of snow that a structure suits well or very well, the best first."""
    return sorted(
        (kind for kind in SnowKind if stated.suits[kind] >= 2), key=lambda kind: -stated.suits[kind]
    )


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
        air=air_words(value.range),
        suits=[(kind.label, SUITS[value.range.suits[kind]]) for kind in SnowKind],
        best=suited_to(value.range),
        back_url=url_for("public.structures"),
    )
