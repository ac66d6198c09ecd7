"""Which class a junior is in, and classes that would share a birth year."""

from __future__ import annotations

from dataclasses import dataclass

from hypothesis import given
from hypothesis import strategies as st

from portal.domain.age_classes import class_of, overlapping


@dataclass(frozen=True)
class Years:
    first_year: int
    last_year: int


U12, U14, U16 = Years(2015, 2016), Years(2013, 2014), Years(2011, 2012)
ALL = (U12, U14, U16)


def test_a_class_has_both_of_its_years_and_nobody_else() -> None:
    assert [class_of(year, ALL) for year in range(2010, 2018)] == [None, U16, U16, U14, U14, U12, U12, None]
    assert class_of(None, ALL) is None


YEARS = st.integers(2000, 2020)


@given(YEARS, YEARS, YEARS, YEARS)
def test_classes_overlap_exactly_when_a_birth_year_is_in_both(a: int, b: int, c: int, d: int) -> None:
    one, other = Years(min(a, b), max(a, b)), Years(min(c, d), max(c, d))
    shared = set(range(one.first_year, one.last_year + 1)) & set(range(other.first_year, other.last_year + 1))
    assert (overlapping(one.first_year, one.last_year, [other]) is other) == bool(shared)
