"""The table of moves."""

from __future__ import annotations

import pytest

from portal.domain.bookings import (
    REFERENCE_LETTERS,
    STAGE_MOVES,
    STATUS_MOVES,
    Event,
    Stage,
    Status,
    advance,
    move,
    reference_of,
)
from portal.domain.errors import NotNow


@pytest.mark.parametrize("now", Status)
@pytest.mark.parametrize("to", Status)
def test_a_booking_goes_only_where_the_table_lets_it(now: Status, to: Status) -> None:
    if to in STATUS_MOVES[now]:
        assert move(now, to) is to
    else:
        with pytest.raises(NotNow, match="stands at"):
            move(now, to)


@pytest.mark.parametrize("now", Stage)
@pytest.mark.parametrize("to", Stage)
def test_a_pair_goes_only_where_the_table_lets_it(now: Stage, to: Stage) -> None:
    if to in STAGE_MOVES[now]:
        assert advance(now, to) is to
    else:
        with pytest.raises(NotNow, match="stands at"):
            advance(now, to)


def test_every_status_can_be_reached_and_every_open_one_can_end() -> None:
    reached, todo = set(), [Status.REQUESTED]
    while todo:
        status = todo.pop()
        reached.add(status)
        todo += STATUS_MOVES[status] - reached
    assert reached == set(Status)
    assert {status for status in Status if not status.is_open} == {
        Status.DECLINED,
        Status.CANCELLED,
        Status.COMPLETED,
    }


def test_every_status_stage_and_event_has_words() -> None:
    assert all(member.label for kind in (Status, Stage, Event) for member in kind)


def test_what_has_ended_without_work_holds_no_capacity() -> None:
    assert {status for status in Status if not status.holds_capacity} == {Status.DECLINED, Status.CANCELLED}


def test_references_differ_and_have_no_look_alikes() -> None:
    made = {reference_of(number) for number in range(5000)}
    assert len(made) == 5000
    assert all(len(reference) == 8 and reference[3] == "-" for reference in made)
    assert not set("0O1IL8B5S2ZQG69") & set(REFERENCE_LETTERS)
