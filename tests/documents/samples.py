"""Invented papers to look at: ``samples()`` gives each as a PDF under the name of its file."""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import date
from pathlib import Path

from portal.documents.address_sheet import render as render_address_sheet
from portal.documents.bench_card import render as render_bench_card
from portal.documents.crate_paper import CratePair, CratePaper
from portal.documents.drop_off_slip import DropOffSlip, SlipLine, SlipPair
from portal.documents.drop_off_slip import render as render_slip
from portal.documents.handback_list import render as render_handback_list
from portal.documents.history import render, render_fleet
from portal.documents.invoice import render as render_invoice
from portal.documents.order_confirmation import render as render_confirmation
from portal.documents.packing_list import render as render_packing_list
from portal.documents.receipt import render as render_receipt
from portal.documents.stone_plan import render as render_stone_plan
from portal.domain.tags import grouped, tag_of
from portal.i18n import voice
from tests.documents import bills, money
from tests.documents.bench_cards import bare_card, bench_card, long_card
from tests.documents.histories import LONG_REMARK, NAMES, WORKSHOP, fleet, grinds, history, whole
from tests.documents.stone_plans import empty_plan, long_plan, stone_plan


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
        "history.pdf": render(whole(history(remarked)), said),
        "history-letter.pdf": render(whole(history(remarked)), said, paper="letter"),
        "history-empty.pdf": render(whole(history(())), said),
        "history-one.pdf": render(whole(history(grinds(1))), said),
        "history-twelve.pdf": render(whole(history(grinds(12))), said),
        "history-unmeasured.pdf": render(history(grinds(3, measured=False)), said),
        "history-sixty.pdf": render(whole(history(grinds(60))), said),
        "history-names.pdf": render(history(six, pair=NAMES), said),
        "histories-skier.pdf": render_fleet(fleet(5), said),
        "histories-club.pdf": render_fleet(fleet(12, is_club=True), said),
        "histories-none.pdf": render_fleet(fleet(0), said),
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
