"""Lists from elsewhere, whatever they are of: a file is staged, and what its columns hold is told and remembered."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any, Protocol

from sqlalchemy.orm import Session

from portal.db.imports import ColumnMeaning, ListImport
from portal.domain.access import Action, Actor, insist
from portal.domain.importing.columns import Column, headings_key
from portal.domain.importing.readings import KEPT_DAYS, Content, Reading, Subject, first_reading, read
from portal.domain.importing.verdicts import REASONS, Standing, Verdict, counted
from portal.i18n import voice
from portal.queries import clubs as find_clubs
from portal.queries import imports as find_imports
from portal.queries import juniors as find_juniors
from portal.queries.imports import OpenImport

FILE_NAME_LENGTH = 200


class Meant(Protocol):
    """How the cells of one list are meant, whatever it is of."""

    def to_json(self) -> dict[str, Any]: ...


def stage(
    session: Session,
    actor: Actor,
    subject: Subject,
    file_name: str,
    content: Content,
    now: datetime,
    club_id: int | None = None,
) -> ListImport:
    """Keep a file until its import is finished; nothing of it is stored anywhere else. ``BadTable`` when it cannot be read.

    A club's list is its managers' alone, one of the workshop's is for whoever runs the shop.
    """
    if club_id is None:
        insist(actor, Action.LOAD_LIST, None)
    else:
        find_clubs.one(session, actor, club_id)
    forget_old(session, now)
    row = ListImport(
        subject=subject,
        club_id=club_id,
        file_name=file_name[-FILE_NAME_LENGTH:],
        is_text=content.is_text,
        content=content.kept,
        reading=first_reading(content, subject).to_json(),
        sent_by=actor.name,
        created_at=now,
    )
    session.add(row)
    session.flush()  # Its page is found by its number.
    return row


def read_as(session: Session, actor: Actor, import_id: int, reading: Reading) -> None:
    """Read the file in another way; what was said of its columns is forgotten. ``BadTable`` when it cannot be read so."""
    it = find_imports.opened(session, actor, import_id, to_write=True)
    read(it.content, reading)
    if reading != it.reading:
        it.row.reading, it.row.meant = reading.to_json(), None


def meant_so_far(session: Session, it: OpenImport) -> tuple[dict[int, str], bool]:
    """What each column holds: as it was said, else as for the last list with these headings (then true), else a guess."""
    if it.row.meant is not None:
        return {int(at): key for at, key in it.row.meant.items()}, False
    last = find_imports.remembered(session, it.row.subject, _headings(it, it.columns))
    if last is not None:
        return {int(at): key for at, key in last.meant.items()}, True
    return it.row.subject.guess(it.columns), False


def take_columns(
    session: Session,
    actor: Actor,
    import_id: int,
    meant: Mapping[int, str],
    options: Meant,
    now: datetime,
) -> None:
    """Say what the columns hold and how their cells are meant; it is remembered for lists with the same headings."""
    it = find_imports.opened(session, actor, import_id, to_write=True)
    plain = {str(at): key for at, key in meant.items() if key}
    it.row.meant, it.row.options = plain, options.to_json()
    if it.row.club_id is not None:
        find_juniors.lock_roster(session, it.row.club_id)
    _remember(session, it.row.subject, _headings(it, it.columns), plain, now)
    # The file of what is left out has a column more and no gaps; mended and sent again it is known too.
    again = [Column(at, column.title, ()) for at, column in enumerate(it.columns)]
    reasons = Column(len(again), voice(actor.language).say(REASONS), ())
    shifted = {str(at): meant[column.at] for at, column in enumerate(it.columns) if meant.get(column.at)}
    _remember(session, it.row.subject, _headings(it, [*again, reasons]), shifted, now)


def _headings(it: OpenImport, columns: Sequence[Column]) -> str:
    """What the meaning of these columns is remembered under: what one club took them for is not another's concern."""
    return headings_key(columns, of=f"club {it.row.club_id}" if it.row.club_id is not None else "")


def _remember(
    session: Session, subject: Subject, headings: str, meant: Mapping[str, str], now: datetime
) -> None:
    last = find_imports.remembered(session, subject, headings)
    if last is None:
        last = ColumnMeaning(subject=subject, headings=headings)
        session.add(last)
    last.meant, last.used_at = dict(meant), now


def drop(session: Session, actor: Actor, import_id: int, now: datetime) -> str:
    """Finish an import, whatever is left of its list, delete the file, and give back its name."""
    row = find_imports.one(session, actor, import_id, to_write=True)
    if row.content is not None:
        close(row, now)
    return row.file_name


def came_in(
    row: ListImport, counts: Mapping[str, int], verdicts: Sequence[Verdict[Any]], now: datetime
) -> int:
    """Keep how many of each came in, with what did earlier; when no row is left out, the file goes too. Gives back how many are."""
    earlier = row.brought or {}
    left_out = counted(verdicts)[Standing.REJECTED]
    row.brought = {**{key: earlier.get(key, 0) + many for key, many in counts.items()}, "left_out": left_out}
    if not left_out:
        close(row, now)
    return left_out


def forget_old(session: Session, now: datetime) -> int:
    """Delete the files that are kept too long; gives back how many."""
    old = find_imports.too_old(session, now - timedelta(days=KEPT_DAYS))
    for row in old:
        close(row, now)
    return len(old)


def close(row: ListImport, now: datetime) -> None:
    """The import is finished: its file and what was said of it go, what came of it stays."""
    row.content, row.meant, row.options, row.closed_at = None, None, None, now
