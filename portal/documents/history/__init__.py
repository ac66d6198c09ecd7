"""The service history of a pair, or of all pairs of a skier or a club, as a paper."""

from portal.documents.history.fleet import render_fleet
from portal.documents.history.paper import render
from portal.documents.history.values import (
    CareFact,
    CareFacts,
    CareGroup,
    CareStep,
    EvidenceLine,
    Fleet,
    FleetPair,
    GlideRow,
    GlideShown,
    GrindLine,
    History,
    Number,
    PairFacts,
    Seal,
    SnowShown,
    StructureNow,
    SurfaceShown,
)

__all__ = [
    "CareFact",
    "CareFacts",
    "CareGroup",
    "CareStep",
    "EvidenceLine",
    "Fleet",
    "FleetPair",
    "GlideRow",
    "GlideShown",
    "GrindLine",
    "History",
    "Number",
    "PairFacts",
    "Seal",
    "SnowShown",
    "StructureNow",
    "SurfaceShown",
    "render",
    "render_fleet",
]
