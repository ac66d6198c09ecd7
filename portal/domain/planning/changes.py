"""The changes of a what-if: each is kept as JSON and makes another problem of one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from portal.domain.errors import NotNow
from portal.domain.planning import what_if
from portal.domain.planning.lots import reference_of
from portal.domain.planning.problem import Problem
from portal.domain.planning.routes import Step, Work
from portal.domain.words import N_, Phrase


@dataclass(frozen=True)
class CloseDay:
    """No grinder runs on the day."""

    day: date

    def made(self, problem: Problem) -> Problem:
        return what_if.close_day(problem, self.day)

    def to_json(self) -> dict[str, Any]:
        return {"change": "close_day", "day": self.day.isoformat()}


@dataclass(frozen=True)
class AddMinutes:
    """Each grinder has so many minutes more on the day, fewer below zero."""

    day: date
    minutes: int

    def made(self, problem: Problem) -> Problem:
        return what_if.add_minutes(problem, self.day, self.minutes)

    def to_json(self) -> dict[str, Any]:
        return {"change": "add_minutes", "day": self.day.isoformat(), "minutes": self.minutes}


@dataclass(frozen=True)
class Release:
    """Nothing is fixed on the day any more."""

    day: date

    def made(self, problem: Problem) -> Problem:
        return what_if.released(problem, self.day)

    def to_json(self) -> dict[str, Any]:
        return {"change": "release", "day": self.day.isoformat()}


@dataclass(frozen=True)
class TakeOut:
    """A booking is not there; named by its reference, whatever parts its order has."""

    reference: str

    def made(self, problem: Problem) -> Problem:
        parts = [one.name for one in problem.orders if reference_of(one.name) == self.reference]
        if not parts:
            raise NotNow(
                Phrase(N_("There is no order called %(order)s in the plan."), {"order": self.reference})
            )
        for name in parts:
            problem = what_if.take_out(problem, name)
        return problem

    def to_json(self) -> dict[str, Any]:
        return {"change": "take_out", "reference": self.reference}


@dataclass(frozen=True)
class TakeRush:
    """An order comes in between: so many pairs with the same work."""

    name: str
    pairs: int
    work: Work
    arrives: date
    due: date
    weight: int = 1

    def made(self, problem: Problem) -> Problem:
        layers = tuple(step.layer for step in self.work)
        minutes = tuple(step.minutes for step in self.work)
        rush = what_if.Rush(self.name, self.pairs, layers, self.arrives, self.due, self.weight, minutes)
        return what_if.take_rush(problem, rush)

    def to_json(self) -> dict[str, Any]:
        return {
            "change": "take_rush",
            "name": self.name,
            "pairs": self.pairs,
            "work": [[step.layer, step.minutes] for step in self.work],
            "arrives": self.arrives.isoformat(),
            "due": self.due.isoformat(),
            "weight": self.weight,
        }


Change = CloseDay | AddMinutes | Release | TakeOut | TakeRush


def changed(problem: Problem, changes: Sequence[Change]) -> Problem:
    """The problem with the changes made one after the other; ``NotNow`` for one that cannot be."""
    for change in changes:
        problem = change.made(problem)
    return problem


def works_in(changes: Sequence[Change]) -> list[Work]:
    """The work that changes bring in, whose layers the problem has to know."""
    return [change.work for change in changes if isinstance(change, TakeRush)]


def change_from_json(data: Mapping[str, Any]) -> Change:
    """A change from what its ``to_json`` made of it. Our own database holds it, so it is not looked at twice."""
    match data["change"]:
        case "close_day":
            return CloseDay(date.fromisoformat(data["day"]))
        case "add_minutes":
            return AddMinutes(date.fromisoformat(data["day"]), data["minutes"])
        case "release":
            return Release(date.fromisoformat(data["day"]))
        case "take_out":
            return TakeOut(data["reference"])
        case "take_rush":
            return TakeRush(
                data["name"],
                data["pairs"],
                tuple(Step(layer, minutes) for layer, minutes in data["work"]),
                date.fromisoformat(data["arrives"]),
                date.fromisoformat(data["due"]),
                data["weight"],
            )
        case unknown:
            raise LookupError(f"no change {unknown}")
