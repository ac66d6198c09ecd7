"""Every structure of the workshop as a choice for a name in an older list, those that are not offered any more too."""

from __future__ import annotations

from typing import Any

from sqlalchemy.orm import Session

from portal.domain.words import N_
from portal.queries import catalogue as find_structures
from portal.web.shop.forms import choice


def structure_choices(session: Session) -> list[Any]:
    """None of ours, then those on offer under their family, then the retired ones."""
    offered = find_structures.all_current(session)
    return [
        choice("", N_("None of ours: leave these rows out")),
        *(choice(row.key, row.name, row.family.name) for row in offered),
        *(choice(row.key, row.name, N_("Not offered any more")) for row in find_structures.retired(session)),
    ]
