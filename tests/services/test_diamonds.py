"""The register of diamonds: unique marks, counts that are never lost, structures that keep what they were computed with."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import date

import pytest
from sqlalchemy.orm import Session

from portal.db.diamonds import Diamond
from portal.db.engine import Database
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.queries import catalogue as find_structures
from portal.queries import diamonds as find_diamonds
from portal.services import diamonds
from portal.services.diamonds import DiamondFacts
from tests.cast import Cast
from tests.make import NOW, TODAY

PLOVER = DiamondFacts("Plover", 1.5, 0.3, notes="From the second box")


def starter(session: Session, mark: str = "Wren") -> Diamond:
    return next(row for row in find_diamonds.all_diamonds(session) if row.mark == mark)


def facts_of(row: Diamond) -> DiamondFacts:
    return DiamondFacts(**{name: getattr(row, name) for name in vars(PLOVER)})


def test_a_diamond_is_registered_unmeasured_and_then_measured(session: Session, cast: Cast) -> None:
    made = diamonds.add(session, cast.mia, PLOVER, NOW)
    assert (made.created_at, made.dressings) == (NOW, 0)
    assert not find_diamonds.value(made).is_measured
    assert find_diamonds.value(made).radius_mm == 0.3
    measured = replace(PLOVER, tip_radius_mm=0.34, tip_flat_mm=0.05, looked_at=date(2026, 12, 1))
    row = diamonds.change(session, cast.mia, made.id, measured, 0, NOW)
    assert find_diamonds.value(row).radius_mm == 0.34
    assert find_diamonds.value(row).flat_mm == 0.05
    assert row.looked_at == date(2026, 12, 1)


def test_a_mark_is_given_once(session: Session, cast: Cast) -> None:
    made = diamonds.add(session, cast.mia, PLOVER, NOW)
    with pytest.raises(NotNow, match="Plover already"):
        diamonds.add(session, cast.mia, PLOVER, NOW)
    with pytest.raises(NotNow, match="Wren already"):
        diamonds.change(session, cast.mia, made.id, replace(PLOVER, mark="Wren"), 0, NOW)
    diamonds.change(session, cast.mia, made.id, replace(PLOVER, mark="Dunlin"), 0, NOW)
    assert find_diamonds.one(session, made.id).mark == "Dunlin"


def test_a_mark_that_structures_name_stays(session: Session, cast: Cast) -> None:
    row = starter(session)
    with pytest.raises(NotNow, match="the mark has to stay"):
        diamonds.change(session, cast.mia, row.id, replace(facts_of(row), mark="Kite"), 0, NOW)


def test_measuring_a_diamond_rewrites_no_structure(session: Session, cast: Cast) -> None:
    row = starter(session)
    before = {one.id: one.stated for one in find_diamonds.structures_naming(session, row.mark)}
    assert before
    diamonds.change(session, cast.mia, row.id, replace(facts_of(row), tip_radius_mm=0.9), 0, NOW)
    session.expire_all()
    assert {one.id: one.stated for one in find_diamonds.structures_naming(session, row.mark)} == before
    assert len(before) < len(find_structures.all_current(session))


def test_a_dressing_counted_while_the_form_is_open_is_not_lost(session: Session, cast: Cast) -> None:
    row = starter(session)
    seen = facts_of(row)
    assert diamonds.count_dressing(session, cast.mia, row.id) == 1
    assert diamonds.count_dressing(session, cast.mia, row.id) == 2
    diamonds.change(session, cast.mia, row.id, replace(seen, notes="Clean"), seen.dressings, NOW)
    assert (row.dressings, row.notes) == (2, "Clean")
    diamonds.change(session, cast.mia, row.id, replace(seen, dressings=40), 2, NOW)
    assert row.dressings == 40


def test_every_dressing_of_many_at_once_is_counted(database: Database, cast: Cast) -> None:
    with database.read() as reading:
        diamond_id = starter(reading).id

    def count() -> None:
        for _ in range(5):
            with database.write.begin() as writing:
                diamonds.count_dressing(writing, cast.mia, diamond_id)

    threads = [threading.Thread(target=count) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with database.read() as reading:
        assert find_diamonds.one(reading, diamond_id).dressings == 20


def test_a_retired_diamond_is_not_dressed_with_until_it_is_back(session: Session, cast: Cast) -> None:
    row = starter(session)
    diamonds.looked_at(session, cast.mia, row.id, TODAY)
    diamonds.retire(session, cast.mia, row.id, NOW)
    assert row not in find_diamonds.in_use(session)
    assert find_diamonds.all_diamonds(session)[-1] is row
    with pytest.raises(NotNow, match="retired"):
        diamonds.count_dressing(session, cast.mia, row.id)
    diamonds.bring_back(session, cast.mia, row.id, NOW)
    assert (row.retired_at, row.looked_at) == (None, TODAY)
    assert row in find_diamonds.in_use(session)


def test_only_who_runs_the_shop_writes_in_the_register(session: Session, cast: Cast) -> None:
    row = starter(session)
    for who in (cast.tina, cast.alice, cast.cora):
        for act in (
            lambda: diamonds.add(session, who, PLOVER, NOW),  # noqa: B023 - called at once
            lambda: diamonds.change(session, who, row.id, facts_of(row), 0, NOW),  # noqa: B023
            lambda: diamonds.count_dressing(session, who, row.id),  # noqa: B023
            lambda: diamonds.looked_at(session, who, row.id, TODAY),  # noqa: B023
            lambda: diamonds.retire(session, who, row.id, NOW),  # noqa: B023
            lambda: diamonds.bring_back(session, who, row.id, NOW),  # noqa: B023
        ):
            with pytest.raises(NotAllowed):
                act()


def test_what_is_not_registered_is_not_found(session: Session, cast: Cast) -> None:
    with pytest.raises(NotFound):
        find_diamonds.one(session, 999)
    with pytest.raises(NotFound):
        diamonds.count_dressing(session, cast.mia, 999)
