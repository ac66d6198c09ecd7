"""The reasons to choose from."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.reasons import ListedReason
from portal.domain.reasons import SHIPPED, Use


@dataclass(frozen=True)
class Listed:
    """A reason in the list of a use. ``name`` is how forms name it, whatever becomes of the order; a shipped one has a ``key``."""

    name: str
    words: str
    key: str | None
    retired: bool = False
    row_id: int | None = None


def of(session: Session, use: Use) -> dict[str, str]:
    """The reasons that can be chosen for a use, in their order: name -> a text that is translated where it is shown."""
    return {one.name: one.words for one in everything(session, use) if not one.retired}


def everything(session: Session, use: Use) -> tuple[Listed, ...]:
    """The whole list of a use, with what is no longer offered; a shipped reason that is new stands last."""
    rows = session.scalars(
        select(ListedReason).where(ListedReason.use == use).order_by(ListedReason.position, ListedReason.id)
    ).all()
    shipped = SHIPPED[use]
    placed = [
        Listed(
            row.key or f"own-{row.id}",
            shipped[row.key] if row.key is not None else row.words,
            row.key,
            row.retired,
            row.id,
        )
        for row in rows
        if row.key is None or row.key in shipped
    ]
    there = {one.key for one in placed}
    return (*placed, *(Listed(key, words, key) for key, words in shipped.items() if key not in there))


def rows(session: Session, use: Use) -> list[ListedReason]:
    """The rows behind the list of a use, locked, so that two changes of its order wait for each other."""
    asked = select(ListedReason).where(ListedReason.use == use).order_by(ListedReason.id).with_for_update()
    return list(session.scalars(asked))
