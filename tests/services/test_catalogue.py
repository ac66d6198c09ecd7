"""The workshop's catalogue: a change is a new version, nothing that was booked or ground is touched, nobody overwrites another."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db import catalogue as tables
from portal.db.engine import Database
from portal.domain.access import Actor
from portal.domain.answers import Discipline
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.layers import Form, Layer, Profile
from portal.domain.structures import Lay, Structure
from portal.queries import catalogue as find_structures
from portal.services import bookings, catalogue, grinds
from tests import make
from tests.cast import Cast
from tests.make import NOW, TODAY

LATER = NOW + timedelta(hours=1)
# A V groove of 0.2 mm and 20 µm every 0.5 mm holds 4 mL/m² and leaves 60 of 100 flat: closed form.
VEE = Layer(Profile(Form.VEE, 0.5, 0.2, 20.0))
CROSSING = Layer(Profile(Form.VEE, 0.5, 0.2, 12.0, angle_deg=4.0))


def value(session: Session, key: str = "heather") -> Structure:
    return find_structures.value(find_structures.by_key(session, key))


def test_a_change_is_a_new_version_with_time_and_name(session: Session, cast: Cast) -> None:
    before = find_structures.by_key(session, "heather")
    made = catalogue.change_structure(session, cast.mia, 1, replace(value(session), minutes=17), LATER)
    assert (made.version, made.current, made.made_by) == (2, True, "Mia")
    assert made.made_at == LATER
    assert find_structures.value(made).minutes == 17
    assert not before.current
    assert find_structures.value(before).minutes != 17
    assert find_structures.by_key(session, "heather").id == made.id


def test_void_plateau_and_lay_are_worked_out_from_the_layers(session: Session, cast: Cast) -> None:
    wanted = replace(value(session), layers=(VEE,), removal_um=20, void_ml_m2=77.0, plateau=0.01)
    first = find_structures.value(catalogue.change_structure(session, cast.mia, 1, wanted, NOW))
    assert first.void_ml_m2 == pytest.approx(4.0, abs=0.01)
    assert first.plateau == pytest.approx(0.6, abs=0.001)
    assert first.lay is Lay.LINEAR
    crossed = replace(first, layers=(VEE, CROSSING))
    second = find_structures.value(catalogue.change_structure(session, cast.mia, 2, crossed, NOW))
    assert second.lay is Lay.CROSSED
    assert second.void_ml_m2 > first.void_ml_m2


def test_a_grind_that_takes_less_than_the_layers_need_is_refused(session: Session, cast: Cast) -> None:
    wanted = replace(value(session), layers=(VEE,), removal_um=19)
    with pytest.raises(NotNow, match="at least 20 µm"):
        catalogue.change_structure(session, cast.mia, 1, wanted, NOW)
    assert find_structures.newest(session, "heather").version == 1


def test_what_differs_in_nothing_makes_no_version(session: Session, cast: Cast) -> None:
    kept = catalogue.change_structure(session, cast.mia, 1, value(session), NOW)
    assert kept.version == 1
    assert kept.made_by is None


def test_what_was_booked_and_ground_keeps_its_version(session: Session, cast: Cast) -> None:
    owner = make.find_people.one(session, cast.alice.person_id)
    made = make.booking(session, owner)
    item, old = made.items[0], made.items[0].structure
    bookings.confirm(session, cast.mia, made.id, NOW)
    grinds.check_in(session, cast.tina, item.id, NOW)
    new = catalogue.change_structure(
        session, cast.mia, 1, replace(find_structures.value(old), name="Reed", minutes=99), NOW
    )
    facts = grinds.GrindFacts(old.id, TODAY, "Tina", (1200, 1200, 1200), (1180, 1180, 1180))
    make.signed_off(session, cast.tina, item.id)
    grind = grinds.record(session, cast.tina, item.id, facts, NOW)
    session.flush()
    assert item.structure_id == old.id != new.id
    assert grind.structure_id == old.id
    uses = find_structures.uses(session, [old.id, new.id])
    assert uses == {old.id: find_structures.Uses(1, 1), new.id: find_structures.Uses(0, 0)}
    owner_again = make.booking(session, owner)
    assert owner_again.items[0].structure_id == new.id


def test_the_second_of_two_managers_is_told_and_loses_nothing_of_the_first(
    session: Session, cast: Cast
) -> None:
    mine, theirs = replace(value(session), minutes=17), replace(value(session), minutes=18)
    catalogue.change_structure(session, cast.mia, 1, mine, NOW)
    with pytest.raises(NotNow, match="Mia made version 2"):
        catalogue.change_structure(session, cast.mia, 1, theirs, NOW)
    assert value(session).minutes == 17
    # Having seen it, they may go on from there.
    assert catalogue.change_structure(session, cast.mia, 2, theirs, NOW).version == 3


def test_of_many_who_save_at_the_same_moment_exactly_one_makes_the_next_version(
    database: Database, cast: Cast
) -> None:
    with database.read() as reading:
        seen = value(reading)
    outcomes: list[str] = []
    ready = threading.Barrier(4)

    def save(minutes: int) -> None:
        ready.wait()
        try:
            with database.write.begin() as writing:
                catalogue.change_structure(writing, cast.mia, 1, replace(seen, minutes=minutes), NOW)
            outcomes.append("saved")
        except NotNow:
            outcomes.append("told")

    threads = [threading.Thread(target=save, args=(20 + number,)) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(outcomes) == ["saved", "told", "told", "told"]
    with database.read() as reading:
        assert [row.version for row in find_structures.versions(reading, "heather")] == [2, 1]
        assert [row.current for row in find_structures.versions(reading, "heather")] == [True, False]


def test_a_new_structure_is_offered_and_its_key_is_its_own(session: Session, cast: Cast) -> None:
    new = replace(value(session), key="sea-thrift", name="Sea thrift", layers=(VEE,), removal_um=20)
    made = catalogue.add_structure(session, cast.mia, new, NOW)
    assert (made.version, made.current, made.made_by) == (1, True, "Mia")
    assert made in find_structures.all_current(session)
    with pytest.raises(NotNow, match="sea-thrift already"):
        catalogue.add_structure(session, cast.mia, new, NOW)
    with pytest.raises(NotNow, match="no such family"):
        catalogue.add_structure(session, cast.mia, replace(new, key="reed", family="nettle"), NOW)


@pytest.mark.parametrize("key", ["Sea thrift", "-reed", "reed--bed", "sæl", "", "x" * 41])
def test_a_key_that_is_no_address_is_refused(session: Session, cast: Cast, key: str) -> None:
    with pytest.raises(ValueError, match="lower-case"):
        catalogue.add_structure(session, cast.mia, replace(value(session), key=key), NOW)


def test_a_retired_structure_is_not_offered_until_it_is_brought_back(session: Session, cast: Cast) -> None:
    catalogue.change_structure(session, cast.mia, 1, replace(value(session), minutes=17), NOW)
    catalogue.retire(session, cast.mia, "heather", NOW)
    assert [row.version for row in find_structures.retired(session)] == [2]
    with pytest.raises(NotFound):
        find_structures.by_key(session, "heather")
    with pytest.raises(NotNow, match="retired already"):
        catalogue.retire(session, cast.mia, "heather", NOW)
    with pytest.raises(NotNow, match="Bring it back"):
        catalogue.change_structure(
            session,
            cast.mia,
            2,
            replace(find_structures.value(find_structures.newest(session, "heather")), minutes=9),
            NOW,
        )
    catalogue.bring_back(session, cast.mia, "heather", NOW)
    assert find_structures.by_key(session, "heather").version == 2
    assert find_structures.retired(session) == []
    with pytest.raises(NotNow, match="offered already"):
        catalogue.bring_back(session, cast.mia, "heather", NOW)


def test_the_last_structure_of_a_discipline_stays(session: Session, cast: Cast) -> None:
    for row in find_structures.all_current(session)[1:]:
        catalogue.retire(session, cast.mia, row.key, NOW)
    last = find_structures.all_current(session)[0]
    with pytest.raises(NotNow, match="last structure for classic"):
        catalogue.retire(session, cast.mia, last.key, NOW)
    only_classic = replace(find_structures.value(last), disciplines=frozenset({Discipline.CLASSIC}))
    with pytest.raises(NotNow, match="last structure for skating"):
        catalogue.change_structure(session, cast.mia, 1, only_classic, NOW)


def test_a_family_gets_its_place_and_keeps_its_key(session: Session, cast: Cast) -> None:
    facts = catalogue.FamilyFacts("Middling", "Between two.", "")
    made = catalogue.add_family(session, cast.mia, "middling", facts, 3, NOW)
    assert [row.key for row in find_structures.families(session)] == [
        "bearing",
        "close",
        "middling",
        "balanced",
        "open",
        "draining",
    ]
    assert [row.position for row in find_structures.families(session)] == [1, 2, 3, 4, 5, 6]
    catalogue.change_family(session, cast.mia, made.id, replace(facts, name="In between"), NOW)
    row = find_structures.family(session, made.id)
    assert (row.key, row.name, row.position) == ("middling", "In between", 3)
    with pytest.raises(NotNow, match="already"):
        catalogue.add_family(session, cast.mia, "middling", facts, 1, NOW)


def test_only_who_runs_the_shop_edits_the_catalogue(session: Session, cast: Cast) -> None:
    one, facts = value(session), catalogue.FamilyFacts("Reed", "", "")
    family = find_structures.families(session)[0].id

    def tries(who: Actor) -> None:
        for act in (
            lambda: catalogue.add_structure(session, who, replace(one, key="reed"), NOW),
            lambda: catalogue.change_structure(session, who, 1, replace(one, minutes=3), NOW),
            lambda: catalogue.retire(session, who, "heather", NOW),
            lambda: catalogue.bring_back(session, who, "heather", NOW),
            lambda: catalogue.add_family(session, who, "reed", facts, 1, NOW),
            lambda: catalogue.change_family(session, who, family, facts, NOW),
        ):
            with pytest.raises(NotAllowed):
                act()

    for who in (cast.tina, cast.alice, cast.cora):
        tries(who)
    assert all(row.version == 1 for row in session.scalars(select(tables.Structure)))
