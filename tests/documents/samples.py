"""Invented papers to look at: ``samples()`` gives each as a PDF under the name of its file."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

from portal.documents.address_sheet import render as render_address_sheet
from portal.documents.bench_card import render as render_bench_card
from portal.documents.crate_paper import CratePair, CratePaper
from portal.documents.drop_off_slip import DropOffSlip, SlipLine, SlipPair
from portal.documents.drop_off_slip import render as render_slip
from portal.documents.handback_list import render as render_handback_list
from portal.documents.history import (
    CareStep,
    GrindLine,
    History,
    PairFacts,
    StructureNow,
    render,
)
from portal.documents.invoice import render as render_invoice
from portal.documents.letterhead import Letterhead
from portal.documents.order_confirmation import render as render_confirmation
from portal.documents.packing_list import render as render_packing_list
from portal.documents.receipt import render as render_receipt
from portal.documents.stone_plan import render as render_stone_plan
from portal.domain.base_life import BaseGrind, Thickness, base_life
from portal.domain.tags import grouped, tag_of
from portal.i18n import voice
from tests.documents import bills, money
from tests.documents.bench_cards import bare_card, bench_card, long_card
from tests.documents.stone_plans import empty_plan, long_plan, stone_plan

MINIMUM_UM, STATED_UM = 500, 40
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
    reference="P-0042",
)
CARE = (
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


def slip(pairs: int = 2, **more: object) -> DropOffSlip:
    """A slip for so many pairs, each with its tag."""
    made = DropOffSlip(
        workshop=WORKSHOP,
        reference="K2M-7PQX",
        customer="Kari Skogøy",
        contact=("+00 555 0199", "kari@hollowmere.example"),
        hand_in=date(2026, 12, 8),
        ready=date(2026, 12, 11),
        pairs=tuple(
            SlipPair(
                title=f"Fjellrapp Skate Long {180 + number} cm",
                mark=f"Blue {number}",
                code=grouped(tag_of(number)),
                work=("Marsh Cinquefoil", "Base flattening") if number % 2 else ("Sedge",),
            )
            for number in range(1, pairs + 1)
        ),
        bill=(SlipLine("Grind", pairs, "€98.00"), SlipLine("Base flattening", 1, "€18.00")),
        total="€116.00",
        note="The left edge has a burr near the tail.",
        made_on=date(2026, 12, 8),
    )
    return replace(made, **more)  # type: ignore[arg-type]


def crate(pairs: int = 12, **more: object) -> CratePaper:
    """The order of a club with so many pairs, each with its tag."""
    made = CratePaper(
        workshop=WORKSHOP,
        reference="K2M-7PQX",
        address="https://hollowmere.example/order/K2M-7PQX",
        club="Hollowmere Ski Club",
        place="",
        hand_in=date(2026, 12, 8),
        ready=date(2026, 12, 11),
        pairs=tuple(
            CratePair(
                code=grouped(tag_of(number)),
                skier=f"Junior {number}" if number % 7 else "",
                title=f"Fjellrapp Skate Long {140 + number} cm",
                mark=f"Blue {number}" if number % 3 else "",
                discipline="Skate" if number % 2 else "Classic",
                work=("Marsh Cinquefoil", "Base flattening") if number % 4 == 0 else ("Sedge",),
            )
            for number in range(1, pairs + 1)
        ),
        made_on=date(2026, 12, 7),
    )
    return replace(made, **more)  # type: ignore[arg-type]


def samples() -> dict[str, bytes]:
    """Every kind of paper in its usual, its empty and its longest form."""
    six = grinds(6)
    remarked = (*six[:4], replace(six[4], remarks=LONG_REMARK), six[5])
    said = voice("en")
    return {
        "history.pdf": render(history(remarked), said),
        "history-letter.pdf": render(history(remarked), said, paper="letter"),
        "history-empty.pdf": render(history(()), said),
        "history-unmeasured.pdf": render(history(grinds(3, measured=False)), said),
        "history-sixty.pdf": render(history(grinds(60)), said),
        "history-names.pdf": render(history(six, pair=NAMES), said),
        "drop-off-slip.pdf": render_slip(slip(), said),
        "drop-off-slip-a5.pdf": render_slip(slip(), said, paper="A5"),
        "drop-off-slip-long.pdf": render_slip(slip(40, note="", contact=()), said),
        "packing-list.pdf": render_packing_list(crate(), said),
        "packing-list-long.pdf": render_packing_list(crate(44), said),
        "handback-list.pdf": render_handback_list(crate(), said),
        "handback-list-long.pdf": render_handback_list(crate(44), said),
        "receipt.pdf": render_receipt(money.receipt(), said),
        "receipt-refund-copy.pdf": render_receipt(money.refund(), said),
        "receipt-letter.pdf": render_receipt(money.receipt(), said, paper="letter"),
        "invoice.pdf": render_invoice(bills.invoice()),
        "invoice-untaxed-letter.pdf": render_invoice(bills.untaxed(), paper="letter"),
        "credit-note.pdf": render_invoice(bills.credit_note()),
        "order-confirmation.pdf": render_confirmation(bills.confirmation(), said),
        "order-confirmation-long.pdf": render_confirmation(bills.confirmation(60), said, paper="letter"),
        "address-sheet.pdf": render_address_sheet(money.address_sheet(), said),
        "address-sheet-many.pdf": render_address_sheet(money.address_sheet(12), said, paper="letter"),
        "stone-plan.pdf": render_stone_plan(stone_plan(), said),
        "stone-plan-letter.pdf": render_stone_plan(stone_plan(), said, paper="letter", page_a_day=True),
        "stone-plan-long.pdf": render_stone_plan(long_plan(), said),
        "stone-plan-empty.pdf": render_stone_plan(empty_plan(), said),
        "bench-card-run.pdf": render_bench_card(bench_card(), said),
        "bench-card-pair.pdf": render_bench_card(bench_card(), said, one_pair=True),
        "bench-card-long.pdf": render_bench_card(long_card(), said, paper="letter"),
        "bench-card-bare.pdf": render_bench_card(bare_card(), said, one_pair=True),
    }


def main(folder: Path) -> None:
    """Write every sample into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, paper in samples().items():
        (folder / name).write_bytes(paper)


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else ".build/papers"))
