"""What a list of juniors brings that is not on the roster yet: row by row, against the roster and the rows before.

A junior is known by name, and by birth year where two have the same name; a pair by its junior and by what tells it from others,
and one with a mark by that in the whole club, so that it is known after it was passed on. The same list loaded twice brings
nothing the second time.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from portal.domain.answers import Discipline
from portal.domain.importing.columns import Column
from portal.domain.importing.customers import ListedPair, PairKey, compared, pair_key
from portal.domain.importing.rosters import ListedJunior, RosterOptions, RosterRow, read_row
from portal.domain.importing.sheets import Sheet, is_blank_row
from portal.domain.importing.verdicts import RowReader, Standing, Verdict
from portal.domain.words import N_, Phrase

# A name as it is compared, and the birth year.
Who = tuple[str, int | None]
# What tells a pair of a junior: discipline, maker, model, length and mark.
JuniorPair = tuple[Discipline, PairKey]


@dataclass(frozen=True)
class KnownRoster:
    """What is here already: who is on the roster (a name may stand there twice), whose pairs, and every pair with a mark."""

    juniors: Sequence[Who] = ()
    pairs: frozenset[tuple[Who, JuniorPair]] = frozenset()
    marked: Mapping[JuniorPair, str] = field(default_factory=dict)


@dataclass(frozen=True)
class RosterBrought:
    """What a row brings: the junior where they are new, and new pairs of whoever it is about."""

    who: Who
    junior: ListedJunior | None
    pairs: tuple[ListedPair, ...]


RosterVerdict = Verdict[RosterBrought]


def junior_pair(pair: ListedPair) -> JuniorPair:
    """What tells a pair from the others of the same junior."""
    return pair.discipline, pair_key(pair.maker, pair.model, pair.length_cm, pair.mark)


def judge_roster(
    sheet: Sheet,
    heading: int,
    places: Mapping[str, Column],
    options: RosterOptions,
    known: KnownRoster,
    today: date,
) -> list[RosterVerdict]:
    """A verdict for each row below the headings that is not blank, in their order."""
    read = []
    for number, row in enumerate(sheet.rows[heading:], heading + 1):
        if not is_blank_row(row):
            reader = RowReader(row, places)
            read.append((number, reader, read_row(reader, options, today)))
    judging = _Judging(known, [row.junior for _number, _reader, row in read if row is not None])
    return [
        judging.take(number, row, reader)
        if row is not None
        else Verdict(number, Standing.REJECTED, faults=tuple(reader.faults))
        for number, reader, row in read
    ]


class _Judging:
    """Remembers what the rows so far have brought."""

    def __init__(self, known: KnownRoster, listed: Sequence[ListedJunior]) -> None:
        self.known = known
        # All birth years that go with a name, here and in the list.
        self.years: dict[str, set[int]] = {}
        for name, year in [*known.juniors, *((compared(one.name), one.birth_year) for one in listed)]:
            if year is not None:
                self.years.setdefault(name, set()).add(year)
        self.here: dict[str, list[Who]] = {}
        for who in known.juniors:
            self.here.setdefault(who[0], []).append(who)
        self.new_in: dict[Who, int] = {}
        self.pairs_in: dict[tuple[Who, JuniorPair], int] = {}

    def take(self, number: int, row: RosterRow, reader: RowReader) -> RosterVerdict:
        """The verdict on a row without faults of its own."""
        told: list[Phrase] = []
        who = self._who(row.junior, reader)
        if who is None:
            return Verdict(number, Standing.REJECTED, faults=tuple(reader.faults))
        is_new = who not in self.known.juniors and who not in self.new_in
        if is_new:
            self.new_in[who] = number
            told.append(Phrase(N_("New junior")))
        elif who in self.new_in:
            told.append(Phrase(N_("Junior of row %(row)s"), {"row": self.new_in[who]}))
        pairs = tuple(pair for pair in row.pairs if self._is_new(who, pair, number, told))
        brought = RosterBrought(who, row.junior if is_new else None, pairs)
        return Verdict(
            number, Standing.NEW if is_new or pairs else Standing.THERE, tuple(told), brought=brought
        )

    def _who(self, junior: ListedJunior, reader: RowReader) -> Who | None:
        """Whom a row is about; nothing, and a fault, where two are meant by it."""
        name, year = compared(junior.name), junior.birth_year
        years = self.years.get(name, set())
        here = self.here.get(name, [])
        if len(set(here)) < len(here) and (year is None or here.count((name, year)) > 1):
            twice = N_("Two on the roster are called %(name)s. Change one of the two names there first.")
            reader.blame("name", Phrase(twice, {"name": junior.name}))
            return None
        if len(years) > 1:
            if year is None:
                ask = N_("Several juniors are called %(name)s. Enter the birth year.")
                reader.blame("birth", Phrase(ask, {"name": junior.name}))
                return None
            return name, year
        # One year at most goes with the name, so everybody of that name is one and the same.
        if here:
            return here[0]
        return name, next(iter(years), None)

    def _is_new(self, who: Who, pair: ListedPair, number: int, told: list[Phrase]) -> bool:
        key = junior_pair(pair)
        if (who, key) in self.known.pairs:
            return False
        if pair.mark and key in self.known.marked:
            words = N_("This pair is here already, with %(name)s")
            told.append(Phrase(words, {"name": self.known.marked[key] or Phrase(N_("no junior"))}))
            return False
        if (who, key) in self.pairs_in:
            told.append(Phrase(N_("Pair of row %(row)s"), {"row": self.pairs_in[who, key]}))
            return False
        self.pairs_in[who, key] = number
        told.append(Phrase(N_("New pair")))
        return True
