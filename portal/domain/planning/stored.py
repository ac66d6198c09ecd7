"""Problems and plans as JSON, the other way round: what ``rillbook plan FILE`` reads is written, what it prints is read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from portal.domain.planning.problem import Asked, Bound, Frozen, Late, Plan, Problem, Run


def asked_to_json(asked: Asked) -> dict[str, Any]:
    """The document that ``asked_from_json`` reads back as the same value."""
    return problem_to_json(asked.problem) | {"seconds": asked.seconds, "seed": asked.seed}


def problem_to_json(problem: Problem) -> dict[str, Any]:
    """The problem without how long to think about it. What may be left out and says nothing is left out."""
    made: dict[str, Any] = {
        "buffer_days": problem.buffer_days,
        "days": [
            {"date": one.day.isoformat(), "minutes": list(one.by_grinder) or one.minutes}
            for one in problem.days
        ],
        "grinders": [
            {"name": one.name}
            | (
                {"dressed": {"layer": one.dressed.layer, "left": one.dressed.left}}
                if one.dressed is not None
                else {}
            )
            for one in problem.grinders
        ],
        "layers": [vars(one).copy() for one in problem.layers],
        "orders": [
            {
                "name": order.name,
                "arrives": order.arrives.isoformat(),
                "due": order.due.isoformat(),
                "weight": order.weight,
                "lots": [
                    {"name": lot.name, "pairs": lot.pairs, "layers": list(lot.layers)}
                    | ({"minutes": list(lot.minutes)} if lot.minutes else {})
                    for lot in order.lots
                ],
            }
            for order in problem.orders
        ],
    }
    if problem.whole_days:
        made["whole_days"] = True
    if problem.frozen:
        made["frozen"] = _stands(problem.frozen)
    if problem.before:
        made |= {"before": _stands(problem.before), "move_minutes": problem.move_minutes}
    return made


def _stands(work: Iterable[Frozen]) -> list[dict[str, Any]]:
    return [
        {
            "lot": one.lot,
            "layer": one.layer,
            "date": one.day.isoformat(),
            "grinder": one.grinder,
            "pairs": one.pairs,
        }
        for one in work
    ]


def plan_from_json(data: Mapping[str, Any]) -> Plan:
    """A plan from what ``Plan.to_json`` made of it. Our own database holds it, so it is not looked at twice."""
    bound = data["bound"]
    return Plan(
        runs=tuple(
            Run(
                date.fromisoformat(one["date"]),
                one["grinder"],
                one["layer"],
                one["dressings"],
                tuple((lot["lot"], lot["pairs"]) for lot in one["lots"]),
            )
            for one in data["runs"]
        ),
        late=tuple(Late(one["order"], one["days"]) for one in data["late"]),
        dressings=data["dressings"],
        dressing_minutes=data["dressing_minutes"],
        late_pair_days=data["late_pair_days"],
        bound=Bound(
            bound["late_pair_days"],
            bound["dressing_minutes"],
            bound.get("by_day", bound["dressing_minutes"]),
            bound.get("with_moves"),
        ),
        proved=data["proved"],
        moved=data.get("moved"),
    )
