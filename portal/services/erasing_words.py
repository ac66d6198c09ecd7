"""Where somebody who erases their account is named: beside what was done, and in words that stay.

People choose how they are called, so a name is struck out of what is not about them only where it can be nothing but their name,
and never out of what others wrote of their own.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import JSON, update
from sqlalchemy.orm import Session

from portal.db.people import Person
from portal.domain.former_names import KnownBy
from portal.domain.personal import (
    ALSO_STRUCK,
    ERASED,
    HELD,
    NAMES_IN_CLUBS,
    WORDS_IN_JSON,
    Then,
    Whose,
    columns_that,
)
from portal.domain.striking_out import Words, is_full_name, is_telephone
from portal.queries import erasing as find_erasing
from portal.queries import personal as find_personal


@dataclass(frozen=True)
class Naming:
    """One person, and all they are known by."""

    session: Session
    person: Person
    names: list[str] = field(init=False)
    # Those that nobody else has.
    own_names: list[str] = field(init=False)
    exact: list[str] = field(init=False)

    def __post_init__(self) -> None:
        before = find_erasing.former_names(self.session, self.person.id)
        names = [self.person.name, *before[KnownBy.NAME]]
        mine = [name for name in names if not find_erasing.shares_name(self.session, self.person, name)]
        numbers = [self.person.phone, *before[KnownBy.TELEPHONE]]
        exact = [*filter(None, [self.person.email]), *(number for number in numbers if is_telephone(number))]
        object.__setattr__(self, "names", names)
        object.__setattr__(self, "own_names", mine)
        object.__setattr__(self, "exact", exact)

    def name_nobody(self) -> None:
        """Names beside what was done: by the key beside them, else by the name, where it says that they did it."""
        for name, column in columns_that(Then.NAME):
            table, key = find_personal.table_of(name), HELD[name].beside.get(column)
            if key is not None:
                mine = table.c[key] == self.person.id
                self.session.execute(update(table).where(mine).values({column: ERASED}))
                continue
            only = self._where_they_did(name)
            if only is not False:
                found = find_erasing.named(self.session, name, column, self.own_names, only)
                self.session.execute(update(table).where(table.c.id.in_(found)).values({column: ERASED}))

    def _where_they_did(self, name: str) -> Any:
        """In which rows a name without a number can be theirs: all (nothing) where they worked here, some, or none (false)."""
        if self.person.worked_here:
            return None
        return find_erasing.of_their_clubs(name, self.person.id) if name in NAMES_IN_CLUBS else False

    def strike(self) -> None:
        """Take them out of words that stay, and their address out of where letters to others go."""
        found: dict[str, list[str]] = {}
        for name, column in (*columns_that(Then.STRUCK), *columns_that(Then.EMPTIED), *ALSO_STRUCK):
            found.setdefault(name, []).append(column)
        own, about = Words(self.names, self.exact, is_own=True), Words(self.names, self.exact)
        full = [name for name in self.own_names if is_full_name(name)]
        full = [name for name in full if not find_erasing.names_something(self.session, name)]
        named, unnamed = Words(full, self.exact), Words((), self.exact)
        for name, columns in found.items():
            held = HELD[name]
            if held.whose is not None:
                mine = find_personal.is_theirs(name, self.person.id, self.person.email)
                self._strike_in(name, columns, about if held.whose is Whose.DEED else own, mine)
            ordered = find_personal.about_their_orders(name, self.person.id)
            if ordered is not None:
                self._strike_in(name, columns, about, ordered)
            if name == "club":
                self._strike_in(name, columns, named, find_erasing.of_their_clubs(name, self.person.id))
            free = [column for column in columns if column not in held.of_owners]
            self._strike_in(name, [column for column in free if column in held.of_others], unnamed)
            self._strike_in(name, [column for column in free if column not in held.of_others], named)
        for name, column in columns_that(Then.ADDRESS):
            table = find_personal.table_of(name)
            if self.person.email:
                theirs = find_erasing.named(self.session, name, column, [self.person.email], None)
                self.session.execute(update(table).where(table.c.id.in_(theirs)).values({column: ""}))

    def _strike_in(self, name: str, columns: list[str], words: Words, only: Any = None) -> None:
        if not words.all or not columns:
            return
        table = find_personal.table_of(name)
        for row in find_erasing.with_words(self.session, name, columns, words.all, only):
            before = {column: getattr(row, column) for column in columns}
            after = {column: self._struck(name, column, value, words) for column, value in before.items()}
            if after != before:
                self.session.execute(update(table).where(table.c.id == row[0]).values(after))

    def _struck(self, name: str, column: str, value: Any, words: Words) -> Any:
        if isinstance(find_personal.table_of(name).c[column].type, JSON):
            return words.struck_within(value, WORDS_IN_JSON[(name, column)])
        return words.struck(value)


def name_nowhere(session: Session, person: Person) -> None:
    """Name them nowhere any more; before their rows go, since these say what was about them."""
    naming = Naming(session, person)
    naming.name_nobody()
    naming.strike()
