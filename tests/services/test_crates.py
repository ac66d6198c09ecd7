"""A club's crate: what each scan does, what is kept of it, and the one letter."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.bookings import Booking
from portal.db.outbox import OutboxLetter
from portal.db.pairs import Pair
from portal.domain.answers import Discipline
from portal.domain.arrivals import CheckIn, Condition, Side
from portal.domain.base_life import Thickness
from portal.domain.bookings import Event, Stage
from portal.domain.crates import ExtraState, Outcome
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.tags import number_of
from portal.queries import bookings as find_bookings
from portal.queries import crates as find_crates
from portal.queries import people as find_people
from portal.services import arrivals, bookings, crates, grinds
from portal.services.pairs import PairFacts
from tests import make
from tests.cast import Cast
from tests.make import NOW

LATER = NOW + timedelta(hours=1)


@pytest.fixture
def pairs(session: Session, cast: Cast) -> list[Pair]:
    """Four pairs of Cora's club, the first of them Junia's."""
    juniors = [cast.junior_id, None, None, None]
    return [
        make.pair(session, club_id=cast.club_id, junior_id=junior, model=f"Crow {number}")
        for number, junior in enumerate(juniors)
    ]


@pytest.fixture
def order(session: Session, cast: Cast, pairs: list[Pair]) -> Booking:
    """Three of them are ordered, and confirmed."""
    cora = find_people.one(session, cast.cora.person_id)
    wanted = [make.wanted(session, pair) for pair in pairs[:3]]
    made = make.booking(session, cora, wanted=wanted, pair=object(), club_id=cast.club_id)
    bookings.confirm(session, cast.mia, made.id, NOW)
    session.flush()
    return made


def letters(session: Session) -> list[OutboxLetter]:
    """Those that were written after the order was confirmed."""
    session.flush()
    return [
        one for one in session.scalars(select(OutboxLetter).order_by(OutboxLetter.id)) if one.created_at > NOW
    ]


def stages(session: Session, order: Booking) -> list[Stage]:
    return [item.stage for item in find_bookings.whole(session, order.id).items]


def test_each_scan_checks_one_pair_in_and_the_second_does_nothing(
    session: Session, cast: Cast, order: Booking, pairs: list[Pair]
) -> None:
    found = crates.scan(session, cast.tina, order.id, pairs[1].id, LATER)
    assert found.outcome is Outcome.FOUND
    assert stages(session, order) == [Stage.AWAITED, Stage.CHECKED_IN, Stage.AWAITED]
    before = len(find_bookings.whole(session, order.id).events)
    again = crates.scan(session, cast.tina, order.id, pairs[1].id, LATER)
    assert (again.outcome, again.item_id) == (Outcome.ALREADY, found.item_id)
    assert len(find_bookings.whole(session, order.id).events) == before
    assert len(find_crates.of_booking(session, order.id)) == 1


def test_a_pair_of_the_club_that_is_not_ordered_is_extra_and_kept_once(
    session: Session, cast: Cast, order: Booking, pairs: list[Pair]
) -> None:
    for _ in range(2):
        assert crates.scan(session, cast.tina, order.id, pairs[3].id, LATER).outcome is Outcome.EXTRA
    (extra,) = find_crates.of_booking(session, order.id)[0].extras
    assert (extra.pair_id, extra.state) == (pairs[3].id, ExtraState.NOTED)
    assert stages(session, order) == [Stage.AWAITED] * 3


def test_an_extra_pair_that_is_in_the_order_by_now_is_found(
    session: Session, cast: Cast, order: Booking, pairs: list[Pair]
) -> None:
    crates.scan(session, cast.tina, order.id, pairs[3].id, LATER)
    whole = find_bookings.whole(session, order.id)
    whole.items.append(
        bookings.BookingItem(pair=pairs[3], structure=make.structure(session), minutes=4, commitments=[])
    )
    session.flush()
    assert crates.scan(session, cast.tina, order.id, pairs[3].id, LATER).outcome is Outcome.FOUND
    assert find_crates.of_booking(session, order.id)[0].extras[0].state is ExtraState.ADDED


def test_a_pair_of_another_order_leads_there_and_is_told_to_its_own_club_only(
    session: Session, cast: Cast, order: Booking, pairs: list[Pair]
) -> None:
    cora, alice = (find_people.one(session, one.person_id) for one in (cast.cora, cast.alice))
    wanted = [make.wanted(session, pairs[3])]
    other = make.booking(session, cora, wanted=wanted, pair=object(), club_id=cast.club_id)
    own = make.booking(session, alice, pair=make.pair(session, alice, model="Secret"))
    for one in (other, own):
        bookings.confirm(session, cast.mia, one.id, NOW)
    session.flush()
    found = crates.scan(session, cast.tina, order.id, pairs[3].id, LATER)
    assert (found.outcome, found.booking_id) == (Outcome.ELSEWHERE, other.id)
    assert crates.scan(session, cast.tina, order.id, own.items[0].pair_id, LATER).outcome is Outcome.ELSEWHERE
    crates.close(session, cast.tina, order.id, LATER)
    (letter,) = letters(session)
    assert f"Crow 3 187 cm (it belongs to order {other.reference})" in letter.body
    assert "A pair that is not the club's" in letter.body
    assert "Secret" not in letter.body
    assert own.reference not in letter.body
    # Nothing was done to them.
    assert stages(session, other) == stages(session, own) == [Stage.AWAITED]


def test_one_letter_says_what_was_found_missing_extra_and_seen(
    session: Session, cast: Cast, order: Booking, pairs: list[Pair]
) -> None:
    for pair in pairs[:2]:
        crates.scan(session, cast.tina, order.id, pair.id, LATER)
    item = next(one for one in order.items if one.pair_id == pairs[0].id)
    scratched = CheckIn(conditions=(Condition("scratch", Side.LEFT), Condition("wax", Side.BOTH)))
    arrivals.correct(session, cast.tina, item.id, scratched, (), LATER)
    crates.note_unknown(session, cast.tina, order.id, "Red skating skis, 172 cm", LATER)
    assert letters(session) == []
    assert crates.close(session, cast.tina, order.id, LATER)
    (letter,) = letters(session)
    assert letter.recipient == cast.cora.email
    for words in (
        "Here now: 2 of 3 pairs",
        "Crow 2 187 cm",
        "Red skating skis, 172 cm",
        "Junia: Fennmark Crow 0 187 cm: Scratches, Old wax",
        f"/club/{cast.club_id}/orders/{order.id}",
    ):
        assert words in letter.body, words
    assert "Crow 1" not in letter.body
    # Sent again, nothing is done twice.
    assert not crates.close(session, cast.tina, order.id, LATER)
    assert len(letters(session)) == 1
    (crate,) = find_crates.of_booking(session, order.id)
    assert (crate.found, crate.of, crate.closed_by, crate.closed_at) == (2, 3, "Tina", LATER)
    # Kept for good, so by its tag and without the name of a junior.
    assert crate.missing.startswith("Fennmark Crow 2 187 cm ")
    assert number_of(crate.missing[-7:]) in {item.pair_id for item in order.items}
    assert stages(session, order)[2] is Stage.AWAITED, "no pair is lost"
    assert find_bookings.whole(session, order.id).events[-1].event is Event.CRATE_UNPACKED


def test_what_comes_later_is_a_crate_of_its_own_or_checked_in_alone(
    session: Session, cast: Cast, order: Booking, pairs: list[Pair]
) -> None:
    crates.scan(session, cast.tina, order.id, pairs[0].id, LATER)
    crates.close(session, cast.tina, order.id, LATER)
    crates.scan(session, cast.tina, order.id, pairs[1].id, LATER)
    crates.close(session, cast.tina, order.id, LATER)
    assert [crate.found for crate in find_crates.of_booking(session, order.id)] == [2, 1]
    last = next(one for one in order.items if one.pair_id == pairs[2].id)
    grinds.check_in(session, cast.tina, last.id, LATER)
    assert ["crate" in one.subject for one in letters(session)] == [True, True, False]


def test_pairs_whose_base_is_too_thin_are_stopped_and_told_in_the_same_letter(
    session: Session, cast: Cast, order: Booking, pairs: list[Pair]
) -> None:
    thin = Thickness(510, 505, 505)
    facts = grinds.GrindFacts(
        make.structure(session).id, make.TODAY, "Tina", after_um=(thin.tip_um, thin.middle_um, thin.tail_um)
    )
    grinds.add(session, pairs[0].id, facts, NOW)
    session.flush()
    assert crates.scan(session, cast.tina, order.id, pairs[0].id, LATER).outcome is Outcome.STOPPED
    assert letters(session) == []
    crates.close(session, cast.tina, order.id, LATER)
    (letter,) = letters(session)
    item = next(one for one in order.items if one.pair_id == pairs[0].id)
    assert f"/orders/{order.id}/pairs/{item.id}/stopped" in letter.body


def test_a_pair_that_was_never_registered_is_from_now_on(
    session: Session, cast: Cast, order: Booking, pairs: list[Pair]
) -> None:
    facts = PairFacts(maker="Fennmark", discipline=Discipline.CLASSIC, model="Found")
    made = crates.register(session, cast.tina, order.id, cast.junior_id, facts, LATER, key="one")
    assert crates.register(session, cast.tina, order.id, cast.junior_id, facts, LATER, key="one") is made
    assert (made.club_id, made.junior_id) == (cast.club_id, cast.junior_id)
    assert crates.scan(session, cast.tina, order.id, made.id, LATER).outcome is Outcome.EXTRA
    crate = find_crates.of_booking(session, order.id)[0]
    assert [one.pair_id for one in crate.extras] == [made.id]
    crates.forget(session, cast.tina, order.id, crate.extras[0].id)
    session.flush()
    session.expire_all()
    assert find_crates.of_booking(session, order.id)[0].extras == []


def test_a_junior_of_another_club_is_not_there(session: Session, cast: Cast, order: Booking) -> None:
    dora = find_people.one(session, cast.dora.person_id)
    stranger = make.junior(session, make.club(session, dora))
    facts = PairFacts(maker="Fennmark", discipline=Discipline.SKATE)
    with pytest.raises(NotFound):
        crates.register(session, cast.tina, order.id, stranger.id, facts, LATER, key="two")


def test_what_was_told_is_not_taken_back(
    session: Session, cast: Cast, order: Booking, pairs: list[Pair]
) -> None:
    crates.scan(session, cast.tina, order.id, pairs[3].id, LATER)
    crates.close(session, cast.tina, order.id, LATER)
    extra = find_crates.of_booking(session, order.id)[0].extras[0]
    with pytest.raises(NotNow):
        crates.forget(session, cast.tina, order.id, extra.id)
    with pytest.raises(NotFound):
        crates.forget(
            session,
            cast.tina,
            make.booking(session, find_people.one(session, cast.alice.person_id)).id,
            extra.id,
        )


@pytest.mark.parametrize("act", ["scan", "close", "note_unknown"])
def test_only_the_workshop_unpacks_and_only_what_is_agreed(
    session: Session, cast: Cast, order: Booking, pairs: list[Pair], act: str
) -> None:
    def do(actor: Any, booking_id: int) -> None:
        given: dict[str, Any] = {"scan": (pairs[0].id,), "note_unknown": ("red",), "close": ()}
        getattr(crates, act)(session, actor, booking_id, *given[act], now=LATER)

    for who, error in ((cast.cora, NotAllowed), (cast.dora, NotFound), (cast.alice, NotFound)):
        with pytest.raises(error):
            do(who, order.id)
    alice = find_people.one(session, cast.alice.person_id)
    with pytest.raises(NotFound):
        do(cast.tina, make.booking(session, alice).id)
    if act == "close":
        with pytest.raises(NotNow, match="Nothing was taken out"):
            do(cast.mia, order.id)
    bookings.cancel(session, cast.cora, order.id, NOW)
    with pytest.raises(NotNow, match="confirmed order"):
        do(cast.mia, order.id)
