"""What a list of customers brings that is not here yet: row by row, against what is known and the rows before.

A customer is known by the e-mail address, without one by name and telephone; a pair by its owner, maker, model, length and mark, a grind by its pair, day and
structure. So the same list loaded twice brings nothing the second time.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from datetime import date

from portal.domain.importing.columns import Column
from portal.domain.importing.customers import (
    ListedGrind,
    ListedPair,
    NormalEmail,
    Options,
    PairKey,
    Record,
    caller_key,
    compared,
    pair_key,
    read_record,
)
from portal.domain.importing.sheets import Sheet, is_blank_row
from portal.domain.importing.verdicts import Fault, RowReader, Standing, Verdict
from portal.domain.words import N_, Phrase

OwnedPair = tuple[str, PairKey]


@dataclass(frozen=True)
class Version:
    """One version of a structure of ours, and the day from which it was ground; the first one of a catalogue has none."""

    id: int
    key: str
    name: str
    offered: bool
    since: date | None = None


@dataclass(frozen=True)
class Known:
    """What is here already.

    ``people``: who -> name, where who is the address, or for those without one the ``caller_key``; ``callers``: ``caller_key``
    -> who it is; ``pairs``: whose and which -> its row; ``grinds``: row of a pair, day, key of a structure.
    """

    people: Mapping[str, str] = field(default_factory=dict)
    pairs: Mapping[OwnedPair, int] = field(default_factory=dict)
    grinds: AbstractSet[tuple[int, date, str]] = frozenset()
    versions: Sequence[Version] = ()
    callers: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Brought:
    """What a row brings; ``None`` for what is there already. ``version_id`` is the structure of the grind."""

    who: str
    email: str
    phone: str
    name: str | None
    key: PairKey | None
    pair: ListedPair | None
    grind: ListedGrind | None
    version_id: int | None


CustomerVerdict = Verdict[Brought]


def structure_keys(versions: Sequence[Version]) -> dict[str, str]:
    """Names as they are compared -> the structure of ours that is meant; one on offer before one that is not any more."""
    found: dict[str, str] = {}
    for version in sorted(versions, key=lambda one: (one.offered, one.id)):
        found[compared(version.name)] = version.key
    return found


def version_on(versions: Sequence[Version], key: str, day: date) -> Version:
    """The version of a structure that was ground on a day: the last one made until then, else the oldest."""
    own = sorted((one for one in versions if one.key == key), key=lambda one: one.id)
    until = [one for one in own if one.since is None or one.since <= day]
    return until[-1] if until else own[0]


def judge(
    sheet: Sheet,
    heading: int,
    places: Mapping[str, Column],
    options: Options,
    known: Known,
    normal_email: NormalEmail,
    today: date,
) -> list[CustomerVerdict]:
    """A verdict for each row below the headings that is not blank, in their order."""
    judging = _Judging(options, known)
    found = []
    for number, row in enumerate(sheet.rows[heading:], heading + 1):
        if is_blank_row(row):
            continue
        reader = RowReader(row, places)
        record = read_record(reader, options, normal_email, today)
        version = judging.version_for(record.grind, reader) if record is not None and record.grind else None
        if record is None or reader.faults:
            found.append(_rejected(number, reader.faults))
        else:
            found.append(judging.take(number, record, version, reader))
    return found


def unknown_structures(
    sheet: Sheet, heading: int, places: Mapping[str, Column], versions: Sequence[Version]
) -> dict[str, tuple[str, int]]:
    """Names of structures in the list that none of ours has: as compared -> (as it first stands there, in how many rows)."""
    ours = structure_keys(versions)
    found: dict[str, tuple[str, int]] = {}
    if "structure" not in places:
        return found
    for row in sheet.rows[heading:]:
        cell = RowReader(row, places).cell("structure")
        text = " ".join(str(cell).split()) if cell is not None else ""
        name = compared(text)
        if name and name not in ours:
            first, many = found.get(name, (text, 0))
            found[name] = (first, many + 1)
    return found


def _rejected(number: int, faults: Sequence[Fault]) -> CustomerVerdict:
    return Verdict(number, Standing.REJECTED, faults=tuple(faults))


class _Judging:
    """Remembers what the rows so far have brought."""

    def __init__(self, options: Options, known: Known) -> None:
        self.options, self.known = options, known
        self.keys = structure_keys(known.versions)
        self.people, self.callers = dict(known.people), dict(known.callers)
        self.new_in: dict[OwnedPair, int] = {}
        self.grinds_in: dict[tuple[OwnedPair, date, str], int] = {}

    def version_for(self, grind: ListedGrind, reader: RowReader) -> Version | None:
        """Our structure by the name in the list, or by what was chosen for that name."""
        name = compared(grind.structure)
        key = self.keys.get(name) or self.options.structures.get(name)
        if key and any(one.key == key for one in self.known.versions):
            return version_on(self.known.versions, key, grind.day)
        told = N_("“%(name)s” is no structure of this workshop. Say which one it is, or write its name.")
        reader.blame("structure", Phrase(told, {"name": grind.structure}))
        return None

    def take(
        self, number: int, record: Record, version: Version | None, reader: RowReader
    ) -> CustomerVerdict:
        """The verdict on a row without faults of its own."""
        told: list[Phrase] = []
        who = self._who(record)
        here = self.people.get(who)
        if here is None and not record.name:
            reader.blame("name", Phrase(N_("Enter the name of the customer.")))
            return _rejected(number, reader.faults)
        name = record.name if here is None else None
        if name is not None:
            self.people[who] = name
            told.append(Phrase(N_("New customer")))
        elif here and record.name and compared(here) != compared(record.name):
            told.append(
                Phrase(N_("The address belongs to %(name)s, and stays with that name"), {"name": here})
            )
        key, pair = self._pair(who, record.pair, number, told)
        grind = self._grind((who, key), record.grind, version, number, told) if key is not None else None
        standing = Standing.NEW if name is not None or pair or grind else Standing.THERE
        brought = Brought(
            who,
            record.email,
            record.phone,
            name,
            key,
            pair,
            grind,
            version.id if version is not None and grind is not None else None,
        )
        return Verdict(number, standing, tuple(told), brought=brought)

    def _who(self, record: Record) -> str:
        """The customer of a row; a row with an address tells whose telephone it is for those without one."""
        if not record.phone or not record.name:
            return record.email
        caller = caller_key(record.name, record.phone)
        if not record.email:
            return self.callers.get(caller, caller)
        self.callers.setdefault(caller, record.email)
        return record.email

    def _pair(
        self, who: str, pair: ListedPair | None, number: int, told: list[Phrase]
    ) -> tuple[PairKey | None, ListedPair | None]:
        if pair is None:
            return None, None
        key = pair_key(pair.maker, pair.model, pair.length_cm, pair.mark)
        owned = (who, key)
        if owned in self.known.pairs:
            return key, None
        if owned in self.new_in:
            told.append(Phrase(N_("Pair of row %(row)s"), {"row": self.new_in[owned]}))
            return key, None
        self.new_in[owned] = number
        told.append(Phrase(N_("New pair")))
        return key, pair

    def _grind(
        self,
        owned: OwnedPair,
        grind: ListedGrind | None,
        version: Version | None,
        number: int,
        told: list[Phrase],
    ) -> ListedGrind | None:
        if grind is None or version is None:
            return None
        here = self.known.pairs.get(owned)
        if here is not None and (here, grind.day, version.key) in self.known.grinds:
            return None
        same = (owned, grind.day, version.key)
        if same in self.grinds_in:
            told.append(Phrase(N_("Grind of row %(row)s"), {"row": self.grinds_in[same]}))
            return None
        self.grinds_in[same] = number
        told.append(Phrase(N_("New grind")))
        return grind
