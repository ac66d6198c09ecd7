"""The life of a base, from what is stored of a pair."""

from __future__ import annotations

from collections.abc import Sequence

from portal.db.catalogue import Structure
from portal.db.grinds import Grind
from portal.db.workshop import Workshop
from portal.domain.base_life import BaseGrind, BaseLife, Measured, base_life, last_reading
from portal.queries import grinds as find_grinds
from portal.services.bookings import removal_for


def life(
    workshop: Workshop,
    grinds: Sequence[Grind],
    measured: Sequence[Measured],
    structure: Structure | None = None,
    flattening: bool = False,
) -> BaseLife:
    """The life of a base from its grinds, the newest first.

    The next grind is of ``structure``, else like the last one; a flattening before it is taken off once and not at every grind.
    """
    coming = structure or (grinds[0].structure if grinds else None)
    minimum = workshop.minimum_um + (workshop.flattening_um if flattening else 0)
    if coming is None:
        # What the next grind costs is not known yet, so nor is how many are left.
        return BaseLife((), minimum, 0, 0, last_reading((), measured), None)
    made = [
        BaseGrind(
            grind.ground_on,
            find_grinds.before(grind),
            find_grinds.after(grind),
            removal_for(workshop, grind.structure, grind.flattened),
        )
        for grind in reversed(grinds)
    ]
    return base_life(made, minimum, removal_for(workshop, coming, False), measured)
