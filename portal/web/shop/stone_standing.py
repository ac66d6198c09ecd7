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


def how_good(made: Plan) -> list[Phrase]:
    """What was proved of a plan, and what is only the best that was found."""
    number = speak().number
    if made.proved:
        return [Phrase(N_("Proved: no plan of the same parts of orders is better."))]
    told = []
    if made.late_pair_days > made.bound.late_pair_days > 0:
        told.append(
            Phrase(
                N_(
                    "%(late)s weighted pair-days late are the fewest found. It is proved only that no plan has fewer than "
                    "%(bound)s."
                ),
                {"late": number(made.late_pair_days), "bound": number(made.bound.late_pair_days)},
            )
        )
    elif made.late_pair_days > made.bound.late_pair_days:
        told.append(
            Phrase(
                N_(
                    "%(late)s weighted pair-days late are the fewest found. It is not proved that there is no better plan."
                ),
                {"late": number(made.late_pair_days)},
            )
        )
    elif made.late_pair_days:
        told.append(Phrase(N_("Proved: no plan has fewer weighted pair-days late.")))
    else:
        told.append(Phrase(N_("Nothing is late, and no plan can do better in that.")))
    if made.dressing_minutes > made.bound.dressing_minutes:
        told.append(
            Phrase(
                N_(
                    "%(minutes)s dressing minutes are the fewest found. It is proved only that no plan as punctual needs "
                    "fewer than %(bound)s."
                ),
                {"minutes": number(made.dressing_minutes), "bound": number(made.bound.dressing_minutes)},
            )
        )
    else:
        told.append(Phrase(N_("Proved: no plan as punctual needs fewer dressing minutes.")))
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
