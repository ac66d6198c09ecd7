"""How a stone plan stands, in words: who asked, how far it is, how good it is, and what it does not do justice to."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from portal.domain.planning.problem import Plan
from portal.domain.stone_plans import Status
from portal.domain.words import N_, Phrase
from portal.web.language import speak

if TYPE_CHECKING:
    from portal.db.bookings import BookingItem
    from portal.db.stone_plans import StonePlan

# A worker looks once a second: who waits longer waits for one that does not run.
NOBODY_TAKES_IT = timedelta(seconds=30)


def who_asked(row: StonePlan) -> Phrase:
    """The person, or the workshop's own worker."""
    if row.automatic:
        return Phrase(N_("the worker, by itself"))
    if row.asked_by is None:
        return Phrase(N_("somebody who is not here any more"))
    return Phrase(N_("%(name)s"), {"name": row.asked_by.name})


def no_worker(row: StonePlan, now: datetime) -> bool:
    """Whether a plan waits for so long that no worker can be running."""
    return row.status is Status.WAITING and now - row.asked_at > NOBODY_TAKES_IT


def how_far(row: StonePlan) -> list[Phrase]:
    """What is known of a plan in hand: nothing at first, then the best plan so far."""
    so_far = row.progress
    if row.status is Status.WAITING or so_far is None:
        return []
    number = speak().number
    return [
        Phrase(
            N_("Thinking for %(seconds)s seconds of about %(all)s."),
            {"seconds": number(so_far["seconds"]), "all": number(row.seconds)},
        ),
        Phrase(
            N_(
                "Best so far: %(dressings)s dressings in %(minutes)s minutes, %(late)s weighted pair-days late, "
                "%(moved)s steps moved."
            ),
            {
                "dressings": number(so_far["dressings"]),
                "minutes": number(so_far["dressing_minutes"]),
                "late": number(so_far["late_pair_days"]),
                "moved": number(so_far["moved"] or 0),
            },
        ),
    ]


def how_good(made: Plan, move_minutes: float) -> list[Phrase]:
    """What was proved of a plan, and what is only the best that was found.

    ``move_minutes`` are what each pair and layer counts that moves, where people already worked by a plan.
    """
    if made.proved:
        return [Phrase(N_("Proved: no plan is better."))]
    return [_how_punctual(made), *_how_cheap(made, move_minutes)]


def _how_punctual(made: Plan) -> Phrase:
    number = speak().number
    late, bound = made.late_pair_days, made.bound.late_pair_days
    if late > bound > 0:
        return Phrase(
            N_(
                "%(late)s weighted pair-days late are the fewest found. It is proved only that no plan has fewer than "
                "%(bound)s."
            ),
            {"late": number(late), "bound": number(bound)},
        )
    if late > bound:
        return Phrase(
            N_(
                "%(late)s weighted pair-days late are the fewest found. It is not proved that there is no better plan."
            ),
            {"late": number(late)},
        )
    if late:
        return Phrase(N_("Proved: no plan has fewer weighted pair-days late."))
    return Phrase(N_("Nothing is late, and no plan can do better in that."))


def _how_cheap(made: Plan, move_minutes: float) -> list[Phrase]:
    """Of dressings and, where there was a plan before, of what moves."""
    number, bound = speak().number, made.bound
    if bound.with_moves is not None:
        words: dict[str, str | Phrase] = {"each": number(move_minutes, 1)}
        cost = made.dressing_minutes + move_minutes * (made.moved or 0)
        if cost <= bound.with_moves:
            return [
                Phrase(
                    N_(
                        "Proved: no plan as punctual comes to fewer dressing minutes, where each pair and layer that moves "
                        "counts as %(each)s minutes."
                    ),
                    words,
                )
            ]
        return [
            Phrase(
                N_(
                    "Dressing minutes come to %(cost)s, where each pair and layer that moves counts as %(each)s minutes. It is "
                    "proved only that no plan as punctual comes to fewer than %(bound)s."
                ),
                words | {"cost": number(cost, 1), "bound": number(bound.with_moves, 1)},
            )
        ]
    if made.dressing_minutes <= bound.dressing_minutes:
        return [Phrase(N_("Proved: no plan as punctual needs fewer dressing minutes."))]
    told = [
        Phrase(
            N_(
                "%(minutes)s dressing minutes are the fewest found. It is proved only that no plan as punctual needs "
                "fewer than %(bound)s."
            ),
            {"minutes": number(made.dressing_minutes), "bound": number(bound.dressing_minutes)},
        )
    ]
    if bound.by_day > bound.dressing_minutes:
        told.append(
            Phrase(
                N_("No plan that keeps no dressing overnight needs fewer than %(bound)s."),
                {"bound": number(bound.by_day)},
            )
        )
    return told


def passed_over(row: StonePlan, items: Mapping[int, BookingItem]) -> list[tuple[Phrase, BookingItem]]:
    """The pairs that a plan does not do justice to, each with why."""
    notes: dict[str, Any] = row.notes
    why = {
        "left_out": N_("not in the plan: no day after it arrives is long enough"),
        "loose": N_("its pin could not be kept"),
    }
    return [
        (Phrase(text), items[item])
        for name, text in why.items()
        for item in notes.get(name, ())
        if item in items
    ]
