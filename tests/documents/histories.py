"""Invented service histories: short and long, bare and with all that a paper can show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from typing import Any

from portal.documents.history import (
    CareFact,
    CareFacts,
    CareGroup,
    CareStep,
    EvidenceLine,
    Fleet,
    FleetPair,
    GlideRow,
    GlideShown,
    GrindLine,
    History,
    Number,
    PairFacts,
    Seal,
    SnowShown,
    StructureNow,
    SurfaceShown,
    render,
)
from portal.documents.letterhead import Letterhead
from portal.domain.base_life import BaseGrind, Measured, Thickness, base_life
from portal.domain.care import CareStage
from portal.domain.layers import Form, Layer, Profile
from portal.domain.tags import grouped, tag_of
from portal.i18n import voice

MINIMUM_UM, STATED_UM = 500, 40
SAID = voice("en")
MADE_ON = date(2026, 12, 10)

WORKSHOP = Letterhead(
    name="Hollowmere Ski Grinding",
    address_lines=("Millrace Lane 4", "0000 Hollowmere"),
    phone="+00 555 0142",
    email="bench@hollowmere.example",
    web="hollowmere.example",
)
PAIR = PairFacts(
    maker="Fjellrapp",
    model="Skate Long",
    discipline="Skate",
    length_cm=192,
    year=2022,
    mark="K.S. blue tape",
    base="Dark base",
    grip="",
    owner="Kari Skogøy",
    reference="Pair 42",
    tag=grouped(tag_of(42)),
)
AFTER_GRIND = (
    CareStep(
        "Before the first tour",
        "Wax the new base three to ten times with a soft wax, let it cool to room temperature each time, scrape and "
        "brush.",
        "Set the iron no hotter than the wax needs and keep it moving; stop if it smokes. Open a window or use an "
        "extractor, and keep children away.",
    ),
    CareStep(
        "When you scrape",
        "Use a sharp plastic scraper from tip to tail with little pressure, then brush along the structure.",
        "Edges and scrapers cut. Wear a particle mask when fine wax dust is in the air.",
    ),
    CareStep(
        "When the base is dirty",
        "Clean it with warm wax that you scrape off while it is soft. Use a cleaner only where that is not enough.",
        "Cleaner gives off vapour that burns: no flame, no hot iron near it, gloves on, fresh air.",
        "Freberg et al. 2013, Ann. Occup. Hyg. 57(3), on what ski cleaners are made of",
    ),
    CareStep("Between winters", "Leave a layer of wax on the base and store the skis cool, dry and dark."),
)
CARE = (
    CareGroup(CareStage.AFTER_GRIND.label, AFTER_GRIND),
    CareGroup(CareStage.IN_USE.label, AFTER_GRIND[1:3]),
    CareGroup(CareStage.BEFORE_STORAGE.label, AFTER_GRIND[3:]),
    CareGroup(CareStage.REGRIND.label, AFTER_GRIND[2:3]),
)
STRUCTURES = (
    ("Sedge", "Fine linear"),
    ("Marsh Cinquefoil", "Broad linear"),
    ("Cloudberry", "Crossed"),
)


def grinds(count: int, *, start_um: int = 1150, measured: bool = True) -> tuple[GrindLine, ...]:
    """``count`` grinds, about two a winter, each a little off what is stated; every fourth is not measured."""
    lines, left = [], start_um
    for n in range(count):
        name, family = STRUCTURES[n % len(STRUCTURES)]
        taken = (30, 50, 40, 60)[n % 4] if count < 12 else (10, 0, 10, 20)[n % 4]
        known = measured and n % 4 != 2
        lines.append(
            GrindLine(
                day=date(2022, 11, 20) + timedelta(days=n * (190 if count < 12 else 24)),
                structure=name,
                family=family,
                before_um=Thickness(left + 30, left + 10, left) if known else None,
                after_um=Thickness(left + 30 - taken, left + 10 - taken, left - taken) if known else None,
                technician="Ola Myr",
                flattened=n == 0,
                saturated=n % 3 == 0,
                remarks="Small scratch at the tail, left as it is." if n == 1 else "",
                again=("The pair is ground again, because: The structure is uneven.",) if n == 2 else (),
            )
        )
        left -= taken
    return tuple(lines)


def history(lines: Sequence[GrindLine], *, pair: PairFacts = PAIR) -> History:
    """A history of these grinds, with the base life that follows from them."""
    facts = [BaseGrind(line.day, line.before_um, line.after_um, STATED_UM) for line in lines]
    last = max(lines, key=lambda line: line.day, default=None)
    return History(
        workshop=WORKSHOP,
        pair=pair,
        structure_now=StructureNow(last.structure, last.family, last.day) if last else None,
        grinds=tuple(lines),
        base_life=base_life(facts, MINIMUM_UM, STATED_UM),
        care=CARE,
        made_on=MADE_ON,
    )


LONG_REMARK = (
    "The base was hollow in the middle over the whole length and was flattened in two passes. A burn of about four "
    "centimetres under the foot is still to be seen and does no harm; look at it again before the next grind."
)
NAMES = replace(PAIR, owner="Γιώργος Χιονάς · Снежана Лыжина · 雪村 · สมชาย ⛷", mark="<b>&amp;<img src=x>")
SURFACE = SurfaceShown(
    "Cloudberry",
    (
        Layer(Profile(Form.PARABOLA, 0.6, 0.35, 12.0, 8.0)),
        Layer(Profile(Form.PARABOLA, 0.6, 0.35, 12.0, -8.0)),
    ),
    (
        Number("Void volume", "", "4.1 mL/m²"),
        Number("Plateau share", "", "41.0 %"),
        Number("Arithmetic mean height", "Sa", "3.21 µm"),
        Number("Root mean square height", "Sq", "3.90 µm"),
        Number("Mean profile element spacing", "RSm", "600 µm"),
    ),
)
SNOW = SnowShown(
    date(2026, 9, 30),
    (
        ("A cold day", "−12 °C"),
        ("An ordinary day", "−5 °C"),
        ("A mild day", "1 °C"),
        ("Air", "Neither dry nor humid"),
        ("Mostly", "New snow; Settled snow"),
        ("Now and then", "Wet snow"),
        ("The track goes wet", "Now and then"),
        ("The pair is for", "All my skiing"),
    ),
    "Cloudberry",
    83,
)
GLIDE = GlideShown(
    (GlideRow("Cloudberry", "Sedge", 3, 1, 0), GlideRow("Cloudberry", "Marsh Cinquefoil", 0, 0, 1)),
    "Cloudberry",
    (
        EvidenceLine("New snow, dry", 14, 6, "Ran faster in 64 of 100 (95 % interval: 38 to 84)"),
        EvidenceLine("Wet snow, wet", 2, 1, "Too few to tell"),
    ),
)
SITE = "https://grind.hollowmere.example"
SEAL = Seal(f"{SITE}/paper/{'eyJrIjoicCIs' * 13}.{'c2VhbA' * 4}", "K7MD 4PXA", f"{SITE}/paper")

FACTS = CareFacts(
    date(2026, 10, 1),
    (
        CareFact(
            date(2023, 11, 1),
            "An invented rule about wax.",
            "An invented rule book, 4.2",
            is_from_memory=True,
        ),
    ),
)


def whole(it: History) -> History:
    """The same with all that a paper can show beside its grinds."""
    came_in = Measured(date(2026, 12, 8), Thickness(900, 880, 870))
    has_surface = it.structure_now is not None
    return replace(
        it,
        measured=(came_in,),
        surface=SURFACE if has_surface else None,
        snow=SNOW if has_surface else None,
        glide=GLIDE,
        seal=SEAL,
        care_facts=FACTS,
    )


def fleet(count: int, *, is_club: bool = False) -> Fleet:
    """So many pairs of a skier or of a club, with up to six grinds each."""
    pairs = []
    for number in range(1, count + 1):
        facts = replace(
            PAIR,
            length_cm=150 + number,
            mark=f"Blue {number}",
            owner="" if is_club else PAIR.owner,
            reference=f"Pair {number}",
            tag=grouped(tag_of(number)),
        )
        it = replace(whole(history(grinds(number % 7), pair=facts)), seal=None, surface=None, care_facts=None)
        skier = f"Junior {number}" if is_club and number % 9 else ""
        pairs.append(FleetPair(replace(it, glide=replace(GLIDE, evidence=()) if number % 3 else None), skier))
    return Fleet(
        workshop=WORKSHOP,
        owner="Hollowmere Ski Club" if is_club else PAIR.owner,
        is_club=is_club,
        pairs=tuple(pairs),
        care=CARE,
        made_on=MADE_ON,
        surfaces=(SURFACE, replace(SURFACE, structure="Sedge", layers=SURFACE.layers[:1])) if pairs else (),
        seal=Seal(
            f"{SITE}/paper/{'eyJrIjoicCIs' * (13 + count)}.{'c2VhbA' * 4}", "K7MD 4PXA", f"{SITE}/paper"
        ),
        care_facts=FACTS,
    )


@cache
def paper(it: History, **options: Any) -> bytes:
    """The paper in English, set once for all tests that look at it."""
    return render(it, SAID, **options)
