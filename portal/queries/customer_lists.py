"""What is here already of what stands in a list of customers."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import TypeVar

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import Session

from portal.db.catalogue import Structure
from portal.db.grinds import Grind
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.domain.importing.columns import cell_at
from portal.domain.importing.customer_verdicts import CustomerVerdict, Known, OwnedPair, Version, judge
from portal.domain.importing.customers import Options, caller_key, pair_key, read_name
from portal.domain.importing.sheets import is_blank
from portal.domain.importing.verdicts import RowReader
from portal.queries.imports import OpenImport

# So many values go into one statement.
AT_ONCE = 500

Value = TypeVar("Value")


def options_of(it: OpenImport) -> Options:
    """How the cells of the list are meant."""
    return Options.from_json(it.said)


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
    verdicts = judge(it.sheet, it.reading.heading, it.places, options_of(it), known, normal, today)
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
