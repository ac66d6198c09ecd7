"""Invented stone plans to look at, as papers."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from portal.documents.letterhead import Letterhead
from portal.documents.stone_plan import DayLine, OrderLine, PairLine, RunLine, StonePlan
from portal.domain.words import Phrase

MADE_AT = datetime(2026, 12, 6, 16, 40, tzinfo=UTC)
MONDAY = date(2026, 12, 7)
WORKSHOP = Letterhead(name="Hollowmere Ski Grinding", address_lines=("Millrace Lane 4", "0000 Hollowmere"))
BASE = RunLine(
    "Sedge, first layer",
    ("Diamond D-2, 0.60 mm a turn, 0.012 mm deep", "Stone 900 turns a minute, wheel force 250 N"),
    1,
    12,
    4,
    25,
    (),
)
CROSSED = RunLine(
    "Cloudberry, crossed", ("Diamond D-1, 1.10 mm a turn, leaning 3° to the right",), 1, 14, 3, 25, ()
)
ORDERS = (
    OrderLine("R-0113 Kari Skogøy", MONDAY + timedelta(days=1), MONDAY, 1),
    OrderLine(
        "R-0117 Alder Valley Ski Club",
        MONDAY,
        MONDAY + timedelta(days=1),
        -1,
        Phrase(
            "From its arrival to its due day %(free)s of %(minutes)s minutes are left.",
            {"free": 8, "minutes": 154},
        ),
    ),
    OrderLine("R-0120 Birch Hill", MONDAY + timedelta(days=4), MONDAY + timedelta(days=1), 3),
)


def pairs(count: int, first: int = 1, late: int = 0) -> tuple[PairLine, ...]:
    """So many pairs with tags in a row; the last ``late`` of them are late."""
    return tuple(
        PairLine(
            f"P-{first + at:04}",
            ("Fjellrapp Skate Long 192 cm", "Tindvik Classic 205 cm", "Myrvang Junior 160 cm")[at % 3],
            "Repaired at the tail: no more than two passes." if at == 2 else "",
            is_late=at >= count - late,
        )
        for at in range(count)
    )


def stone_plan() -> StonePlan:
    """Two days, one order late."""
    return StonePlan(
        workshop=WORKSHOP,
        reference="Plan 14",
        made_at=MADE_AT,
        days=(
            DayLine(
                MONDAY,
                "",
                154,
                (replace(BASE, pairs=pairs(9)), replace(CROSSED, pairs=pairs(6, 10))),
                "The club's crate is fetched at three o'clock.",
            ),
            DayLine(
                MONDAY + timedelta(days=1),
                "",
                154,
                (
                    replace(CROSSED, dressings=0, pairs=pairs(4, 16, late=4)),
                    replace(BASE, dressings=2, life_pairs=8, pairs=pairs(11, 30)),
                ),
            ),
            DayLine(MONDAY + timedelta(days=2), "", 0, ()),
        ),
        orders=ORDERS,
        notes=("Best found in 60 seconds; no plan needs fewer than 38 minutes of dressing.",),
    )


def long_plan() -> StonePlan:
    """A day whose work runs over several pages, on two grinders."""
    whole = stone_plan()
    runs = tuple(
        replace(one, layer=f"{one.layer} {number}", pairs=pairs(20 + number, 100 * number))
        for number, one in enumerate((BASE, CROSSED, BASE), 1)
    )
    return replace(
        whole,
        days=(DayLine(MONDAY, "left stone", 480, runs), DayLine(MONDAY, "right stone", 480, runs[:1])),
        orders=tuple(replace(one, title=f"{one.title} {at}") for at in range(8) for one in ORDERS),
    )


def empty_plan() -> StonePlan:
    """Nothing to do."""
    return replace(stone_plan(), days=(DayLine(MONDAY, "", 154, ()),), orders=(), notes=())
