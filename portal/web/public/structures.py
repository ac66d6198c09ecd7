"""The workshop's structures: what each is for, in words and in its own nominal numbers."""

from __future__ import annotations

from flask import render_template, url_for

from portal.domain.snow import SnowKind
from portal.domain.structures import StatedRange
from portal.domain.words import N_, Phrase
from portal.queries import catalogue as find_structures
from portal.web.language import speak
from portal.web.public.blueprint import bp
from portal.web.request import db

# How well the workshop says that a structure suits a kind of snow, from 0 to 3.
SUITS = (N_("Not at all"), N_("A little"), N_("Well"), N_("Very well"))


# A window that ends here or beyond has no end that a skier would meet.
COLDEST_MET_C, WARMEST_MET_C = -40, 15


def air_words(stated: StatedRange) -> Phrase:
    """The stated window of air temperature in words."""
    soft = f"{stated.air_soft_c:g}"
    if stated.air_low_c <= COLDEST_MET_C:
        return Phrase(
            N_("Air up to %(high)s °C, and less well up to %(soft)s °C above that"),
            {"high": signed(stated.air_high_c), "soft": soft},
        )
    if stated.air_high_c >= WARMEST_MET_C:
        return Phrase(
            N_("Air from %(low)s °C up, and less well up to %(soft)s °C below that"),
            {"low": signed(stated.air_low_c), "soft": soft},
        )
    return Phrase(
        N_("Air from %(low)s to %(high)s °C, and less well up to %(soft)s °C beyond"),
        {
            "low": signed(stated.air_low_c),
            "high": signed(stated.air_high_c),
            "soft": soft,
        },
    )


def water_words(stated: StatedRange) -> Phrase:
    """The stated window of liquid water in words."""
    if stated.water_high_pct == 0:
        return Phrase(N_("None: dry snow only"))
    high = f"{stated.water_high_pct:g}"
    if stated.water_low_pct == 0:
        return Phrase(N_("Up to %(high)s per cent by volume"), {"high": high})
    low = f"{stated.water_low_pct:g}"
    return Phrase(N_("From %(low)s to %(high)s per cent by volume"), {"low": low, "high": high})


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
        water=water_words(value.range),
        removal=speak().mm(value.removal_um, 3),
        suits=[(kind.label, SUITS[value.range.suits[kind]]) for kind in SnowKind],
        best=suited_to(value.range),
        back_url=url_for("public.structures"),
    )
