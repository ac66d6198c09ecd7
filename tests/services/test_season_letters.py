"""The letter of a season: to whoever agreed, once, in parts, and never after it was stopped."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, timedelta
from itertools import count
from typing import Any

import pytest
from sqlalchemy import event, func, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from portal.db.engine import Database
from portal.db.outbox import OutboxLetter
from portal.db.people import Person
from portal.db.season_letters import SeasonLetter, SeasonRound
from portal.domain.errors import NotAllowed, NotNow
from portal.services import grinds, own_texts, season_letters
from tests import make
from tests.cast import Cast
from tests.make import NOW
from tests.services.test_rosters_at_once import at_once


def tokens(start: str = "t") -> Iterator[str]:
    return (f"{start}{number}" for number in count())


def agreed(session: Session, **given: Any) -> Person:
    return make.person(session, season_letter_since=NOW, **given)


def written(session: Session) -> list[OutboxLetter]:
    return list(session.scalars(select(OutboxLetter).order_by(OutboxLetter.id)))


def written_by(session: Session, cast: Cast, now: Any = NOW) -> list[OutboxLetter]:
    """Everything that is written when the manager sends the letters."""
    season_letters.send(session, cast.mia, now)
    keys = tokens(f"{now:%Y%m%d}-")
    while season_letters.write_some(session, now, lambda: next(keys)):
        pass
    return written(session)


def test_only_whoever_agreed_has_a_pair_and_can_be_reached_gets_a_letter(
    session: Session, cast: Cast
) -> None:
    old = make.pair(session, agreed(session, email="ada@example.test"))
    facts = grinds.GrindFacts(make.structure(session).id, date(2024, 3, 2), "Tina")
    grinds.add(session, old.id, facts, NOW)
    make.pair(session, agreed(session, email=None))
    make.pair(session, agreed(session, confirmed_at=None))
    make.pair(session, agreed(session), archived_at=NOW)
    agreed(session)
    for actor in (cast.alice, cast.tina):
        with pytest.raises(NotAllowed):
            season_letters.send(session, actor, NOW)
    found = season_letters.outlook(session, NOW)
    assert vars(found.counts) == {"agreed": 5, "unreached": 2, "without_pair": 2, "have_it": 0}
    assert (found.to_write, found.with_due) == (1, 1)
    assert [row.recipient for row in written_by(session, cast)] == ["ada@example.test"]
    found = season_letters.outlook(session, NOW)
    assert (found.to_write, found.counts.have_it) == (0, 1)
    assert found.last is not None
    assert (found.last.written, found.last.finished_at) == (1, NOW)


def test_a_letter_says_what_is_on_each_pair_and_what_is_due(session: Session, cast: Cast) -> None:
    ada = agreed(session, name="Ada", email="ada@example.test")
    fresh, old, thin, new = (make.pair(session, ada, maker=maker) for maker in ("A", "B", "C", "D"))
    structure = make.structure(session)
    for pair, day, um in ((fresh, 2, 1100), (old, 2, 1100), (thin, 3, 505)):
        ground_on = date(2026, 11, day) if pair is not old else date(2024, 3, 2)
        facts = grinds.GrindFacts(structure.id, ground_on, "Tina", after_um=(um, um, um))
        grinds.add(session, pair.id, facts, NOW)
    booked = make.booking(session, ada).items[0].pair
    make.pair(session, ada, maker="Frozen", frozen_at=NOW)
    slot = own_texts.slots(())["letter.season.opening"]
    own_texts.reword(session, cast.mia, slot, "en", "First words for %(name)s.", NOW)
    session.flush()
    [row] = [row for row in written_by(session, cast) if row.stop_page]
    parts = row.body.split("\n\n")
    assert parts[0].splitlines()[0] == "Hello Ada,"
    assert "First words for Ada." in row.body
    about = {part.splitlines()[0]: part for part in parts[2:7]}
    assert f"On the base: {structure.name}, since Mon 2 November 2026." in about[fresh.title]
    assert "Nothing is due." in about[fresh.title]
    assert re.search(r"The base: About \d+ \(\d+ to \d+\) grinds are left\.", about[fresh.title])
    assert "Due: It was last ground on Sat 2 March 2024." in about[old.title]
    assert "Due: Its base is near its end." in about[thin.title]
    assert "Nothing is due." in about[new.title], "a pair that the workshop never had asks for nothing"
    assert "in a booking already" in about[booked.title]
    assert "due" not in about[booked.title].lower()
    assert "Frozen" not in row.body
    assert "whether its next grind is worth it: {site}/my/pairs" in row.body
    assert "You agreed on Mon 7 December 2026" in row.body
    assert row.stop_page == "{site}/season-letter/20261207-0/stop"
    assert row.stop_page in row.body


def test_nobody_gets_it_twice_in_a_year_whatever_is_pressed(session: Session, cast: Cast) -> None:
    make.pair(session, agreed(session))
    season_letters.send(session, cast.mia, NOW)
    with pytest.raises(NotNow, match="being written already"):
        season_letters.send(session, cast.mia, NOW)
    session.rollback()
    june = NOW.replace(year=2027, month=6, day=20)
    make.pair(session, agreed(session))
    assert len(written_by(session, cast, june)) == 1
    for later in (
        june,
        june + timedelta(days=20),
    ):  # In July the next season has begun, and it is still too soon.
        with pytest.raises(NotNow, match="Nobody is left"):
            season_letters.send(session, cast.mia, later)
    assert len(written_by(session, cast, june + timedelta(days=200))) == 2


def test_the_database_keeps_a_second_letter_out(session: Session, cast: Cast) -> None:
    for token in ("a", "b"):
        session.add(SeasonLetter(person_id=cast.alice.person_id, season=2026, token=token, written_at=NOW))
    with pytest.raises(IntegrityError):
        session.flush()


def test_a_stopped_letter_comes_no_more(session: Session, cast: Cast) -> None:
    ada = agreed(session)
    make.pair(session, ada)
    written_by(session, cast)
    assert not season_letters.stop(session, "not-ours")
    for _ in range(2):
        assert season_letters.stop(session, "20261207-0")
    assert ada.season_letter_since is None
    with pytest.raises(NotNow):
        season_letters.send(session, cast.mia, NOW + timedelta(days=365))
    assert season_letters.preview(session, NOW + timedelta(days=365)) is None


def sent_for(database: Database, cast: Cast, people: int) -> None:
    with database.write.begin() as session:
        for _ in range(people):
            pair = make.pair(session, agreed(session))
            facts = grinds.GrindFacts(make.structure(session).id, date(2026, 11, 2), "Tina")
            grinds.add(session, pair.id, facts, NOW)
        session.flush()
        season_letters.send(session, cast.mia, NOW)


def test_a_part_takes_the_same_statements_however_many_are_in_it(
    database: Database, cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    sent_for(database, cast, 66)
    seen: list[str] = []
    event.listen(
        database.engine, "before_cursor_execute", lambda _c, _u, statement, *_r: seen.append(statement)
    )
    keys, statements = tokens(), []
    for most in (5, 20, 40):
        monkeypatch.setattr(season_letters, "CHUNK", most)
        del seen[:]
        with database.write.begin() as session:
            assert season_letters.write_some(session, NOW, lambda: next(keys))
        statements.append(len(seen))
    assert statements[0] == statements[1] == statements[2] <= 13
    with database.read() as session:
        assert session.scalar(select(func.count(SeasonLetter.id))) == 65
        assert session.scalars(select(SeasonRound)).one().written == 65


def test_two_workers_write_each_letter_once(
    database: Database, cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(season_letters, "CHUNK", 3)
    sent_for(database, cast, 5)
    one, other = tokens("a"), tokens("b")
    got = at_once(
        database,
        lambda session: season_letters.write_some(session, NOW, lambda: next(one)),
        lambda session: season_letters.write_some(session, NOW, lambda: next(other)),
    )
    assert got == "done"
    with database.read() as session:
        told = [row.recipient for row in written(session)]
        assert len(told) == len(set(told)) == 5
        assert session.scalar(select(func.count(SeasonLetter.id))) == 5


def test_two_managers_ask_for_one_round(database: Database, cast: Cast) -> None:
    with database.write.begin() as session:
        make.pair(session, agreed(session))
    got = at_once(
        database,
        lambda session: season_letters.send(session, cast.mia, NOW),
        lambda session: season_letters.send(session, cast.mia, NOW),
    )
    assert got == "NotNow"
    with database.read() as session:
        assert len(session.scalars(select(SeasonRound)).all()) == 1


def test_whoever_stops_it_while_letters_are_written_gets_none(database: Database, cast: Cast) -> None:
    sent_for(database, cast, 1)
    with database.write.begin() as session:
        ada = session.scalars(select(Person).where(Person.season_letter_since.is_not(None))).one().id

    def change_mind(session: Session) -> None:
        session.get_one(Person, ada).season_letter_since = None

    keys = tokens()
    at_once(
        database, change_mind, lambda session: season_letters.write_some(session, NOW, lambda: next(keys))
    )
    with database.read() as session:
        assert written(session) == []
