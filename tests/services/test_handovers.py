"""A pair goes from hand to hand: what goes along, what stays, who is told, and what a dispute stops."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.audit import AuditEntry
from portal.db.clubs import Junior
from portal.db.engine import Database
from portal.db.glide_notes import GlideNote
from portal.db.handovers import Handover, PairOffer
from portal.db.outbox import OutboxLetter
from portal.db.pairs import Pair
from portal.domain.audit import Act
from portal.domain.conditions import Conditions, Moisture, Outcome
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.snow import SnowKind
from portal.queries import glide_notes as find_notes
from portal.queries import handovers as find_handovers
from portal.queries import pairs as find_pairs
from portal.reference import default_folder, load
from portal.services import (
    bookings,
    claims,
    disputes,
    found_skis,
    glide_notes,
    grinds,
    handovers,
    juniors,
    letters,
    pairs,
    snow_answers,
)
from portal.services.glide_notes import Outing, Ran
from tests import make
from tests.cast import Cast
from tests.make import NOW
from tests.services.test_rosters_at_once import at_once

CODE = "23456789AC"
LATER = NOW + timedelta(hours=1)


def handed_over(session: Session, cast: Cast, pair_id: int) -> Pair:
    """From Alice to Carl."""
    handovers.offer(session, cast.alice, pair_id, CODE, NOW)
    handovers.take(session, cast.carl, CODE, LATER)
    session.flush()
    return session.get_one(Pair, pair_id)


def written_to(session: Session) -> list[str]:
    return list(session.scalars(select(OutboxLetter.recipient).order_by(OutboxLetter.id)))


def test_a_pair_is_handed_over_with_its_code_once_and_both_are_told(session: Session, cast: Cast) -> None:
    pair = session.get_one(Pair, cast.pair_id)
    pair.notes, pair.mark = "Alice's own words", "7"
    pair = handed_over(session, cast, cast.pair_id)
    assert (pair.owner_id, pair.notes, pair.mark) == (cast.carl.person_id, "", "7")
    with pytest.raises(NotFound):
        find_pairs.one(session, cast.alice, cast.pair_id)
    with pytest.raises(NotNow):
        handovers.take(session, cast.dora, CODE, LATER)
    told = {row.recipient: row.body for row in session.scalars(select(OutboxLetter))}
    assert set(told) == {"alice@example.test", "carl@example.test"}
    assert "If this was not you, tell us at once" in told["alice@example.test"]
    assert "desk@hollowmere.test" in told["alice@example.test"]
    assert "Carl" not in told["alice@example.test"]
    assert "Alice" not in told["carl@example.test"]
    acts = session.execute(select(AuditEntry.act, AuditEntry.name).order_by(AuditEntry.id)).all()
    assert [tuple(one) for one in acts] == [(Act.PAIR_OFFERED, "Alice"), (Act.PAIR_HANDED_OVER, "Carl")]


def test_what_an_owner_answered_and_noted_stays_with_them(session: Session, cast: Cast) -> None:
    alice = make.find_people.one(session, cast.alice.person_id)
    other = make.pair(session, alice)
    first, second = (make.structure(session, number=number) for number in (0, 1))
    for pair_id, structure in ((cast.pair_id, first), (other.id, second)):
        facts = grinds.GrindFacts(structure.id, date(2026, 11, 2), "Tina")
        grinds.add(session, pair_id, facts, NOW)
    session.flush()
    snow = Conditions(-4.0, next(iter(SnowKind)), Moisture.DRY)
    for own, beside in ((cast.pair_id, other.id), (other.id, cast.pair_id)):
        outing = Outing(beside, (Ran(own, Outcome.FASTER),), date(2026, 12, 1), snow, "Alice's remark")
        glide_notes.write(session, cast.alice, outing, load(default_folder()).tables, make.TODAY, NOW)
    snow_answers.finish(snow_answers.begin(session, cast.alice, "t", NOW, pair_id=cast.pair_id), NOW)
    session.flush()
    before = find_notes.evidence(session)
    handed_over(session, cast, cast.pair_id)
    assert find_pairs.answers_of_pair(session, cast.pair_id) is None
    assert find_notes.of_pair(session, cast.carl, cast.pair_id) == []
    # Each note says the same of the structures, seen from the pair that is still hers.
    kept = session.scalars(select(GlideNote).order_by(GlideNote.id)).all()
    assert [(note.pair_id, note.other_pair_id) for note in kept] == [(other.id, None)] * 2
    assert {note.structure_id for note in kept} == {second.id}
    assert sorted(note.outcome for note in kept) == sorted([Outcome.SLOWER, Outcome.FASTER])
    assert find_notes.evidence(session) == before


def test_a_letter_takes_the_code_to_an_address_that_is_not_kept(session: Session, cast: Cast) -> None:
    handovers.offer(session, cast.alice, cast.pair_id, CODE, NOW, "stranger@example.test")
    row = session.scalars(select(OutboxLetter)).one()
    assert "/my/pairs/claim?code=" + CODE in row.body
    assert "Alice" not in row.body
    assert "Skarv" not in row.body
    [out] = letters.claim(session, NOW, 10, timedelta(minutes=1))
    letters.mark_sent(session, out.id, NOW)
    session.flush()
    assert written_to(session) == []
    # One that has not left yet goes with its code, also while a sender holds it.
    handovers.offer(session, cast.alice, cast.pair_id, "3333333333", NOW, "stranger@example.test")
    [out] = letters.claim(session, NOW, 10, timedelta(minutes=1))
    handovers.withdraw(session, cast.alice, cast.pair_id)
    session.expire_all()
    assert written_to(session) == []
    letters.mark_sent(session, out.id, NOW)
    assert letters.mark_failed(session, out.id, "no", NOW, for_good=False) is False


def test_nobody_has_us_write_to_strangers_all_day(session: Session, cast: Cast) -> None:
    for number in range(10):
        handovers.offer(session, cast.alice, cast.pair_id, CODE, NOW, f"stranger{number}@example.test")
    with pytest.raises(NotNow, match="pass it on yourself"):
        handovers.offer(session, cast.alice, cast.pair_id, CODE, LATER, "stranger@example.test")
    handovers.offer(session, cast.alice, cast.pair_id, CODE, LATER)
    handovers.offer(session, cast.cora, cast.club_pair_id, "3333333333", LATER, "stranger@example.test")
    handovers.offer(session, cast.alice, cast.pair_id, CODE, NOW + timedelta(days=1), "stranger@example.test")


def test_a_code_ends_with_the_next_one_by_itself_and_when_withdrawn(session: Session, cast: Cast) -> None:
    handovers.offer(session, cast.alice, cast.pair_id, "2222222222", NOW)
    handovers.offer(session, cast.alice, cast.pair_id, CODE, NOW)
    assert handovers.behind(session, cast.carl, "2222222222", NOW) is None
    found = handovers.behind(session, cast.carl, "23456-789ac", NOW + timedelta(days=30, seconds=-1))
    assert found is not None
    assert (found.title, found.grinds, found.thinnest_um) == ("Fennmark Skarv 187 cm", 0, None)
    assert handovers.behind(session, cast.carl, CODE, NOW + timedelta(days=30)) is None
    handovers.forget_old(session, NOW + timedelta(days=30))
    assert session.scalars(select(PairOffer)).all() == []
    with pytest.raises(NotFound):
        handovers.offer(session, cast.carl, cast.pair_id, CODE, NOW)


def test_a_pair_in_an_open_booking_stays_where_it_is(session: Session, cast: Cast) -> None:
    handovers.offer(session, cast.alice, cast.pair_id, CODE, NOW)
    alice = make.find_people.one(session, cast.alice.person_id)
    booked = make.booking(session, alice, pair=session.get_one(Pair, cast.pair_id))
    with pytest.raises(NotNow, match="open booking"):
        handovers.offer(session, cast.alice, cast.pair_id, "3333333333", NOW)
    with pytest.raises(NotNow, match="cannot change hands") as refusal:
        handovers.take(session, cast.carl, CODE, NOW)
    assert booked.reference not in str(refusal.value.reason)


def test_a_pair_comes_from_a_club_and_goes_to_one(session: Session, cast: Cast) -> None:
    with pytest.raises(NotFound):
        handovers.offer(session, cast.dora, cast.club_pair_id, CODE, NOW)
    handovers.offer(session, cast.cora, cast.club_pair_id, CODE, NOW)
    with pytest.raises(NotFound):
        handovers.take(session, cast.carl, CODE, NOW, club_id=cast.other_club_id)
    handovers.take(session, cast.dora, CODE, NOW, club_id=cast.other_club_id)
    pair = session.get_one(Pair, cast.club_pair_id)
    assert (pair.owner_id, pair.club_id, pair.junior_id) == (None, cast.other_club_id, None)
    assert written_to(session) == ["cora@example.test", "dora@example.test"]
    assert [row.title for row in find_handovers.given_away(session, club_id=cast.club_id)] == [pair.title]
    # A code that a club made for the junior gives nothing any more.
    with pytest.raises(NotNow):
        claims.make(session, cast.cora, cast.club_id, cast.junior_id, CODE, NOW)


def test_a_family_s_claim_ends_the_club_s_code_and_the_pair_can_go_back(session: Session, cast: Cast) -> None:
    pair = session.get_one(Pair, cast.club_pair_id)
    pair.notes = "The club's own words"
    make.answers(session, make.find_people.one(session, cast.cora.person_id), pair)
    handovers.offer(session, cast.cora, pair.id, CODE, NOW)
    claims.make(session, cast.cora, cast.club_id, cast.junior_id, "3333333333", NOW)
    claims.take(session, cast.carl, "3333333333", LATER)
    with pytest.raises(NotNow, match="holds no more"):
        handovers.take(session, cast.dora, CODE, LATER)
    assert (pair.owner_id, pair.notes) == (cast.carl.person_id, "The club's own words")
    assert find_pairs.all_answers_of_pair(session, pair.id) == []
    assert find_handovers.was_theirs(session, pair)(NOW)
    disputes.freeze(session, cast.tina, pair.id, "The club says it lent the pair", LATER)
    pair.notes = "Carl's own words"
    disputes.give_back(session, cast.mia, pair.id, LATER + timedelta(hours=1))
    assert (pair.club_id, pair.notes) == (cast.club_id, "The club's own words")
    theirs = find_handovers.was_theirs(session, pair)
    assert theirs(NOW)
    assert not theirs(LATER)


REFUSED: list[Callable[[Session, Cast], object]] = [
    lambda session, cast: handovers.offer(session, cast.alice, cast.pair_id, "3333333333", NOW),
    lambda session, cast: handovers.take(session, cast.carl, CODE, NOW),
    lambda session, cast: pairs.archive(session, cast.alice, cast.pair_id, NOW),
    lambda session, cast: pairs.restore(session, cast.alice, cast.pair_id),
    lambda session, cast: pairs.edit(
        session,
        cast.alice,
        cast.pair_id,
        pairs.PairFacts("Else", session.get_one(Pair, cast.pair_id).discipline),
    ),
    lambda session, cast: make.booking(
        session,
        make.find_people.one(session, cast.alice.person_id),
        pair=session.get_one(Pair, cast.pair_id),
    ),
    lambda session, cast: found_skis.handed_in(session, cast.tina, cast.pair_id, NOW),
]


@pytest.mark.parametrize("number", range(len(REFUSED)))
def test_of_a_frozen_pair_nothing_is_done(session: Session, cast: Cast, number: int) -> None:
    handovers.offer(session, cast.alice, cast.pair_id, CODE, NOW)
    disputes.freeze(session, cast.tina, cast.pair_id, "Two say it is theirs", NOW)
    with pytest.raises(NotNow):
        REFUSED[number](session, cast)


def test_a_junior_leaves_and_their_frozen_pair_stays_as_it_is(session: Session, cast: Cast) -> None:
    pair = session.get_one(Pair, cast.club_pair_id)
    disputes.freeze(session, cast.tina, pair.id, "A family says it is theirs", NOW)
    for go_along in (True, False):
        session.get_one(Junior, cast.junior_id).left_at = None
        juniors.leave(session, cast.cora, cast.club_id, cast.junior_id, NOW, pairs_go_along=go_along)
        assert session.get_one(Junior, cast.junior_id).left_at == NOW
        assert (pair.club_id, pair.junior_id, pair.archived_at) == (cast.club_id, cast.junior_id, None)
    juniors.forget(session, cast.cora, cast.club_id, cast.junior_id, NOW)
    assert (pair.club_id, pair.junior_id, pair.archived_at) == (cast.club_id, None, None)


def test_a_dispute_ends_as_it_is_by_the_manager_alone(session: Session, cast: Cast) -> None:
    with pytest.raises(NotAllowed):
        disputes.freeze(session, cast.alice, cast.pair_id, "", NOW)
    disputes.freeze(session, cast.tina, cast.pair_id, "Why", NOW)
    for act in (disputes.clear, disputes.give_back):
        with pytest.raises(NotAllowed):
            act(session, cast.tina, cast.pair_id, NOW)
    with pytest.raises(NotNow, match="Nobody is known"):
        disputes.give_back(session, cast.mia, cast.pair_id, NOW)
    disputes.clear(session, cast.mia, cast.pair_id, NOW)
    pair = session.get_one(Pair, cast.pair_id)
    assert (pair.frozen_at, pair.frozen_reason, pair.owner_id) == (None, "", cast.alice.person_id)
    with pytest.raises(NotNow, match="not frozen"):
        disputes.clear(session, cast.mia, cast.pair_id, NOW)


def test_a_pair_goes_back_to_whoever_had_it_with_their_notes(session: Session, cast: Cast) -> None:
    session.get_one(Pair, cast.pair_id).notes = "Alice's own words"
    pair = handed_over(session, cast, cast.pair_id)
    pair.notes = "Carl's own words"
    disputes.freeze(session, cast.tina, cast.pair_id, "Alice says it was not she", LATER)
    disputes.give_back(session, cast.mia, cast.pair_id, LATER)
    assert (pair.owner_id, pair.notes) == (cast.alice.person_id, "Alice's own words")
    assert written_to(session)[2:] == ["alice@example.test", "carl@example.test"]
    assert find_handovers.given_away(session, person_id=cast.alice.person_id) == []
    assert len(find_handovers.given_away(session, person_id=cast.carl.person_id)) == 1
    theirs = find_handovers.was_theirs(session, pair)
    assert theirs(NOW)
    assert theirs(LATER)


def test_whoever_takes_the_same_code_second_gets_nothing(database: Database, cast: Cast) -> None:
    with database.write.begin() as session:
        handovers.offer(session, cast.alice, cast.pair_id, CODE, NOW)
    got = at_once(
        database,
        lambda session: handovers.take(session, cast.carl, CODE, NOW),
        lambda session: handovers.take(session, cast.dora, CODE, NOW),
    )
    assert got == "NotNow"
    with database.read() as session:
        assert session.get_one(Pair, cast.pair_id).owner_id == cast.carl.person_id
        assert len(session.scalars(select(Handover)).all()) == 1


def test_a_pair_is_not_booked_and_handed_over_at_once(database: Database, cast: Cast) -> None:
    with database.write.begin() as session:
        handovers.offer(session, cast.alice, cast.pair_id, CODE, NOW)
        wanted = bookings.Wanted(cast.pair_id, make.structure(session).id)

    def book(session: Session) -> None:
        alice = make.find_people.one(session, cast.alice.person_id)
        make.booking(session, alice, wanted=[wanted])

    got = at_once(database, lambda session: handovers.take(session, cast.carl, CODE, NOW), book)
    assert got == "NotFound"


def test_the_owner_of_a_found_pair_is_told_once_a_day(session: Session, cast: Cast) -> None:
    found_skis.handed_in(session, cast.tina, cast.pair_id, NOW)
    [row] = session.scalars(select(OutboxLetter)).all()
    assert row.recipient == "alice@example.test"
    assert "found Fennmark Skarv 187 cm" in row.body
    with pytest.raises(NotNow, match="told within the last day"):
        found_skis.handed_in(session, cast.tina, cast.pair_id, NOW + timedelta(hours=23))
    found_skis.handed_in(session, cast.tina, cast.pair_id, NOW + timedelta(hours=24))
    # Whoever has it since was told of nothing.
    handed_over(session, cast, cast.pair_id)
    found_skis.handed_in(session, cast.tina, cast.pair_id, NOW + timedelta(hours=25))
    with pytest.raises(NotAllowed):
        found_skis.handed_in(session, cast.carl, cast.pair_id, NOW)
    with pytest.raises(NotFound):
        found_skis.handed_in(session, cast.alice, cast.pair_id, NOW)
    nobody = make.pair(session, make.person(session, email=None))
    with pytest.raises(NotNow, match="Call them"):
        found_skis.handed_in(session, cast.tina, nobody.id, NOW)
