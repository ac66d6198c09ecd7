"""The reasons to choose from."""

from __future__ import annotations

from sqlalchemy.orm import Session

from portal.domain.reasons import SHIPPED, Use


def of(session: Session, use: Use) -> tuple[str, ...]:
    """The reasons that can be chosen for a use, in their order, as texts that are translated where they are shown."""
    return tuple(SHIPPED[use].values())
