"""The club's pages: a manager keeps the roster and orders for all juniors at once; imports no other audience."""

from portal.web.club import (
    age_classes,
    answers,
    claims,
    club,
    crate,
    details,
    histories,
    imports,
    juniors,
    kept,
    managers,
    notes,
    ordering,
    orders,
    pairs,
    papers,
    sending,
)
from portal.web.club.blueprint import bp

__all__ = [
    "age_classes",
    "answers",
    "bp",
    "claims",
    "club",
    "crate",
    "details",
    "histories",
    "imports",
    "juniors",
    "kept",
    "managers",
    "notes",
    "ordering",
    "orders",
    "pairs",
    "papers",
    "sending",
]
