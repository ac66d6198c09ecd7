"""The club's first page: its roster, its open orders and what happens next."""

from __future__ import annotations

from typing import Any

from flask import render_template

from portal.domain.bookings import Stage, Status
from portal.queries import bookings as find_bookings
from portal.queries import clubs as find_clubs
from portal.queries import pairs as find_pairs
from portal.web import handing_over
from portal.web.club import standing
from portal.web.club.blueprint import bp
from portal.web.request import actor, db


@bp.context_processor
def words() -> dict[str, object]:
    return standing.words()


def to_do(orders: list[Any]) -> list[tuple[str, Any]]:
    """What waits for the club, the most pressing first: ("answer" | "hand_in" | "collect", order)."""
    answers = [("answer", order) for order in orders if order.status is Status.COUNTERED]
    confirmed = [order for order in orders if order.status is Status.CONFIRMED]
    collect = [
        ("collect", order) for order in confirmed if any(item.stage is Stage.GROUND for item in order.items)
    ]
    hand_in = [
        ("hand_in", order) for order in confirmed if any(item.stage is Stage.AWAITED for item in order.items)
    ]
    return [*answers, *collect, *sorted(hand_in, key=lambda one: one[1].hand_in_on)]


@bp.get("/<int:club_id>", endpoint="club")
def the_club(club_id: int) -> str:
    club = find_clubs.one(db(), actor(), club_id)
    pairs = find_pairs.of_club(db(), club_id)
    orders = [order for order in find_bookings.of_club(db(), club_id) if order.status.is_open]
    # A pair that was frozen when its junior left still names them.
    of_junior: dict[int | None, list[Any]] = {None: []} | {junior.id: [] for junior in club.roster}
    for pair in pairs:
        of_junior.get(pair.junior_id, of_junior[None]).append(pair)
    return render_template(
        "club/club.html",
        club=club,
        juniors=club.roster,
        managers=sorted((manager.person for manager in club.managers), key=lambda person: person.name),
        pairs=of_junior,
        pair_count=len(pairs),
        archived=find_pairs.of_club(db(), club_id, archived=True),
        handed_over=handing_over.given_away(club_id=club_id),
        orders=orders,
        busy=standing.in_open_orders(orders),
        to_do=to_do(orders),
        answers=find_pairs.answers_of_club(db(), club_id),
    )
