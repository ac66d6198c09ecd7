"""Lists that were sent to be loaded, and what is here already of what stands in them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session, defer

from portal.db.imports import ColumnMeaning, ListImport
from portal.domain.access import Action, Actor, insist
from portal.domain.errors import NotFound
from portal.domain.importing.columns import Column, columns_of
from portal.domain.importing.readings import Content, Reading, Subject, read
from portal.domain.importing.sheets import Sheet

LISTED_AT_MOST = 50


@dataclass(frozen=True)
class OpenImport:
    """A file on its way in, with everything that was said of it so far; its sheet is read when it is asked for."""

    row: ListImport
    content: Content

    @property
    def reading(self) -> Reading:
        return Reading.from_json(self.row.reading)

    @property
    def said(self) -> Mapping[str, Any] | None:
        """How the cells are meant, as whoever knows this kind of list reads it; nothing before it was said."""
        return self.row.options

    @cached_property
    def sheet(self) -> Sheet:
        return read(self.content, self.reading)

    @cached_property
    def columns(self) -> tuple[Column, ...]:
        return columns_of(self.sheet, self.reading.heading)

    @property
    def places(self) -> dict[str, Column]:
        """Field -> the column that was said to hold it; empty before that."""
        meant = self.row.meant or {}
        return {meant[str(one.at)]: one for one in self.columns if meant.get(str(one.at))}


def _insist(actor: Actor, club_id: int | None) -> None:
    """A club's lists do not exist for anybody but its managers, the workshop's are for whoever runs the shop."""
    if club_id is None:
        insist(actor, Action.LOAD_LIST, None)
    elif club_id not in actor.clubs:
        raise NotFound


def lately(session: Session, actor: Actor, club_id: int | None = None) -> list[ListImport]:
    """The last lists that were sent, of a club or of the workshop, the newest first, without their content."""
    _insist(actor, club_id)
    rows = (
        select(ListImport)
        .options(defer(ListImport.content, raiseload=True))
        .where(ListImport.club_id == club_id if club_id is not None else ListImport.club_id.is_(None))
        .order_by(ListImport.created_at.desc(), ListImport.id.desc())
        .limit(LISTED_AT_MOST)
    )
    return list(session.scalars(rows))


def one(session: Session, actor: Actor, import_id: int, *, to_write: bool = False) -> ListImport:
    """A list that was sent, open or not; ``to_write`` locks its row."""
    rows = select(ListImport).where(ListImport.id == import_id)
    found = session.scalars(rows.with_for_update() if to_write else rows).one_or_none()
    if found is None:
        raise NotFound
    _insist(actor, found.club_id)
    return found


def opened(session: Session, actor: Actor, import_id: int, *, to_write: bool = False) -> OpenImport:
    """A list whose file is still here; ``NotFound`` for one that is not."""
    return as_opened(one(session, actor, import_id, to_write=to_write))


def as_opened(found: ListImport) -> OpenImport:
    """The same of a list that was found already."""
    if found.content is None:
        raise NotFound
    return OpenImport(found, Content(found.is_text, found.content))


def open_of_club(session: Session, club_id: int) -> list[ListImport]:
    """The lists of a club whose file is still kept, locked."""
    rows = select(ListImport).where(ListImport.club_id == club_id, ListImport.closed_at.is_(None))
    return list(session.scalars(rows.order_by(ListImport.id).with_for_update()))


def too_old(session: Session, before: datetime) -> list[ListImport]:
    """The imports whose file is kept since before a moment; they are locked, but for those that somebody else has."""
    rows = (
        select(ListImport)
        .options(defer(ListImport.content))
        .where(ListImport.closed_at.is_(None), ListImport.created_at < before)
        .order_by(ListImport.id)
        .limit(LISTED_AT_MOST)
        .with_for_update(skip_locked=True)
    )
    return list(session.scalars(rows))


def remembered(session: Session, subject: Subject, headings: str) -> ColumnMeaning | None:
    """What the columns of a list with these headings were taken for the last time."""
    rows = select(ColumnMeaning).where(ColumnMeaning.subject == subject, ColumnMeaning.headings == headings)
    return session.scalars(rows).one_or_none()
