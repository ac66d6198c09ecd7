"""Lists that were sent to be loaded, and what is here already of what stands in them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property, lru_cache
from typing import TypeVar

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import Session, defer

from portal.db.catalogue import Structure
from portal.db.grinds import Grind
from portal.db.imports import ColumnMeaning, ListImport
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.domain.access import Action, Actor, insist
from portal.domain.errors import NotFound
from portal.domain.importing.columns import Column, cell_at, columns_of
from portal.domain.importing.customer_verdicts import CustomerVerdict, Known, OwnedPair, Version, judge
from portal.domain.importing.customers import Options, caller_key, pair_key, read_name
from portal.domain.importing.readings import Content, Reading, Subject, read
from portal.domain.importing.sheets import Sheet, is_blank
from portal.domain.importing.verdicts import RowReader

LISTED_AT_MOST = 50
# So many values go into one statement.
AT_ONCE = 500

Value = TypeVar("Value")


@dataclass(frozen=True)
class OpenImport:
    """A file on its way in, with everything that was said of it so far; its sheet is read when it is asked for."""

    row: ListImport
    content: Content

    @property
    def reading(self) -> Reading:
        return Reading.from_json(self.row.reading)

    @property
    def options(self) -> Options:
        return Options.from_json(self.row.options)

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


def lately(session: Session, actor: Actor) -> list[ListImport]:
    """The last lists that were sent, the newest first, without their content."""
    insist(actor, Action.LOAD_LIST, None)
    rows = (
        select(ListImport)
        .options(defer(ListImport.content, raiseload=True))
        .order_by(ListImport.created_at.desc(), ListImport.id.desc())
        .limit(LISTED_AT_MOST)
    )
    return list(session.scalars(rows))


def one(session: Session, actor: Actor, import_id: int, *, to_write: bool = False) -> ListImport:
    """A list that was sent, open or not; ``to_write`` locks its row."""
    insist(actor, Action.LOAD_LIST, None)
    rows = select(ListImport).where(ListImport.id == import_id)
    found = session.scalars(rows.with_for_update() if to_write else rows).one_or_none()
    if found is None:
        raise NotFound
    return found


def opened(session: Session, actor: Actor, import_id: int, *, to_write: bool = False) -> OpenImport:
    """A list whose file is still here; ``NotFound`` for one that is not."""
    found = one(session, actor, import_id, to_write=to_write)
    if found.content is None:
        raise NotFound
    return OpenImport(found, Content(found.is_text, found.content))


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


def versions(session: Session) -> list[Version]:
    """Every version of every structure, retired ones too, as lists name them."""
    rows = select(Structure.id, Structure.key, Structure.name, Structure.current, Structure.made_at)
    return [
        Version(row.id, row.key, row.name, row.current, row.made_at.date() if row.made_at else None)
        for row in session.execute(rows.order_by(Structure.id))
    ]


@dataclass(frozen=True)
class Judged:
    """The verdict on each row, and the rows of the people and their pairs that are here already, by who they are."""

    verdicts: Sequence[CustomerVerdict]
    people: Mapping[str, int]
    pairs: Mapping[OwnedPair, int]
    # Version of a structure -> its name.
    names: Mapping[int, str]


def judged(
    session: Session, it: OpenImport, normal_email: Callable[[str], str | None], today: date
) -> Judged:
    """What each row of the list brings as things stand. The number of statements grows by a few with each 500 people."""
    normal = lru_cache(maxsize=None)(normal_email)
    people = people_known(session, _emails(it, normal), _callers(it))
    owners = {one.id: one.who for one in people}
    pairs = pairs_of(session, owners) if "maker" in it.places else {}
    grinds = frozenset(_grinds(session, pairs.values())) if "day" in it.places else frozenset()
    ours = versions(session)
    callers = {caller_key(one.name, one.phone): one.who for one in people if one.phone}
    known = Known({one.who: one.name for one in people}, pairs, grinds, ours, callers)
    verdicts = judge(it.sheet, it.reading.heading, it.places, it.options, known, normal, today)
    return Judged(verdicts, {one.who: one.id for one in people}, pairs, {one.id: one.name for one in ours})


def _emails(it: OpenImport, normal: Callable[[str], str | None]) -> list[str]:
    column = it.places.get("email")
    if column is None:
        return []
    texts = (cell_at(row, column.at) for row in it.sheet.rows[it.reading.heading :])
    found = {normal(text.strip().removeprefix("mailto:")) for text in texts if isinstance(text, str)}
    return sorted(email for email in found if email)


def _callers(it: OpenImport) -> list[str]:
    """The names in rows with a telephone but no address."""
    if "phone" not in it.places:
        return []
    found = set()
    for row in it.sheet.rows[it.reading.heading :]:
        reader = RowReader(row, it.places)
        if is_blank(reader.cell("email")) and not is_blank(reader.cell("phone")):
            found.add(read_name(reader))
    return sorted(found)


@dataclass(frozen=True)
class KnownPerson:
    """Somebody who is here; ``who`` is the address, or without one what ``caller_key`` says."""

    id: int
    who: str
    name: str
    phone: str


def people_known(session: Session, emails: Iterable[str], names: Iterable[str]) -> list[KnownPerson]:
    """Those with one of the addresses, which are in their normal form, or of one of the names with a telephone number."""
    rows = select(Person.id, Person.email, Person.name, Person.phone)
    lower = {name.lower() for name in names}
    wanted: list[ColumnElement[bool]] = [Person.email.in_(some) for some in _parts(emails)]
    wanted += [func.lower(Person.name).in_(some) & (Person.phone != "") for some in _parts(sorted(lower))]
    found = {
        row.id: KnownPerson(row.id, row.email or caller_key(row.name, row.phone), row.name, row.phone)
        for some in wanted
        for row in session.execute(rows.where(some))
    }
    # Of two without an address who cannot be told apart, the one who was here first.
    return [found[one] for one in sorted(found, reverse=True)]


def pairs_of(session: Session, owners: Mapping[int, str]) -> dict[OwnedPair, int]:
    """The pairs of people, by address and by what tells one from another; of two alike the one registered first."""
    found: dict[OwnedPair, int] = {}
    for some in _parts(owners):
        rows = select(Pair.id, Pair.owner_id, Pair.maker, Pair.model, Pair.length_cm, Pair.mark)
        for row in session.execute(rows.where(Pair.owner_id.in_(some)).order_by(Pair.id.desc())):
            key = pair_key(row.maker, row.model, row.length_cm, row.mark)
            found[owners[row.owner_id], key] = row.id
    return found


def _grinds(session: Session, pair_ids: Iterable[int]) -> Iterator[tuple[int, date, str]]:
    for some in _parts(pair_ids):
        rows = select(Grind.pair_id, Grind.ground_on, Structure.key).join(Grind.structure)
        for row in session.execute(rows.where(Grind.pair_id.in_(some))):
            yield row.pair_id, row.ground_on, row.key


def _parts(values: Iterable[Value]) -> Iterator[list[Value]]:
    whole = list(values)
    for at in range(0, len(whole), AT_ONCE):
        yield whole[at : at + AT_ONCE]
