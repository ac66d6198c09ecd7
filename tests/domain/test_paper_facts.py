"""What a paper states, held against the record of later."""

from __future__ import annotations

import base64
import hashlib
from dataclasses import replace
from datetime import date

from portal.domain.base_life import Measured, Thickness
from portal.domain.paper_facts import GrindFact, Record, digest_of, since, state

FIRST = GrindFact(date(2025, 11, 3), "Cloudberry", None, Thickness(900, 890, 880))
SECOND = GrindFact(date(2026, 3, 2), "Sedge", Thickness(880, 870, 860), None)
CAME_IN = Measured(date(2026, 2, 27), Thickness(882, 872, None))
RECORD = Record((FIRST, SECOND), (CAME_IN,))


def test_the_digest_is_sha_256_of_the_canonical_form() -> None:
    # Written out by hand; SHA-256 by the standard library (FIPS 180-4).
    written = (
        '[{"grinds":[{"after":[900,890,880],"before":[],"day":"2025-11-03","flattened":false,"remarks":"",'
        '"saturated":false,"structure":"Cloudberry"}],"measured":[["2026-02-27",882,872,null]]}]'
    )
    expected = base64.urlsafe_b64encode(hashlib.sha256(written.encode()).digest()[:12]).decode()
    assert digest_of([RECORD.first(1, 1)]) == expected


def test_whatever_is_changed_in_the_record_changes_the_digest() -> None:
    others = [
        replace(RECORD, grinds=(FIRST, replace(SECOND, **change)))
        for change in (
            {"day": date(2026, 3, 3)},
            {"structure": "Sedges"},
            {"before": Thickness(880, 870, 861)},
            {"after": Thickness(870, 860, 850)},
            {"flattened": True},
            {"saturated": True},
        )
    ]
    others += [replace(RECORD, measured=()), replace(RECORD, grinds=(SECOND,)), Record()]
    assert len({digest_of([one]) for one in [RECORD, *others]}) == len(others) + 1


def test_a_paper_states_the_last_grind_and_the_thinnest_base() -> None:
    it = state(42, RECORD, date(2026, 4, 1))
    assert (it.grinds, it.measured, it.ground_on, it.structure) == (2, 1, SECOND.day, "Sedge")
    # The reading before the second grind is newer than the one when the pair came in.
    assert it.thinnest_um == 860
    bare = state(42, Record(), date(2026, 4, 1))
    assert (bare.grinds, bare.ground_on, bare.structure, bare.thinnest_um) == (0, None, "", None)


def test_what_came_later_is_told_apart_from_what_was_changed() -> None:
    it = state(42, RECORD.first(1, 0), date(2025, 12, 1))
    assert not since(it, RECORD.first(1, 0)).is_newer
    later = since(it, replace(RECORD, reworks=1))
    assert later.is_same
    assert later.is_newer
    assert (later.grinds, later.measured, later.reworks) == ((SECOND,), (CAME_IN,), 1)
    # A grind that was put in before the first one, or mended, is no later one.
    early = replace(FIRST, day=date(2025, 1, 1))
    assert not since(it, Record((early, FIRST))).is_same
    assert not since(it, Record((replace(FIRST, structure="Sedge"),))).is_same
    assert not since(it, Record()).is_same


def test_the_record_of_a_day_has_what_was_done_up_to_it() -> None:
    assert RECORD.until(date(2026, 3, 1)) == RECORD.first(1, 1)
    assert RECORD.until(date(2026, 3, 2)) == RECORD
