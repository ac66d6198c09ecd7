"""Invented bench cards to look at, as papers."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

from portal.documents.bench_card import BenchCard, PairOnCard
from portal.documents.letterhead import Letterhead
from portal.domain.answers import Discipline
from portal.domain.dressing import Dressing, Hand
from portal.domain.layers import Layer
from portal.domain.pairs import Grip
from portal.domain.pressure import Camber, Wheel, pressure_line
from portal.domain.runs import keep_clear

CUT = Dressing(0.4, 12, 0.6, Hand.RIGHT, 300, 900, 9)
LAYERS = (Layer(CUT, 0, "Siskin"), Layer(replace(CUT, hand=Hand.LEFT, lead_mm=0.9), 3, "Dunnock"))
SETTINGS = (
    ("Diamond", "Dunnock"),
    ("Dressing depth", "12 µm"),
    ("Dressing lead, per turn", "0.9 mm"),
    ("Hand", "Left hand"),
    ("Stone", "300 mm, 900 turns a minute"),
    ("Ski feed", "9 m/min"),
)
SKATE = PairOnCard(
    "7KD 3M9", "Fjellrapp Skate Long 192 cm", "K.S. blue tape", "R-0113", date(2026, 12, 9), 2, 2, 1080, 40,
    pressure=pressure_line(Camber(24.0, 1580.0), Wheel(250, 0.3)),
)  # fmt: skip
PAIRS = (
    SKATE,
    replace(SKATE, tag="4PX HN2", title="Tindvik Classic 205 cm", mark="", thinnest_um=None, pressure=None,
            clear=keep_clear(Discipline.CLASSIC, Grip.SKIN, 48)),
    replace(SKATE, tag="9AC V6T", title="Myrvang Junior 160 cm", mark="Red dot", thinnest_um=520, booking="R-0117",
            clear=keep_clear(Discipline.CLASSIC, Grip.SCALES, None)),
)  # fmt: skip


def bench_card() -> BenchCard:
    """A run of three pairs."""
    return BenchCard(
        workshop=Letterhead("Hollowmere Ski Grinding"),
        reference="Run 12",
        layer="Sedge, layer 2",
        day=date(2026, 12, 7),
        grinder="Grinder 1",
        settings=SETTINGS,
        cut="Test cut signed off by Tina",
        layers=LAYERS,
        minimum_um=500,
        pairs=PAIRS,
        made_at=datetime(2026, 12, 7, 9, 5, tzinfo=UTC),
    )


def long_card() -> BenchCard:
    """A run over several pages."""
    return replace(
        bench_card(),
        pairs=tuple(
            replace(one, tag=f"7KD {at:02}{end}") for at in range(11, 31) for end, one in enumerate(PAIRS, 1)
        ),
    )


def bare_card() -> BenchCard:
    """Base flattening: no settings, no picture."""
    return replace(
        bench_card(),
        layer="Base flattening",
        grinder="",
        settings=(),
        layers=(),
        pairs=(replace(SKATE, mark=""),),
    )
