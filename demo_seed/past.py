"""Two winters of work: whole bookings, and grinds entered from the workshop's old cards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from demo_seed.bench import Bench, next_work_day
from demo_seed.setting import winters
from portal.db.pairs import Pair
from portal.domain.access import Actor

# Months and days between which people bring skis: before the winter, and in the middle of it.
WINDOWS = (((11, 8), (12, 12)), ((1, 12), (3, 3)))
COMES = 0.6
WITH_BOOKING = 0.25


@dataclass(frozen=True)
class Visit:
    """Somebody brings some of their pairs on a day."""

    day: date
    actor: Actor
    pairs: Sequence[Pair]
    club_id: int | None
    is_booked: bool


def live_through(
    bench: Bench, rng: Random, skiers: Sequence[Actor], clubs: Sequence[tuple[int, Actor]], today: date
) -> None:
    """The winters, one visit after another."""
    for first, last in winters(today):
        work_days = bench.work_days(first, last)
        for opens, closes in WINDOWS:
            for visit in _visits(bench, rng, skiers, clubs, work_days, _window(first, opens, closes)):
                _carry_out(bench, rng, visit, work_days)


def _window(winter: date, opens: tuple[int, int], closes: tuple[int, int]) -> tuple[date, date]:
    year = winter.year if opens[0] > 6 else winter.year + 1
    return date(year, *opens), date(year, *closes)


def _visits(
    bench: Bench,
    rng: Random,
    skiers: Sequence[Actor],
    clubs: Sequence[tuple[int, Actor]],
    work_days: Sequence[date],
    window: tuple[date, date],
) -> list[Visit]:
    possible = [day for day in work_days if window[0] <= day <= window[1]]
    visits = []
    owners: list[tuple[Actor, int | None]] = [(skier, None) for skier in skiers]
    owners += [(manager, club_id) for club_id, manager in clubs]
    for number, (actor, club_id) in enumerate(owners):
        pairs = [pair for pair in bench.free_pairs(actor, club_id) if rng.random() < COMES]
        if pairs:
            # The demo's skier always books, and the clubs before each winter: theirs are the histories looked at first.
            is_club_order = club_id is not None and window[0].month > 6
            is_booked = number == 0 or is_club_order or rng.random() < WITH_BOOKING
            visits.append(Visit(rng.choice(possible), actor, pairs, club_id, is_booked))
    return sorted(visits, key=lambda visit: visit.day)


def _carry_out(bench: Bench, rng: Random, visit: Visit, work_days: Sequence[date]) -> None:
    pairs = [pair for pair in visit.pairs if bench.lasts(pair)]
    if not pairs:
        return
    if not visit.is_booked:
        for pair in pairs:
            bench.from_paper(pair, visit.day)
        return
    asked = visit.day - timedelta(days=rng.randrange(2, 6))
    booking = bench.order(visit.actor, pairs, asked=asked, hand_in=visit.day, club_id=visit.club_id)
    collected = next_work_day(work_days, booking.ready_on, rng.randrange(1, 3))
    bench.whole_journey(booking, asked + timedelta(days=1), collected)
