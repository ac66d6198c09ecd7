"""A pair as the workshop sees it: what it is, whose it is, what was ground and how much base is left."""

from __future__ import annotations

from flask import render_template, request, url_for

from portal.domain.arrivals import CHECKS
from portal.domain.bookings import Stage, next_stage
from portal.domain.errors import NotNow
from portal.domain.next_grind import base_said
from portal.domain.tags import grouped, tag_of
from portal.queries import arrivals as find_arrivals
from portal.queries import bookings as find_bookings
from portal.queries import care as find_care
from portal.queries import grinds as find_grinds
from portal.queries import pairs as find_pairs
from portal.queries import reworks as find_reworks
from portal.queries import workshop as find_workshop
from portal.services import reworks
from portal.web import photos
from portal.web.history import life_of
from portal.web.request import actor, db, portal, today
from portal.web.reworking import lines_of
from portal.web.shop.blueprint import bp
from portal.web.shop.disputes import who_had_it
from portal.web.shop.pressure import pressure_of


@bp.get("/pair/<int:pair_id>")
def pair(pair_id: int) -> str:
    found = find_pairs.one(db(), actor(), pair_id)
    bookings = find_bookings.of_pair(db(), found.id)
    in_hand = find_bookings.in_hand(db(), found.id)
    here = find_workshop.the(db())
    history = find_grinds.of_pair(db(), found.id)
    return render_template(
        "shop/pair.html",
        pair=found,
        history=history,
        reworks=lines_of(db(), history),
        to_grind_again=_to_grind_again(history[0].id) if history else None,
        thinnest_um=find_grinds.thinnest_now_um(db(), found.id),
        minimum_um=here.minimum_um,
        base_left=base_said(life_of(db(), found.id, history)) if history else None,
        pressure=pressure_of(found, here),
        bookings=bookings,
        tag=grouped(tag_of(found.id)),
        in_hand=in_hand,
        had_it=who_had_it(found.id),
        next_step=next_stage(in_hand.stage) if in_hand is not None else None,
        check_ins=find_arrivals.check_ins_of_pair(db(), found.id),
        conditions=find_arrivals.condition_words(db()),
        handbacks=find_arrivals.handbacks_of_pair(db(), found.id),
        checks=CHECKS,
        care={one.rule.key: one.rule.advice for one in _all_care()},
        photo_url=photos.addresses("shop"),
        was_scanned="scanned" in request.args,
        # The next one is scanned the way this one was.
        scan_url=url_for("shop.scan_camera" if request.args.get("scanned") == "camera" else "shop.scan"),
        # Fresh from the bench, the way on is the day's next pair.
        from_bench=request.args.get("item", type=int) is not None,
        Stage=Stage,
        back_url=url_for("shop.day") if "item" in request.args else None,
    )


def _all_care() -> tuple[find_care.Listed, ...]:
    """What was told at a handback may be given no longer."""
    return find_care.everything(db(), portal().reference.care.rules)


def _to_grind_again(grind_id: int) -> int | None:
    """The last grind, as long as it can be made good."""
    try:
        reworks.insist_it_can_be_made(db(), find_reworks.grind(db(), actor(), grind_id), today())
    except NotNow:
        return None
    return grind_id
