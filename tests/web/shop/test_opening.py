"""Hours, closed days and the season, and what they do to the days of the stone."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from sqlalchemy import select

from portal.db.audit import AuditEntry
from portal.db.outbox import OutboxLetter
from portal.domain.audit import Act
from portal.domain.opening import Opening, Special, Usual, read_hours
from portal.queries import days as find_days
from portal.queries import opening as find_opening
from portal.queries import workshop as find_workshop
from portal.services import bookings, days, opening, places
from tests.documents.reading import text_of
from tests.make import NOW, TODAY
from tests.page import Page, Visitor

# The cast has Monday to Friday open for six weeks, 240 minutes each.
FRIDAY = date(2026, 12, 11)
SEASON = {"first": "2026-12-07", "last": "2027-02-28"}


def week(**given: Any) -> dict[str, Any]:
    """Monday to Friday as the days of the cast are, with hours from 14 to 18."""
    fields = {f"hours_{number}": "14-18" if number < 5 else "" for number in range(7)}
    fields |= {f"minutes_{number}": "240" if number < 5 else "" for number in range(7)}
    return {**fields, **given}


def set_up(mia: Visitor, **given: Any) -> Page:
    mia.send(mia.get("/shop/opening/week"), **week(**given))
    return mia.send(mia.send(mia.get("/shop/opening/season"), **SEASON), sure="yes")


def minutes(desk: Any) -> dict[date, int]:
    return {row.day: row.minutes_in_all for row in desk.read(find_days.between, TODAY, date.max)}


def nothing_is_oversold(desk: Any) -> None:
    assert desk.read(find_days.drift) == []
    assert desk.read(find_days.oversold) == []


def test_a_season_is_opened_in_one_act_after_a_look(mia: Visitor, desk: Any) -> None:
    assert "No week is set up yet" in mia.get("/shop/opening").text
    page = mia.send(mia.get("/shop/opening/week"), **week(minutes_5="60"))
    assert "Kept. Days of the stone that changed: 0." in page.text
    assert "Set the season next" in page.text
    before = minutes(desk)
    look = mia.send(mia.get("/shop/opening/season"), **SEASON)
    assert look.h1 == "Check the days that change"
    assert minutes(desk) == before
    page = mia.send(look, sure="yes")
    after = minutes(desk)
    changed = [day for day in after if after[day] != before.get(day, 0)]
    assert f"Days of the stone that changed: {len(changed)}." in page.text
    assert f"{len(changed)} days of the stone change" in look.text
    for day in (date(2026, 12, 7) + timedelta(days=offset) for offset in range(84)):
        assert after.get(day, 0) == (240 if day.weekday() < 5 else 60 if day.weekday() == 5 else 0), day
    assert max(after) == date(2027, 2, 27)
    nothing_is_oversold(desk)


def test_days_follow_when_the_week_changes_and_hand_set_ones_stay(mia: Visitor, desk: Any) -> None:
    set_up(mia)
    mia.send(mia.get("/shop/days/2026-12-15"), minutes="100")
    mia.send(mia.send(mia.get("/shop/opening/week"), minutes_1="300"), sure="yes")
    after = minutes(desk)
    assert (after[date(2026, 12, 8)], after[date(2026, 12, 15)], after[date(2026, 12, 22)]) == (300, 100, 300)
    assert "Set by hand" in mia.get("/shop/opening").text
    mia.send(mia.send(mia.get("/shop/opening/special/2026-12-15"), remove="yes"), sure="yes")
    assert minutes(desk)[date(2026, 12, 15)] == 300


def test_what_was_typed_comes_back_from_the_check_page(mia: Visitor, desk: Any) -> None:
    set_up(mia)
    look = mia.send(mia.get("/shop/opening/week"), minutes_0="200", hours_0="9-12, 14-18")
    form = mia.send(look, again="yes")
    assert form.h1 == "The week"
    assert (form.form("week")["minutes_0"], form.form("week")["hours_0"]) == ("200", "9-12, 14-18")
    assert minutes(desk)[date(2026, 12, 14)] == 240


def test_a_change_below_what_is_promised_names_the_bookings_and_changes_nothing(
    mia: Visitor, desk: Any
) -> None:
    set_up(mia)
    booked = desk.asked()
    day = desk.read(bookings.find_bookings.whole, booked.id).items[0].ground_on
    before = minutes(desk)
    page = mia.send(mia.get("/shop/opening/week"), **{f"minutes_{day.weekday()}": "1"})
    assert page.h1 == "Bookings are in the way"
    assert f"/shop/bookings/{booked.id}" in page.links
    assert "Alice" in page.text
    assert "Change these days" not in page.text
    # Whoever sends the answer of the other page meets the same one.
    again = mia.send(page, sure="yes")
    assert again.h1 == "Bookings are in the way"
    assert minutes(desk) == before
    nothing_is_oversold(desk)


def test_closed_days_shut_the_door_and_the_stone(mia: Visitor, desk: Any) -> None:
    set_up(mia)
    given = {"reason": "Winter holiday", "first": "2026-12-24", "last": "2027-01-01"}
    look = mia.send(mia.get("/shop/opening/special"), **given)
    assert "7 are closed" in look.text
    mia.send(look, sure="yes")
    after = minutes(desk)
    assert not any(after.get(date(2026, 12, 24) + timedelta(days=offset)) for offset in range(9))
    can = desk.read(find_opening.days_for_people, date(2026, 12, 22), date(2027, 1, 5))
    assert can == [date(2026, 12, 22), date(2026, 12, 23), date(2027, 1, 4), date(2027, 1, 5)]
    assert "Winter holiday" in mia.get("/shop/opening").text


def test_a_day_on_which_skis_are_to_come_or_go_is_not_closed(mia: Visitor, desk: Any) -> None:
    booked = desk.confirmed()
    set_up(mia)
    for day, told in ((date(2026, 12, 8), "Skis are to be handed in"), (FRIDAY, "Skis are to be ready")):
        given = {"reason": "Fair", "first": day.isoformat(), "minutes": ""}
        page = mia.send(mia.get("/shop/opening/special"), **given)
        assert page.h1 == "Bookings are in the way"
        assert told in page.text
        assert booked.reference in page.text
    assert desk.read(find_opening.the).specials == {}


def test_hours_without_the_stone_can_be_chosen_for_the_hand_in_and_the_reverse_not(
    mia: Visitor, visitor: Visitor, desk: Any
) -> None:
    set_up(mia, hours_5="10-13", hours_2="")
    alice = desk.cast.alice
    can = desk.read(places.days, None, NOW)
    assert date(2026, 12, 12) in can
    assert date(2026, 12, 9) not in can
    assert minutes(desk)[date(2026, 12, 9)] == 240
    assert date(2026, 12, 12) not in minutes(desk)
    made = desk.asked(hand_in=date(2026, 12, 12), ready=date(2026, 12, 16))
    assert desk.read(bookings.find_bookings.one, alice, made.id).hand_in_on == date(2026, 12, 12)
    with pytest.raises(Exception, match="hand-in day"):
        desk.asked(hand_in=date(2026, 12, 9), ready=date(2026, 12, 16))


WRONG = (
    ("week", {"hours_0": "18-14"}, "Write hours that end after they begin"),
    ("week", {"minutes_0": "1441"}, "Enter a whole number of minutes from 0 to 1440"),
    ("season", {"last": "2026-12-01"}, "Enter a last day that is not before the first day"),
    ("season", {"horizon": ""}, "Enter a number of days"),
    ("season", {"horizon": "0"}, "Enter a number from 1 to 730"),
    ("season", {"last": "2029-12-01"}, "Choose at most 400 days at once"),
    ("special", {"first": "2026-12-06", "reason": "x"}, "Enter a first day that is not over yet"),
    ("special", {"first": "2026-12-08", "reason": ""}, "Write a reason: people read it beside the hours"),
    ("special", {"first": "", "reason": "x"}, "Enter the first day"),
)


@pytest.mark.parametrize(("page", "given", "told"), WRONG)
def test_a_wrong_answer_says_what_to_do(mia: Visitor, page: str, given: dict[str, str], told: str) -> None:
    filled = SEASON if page == "season" else {}
    assert mia.send(mia.get(f"/shop/opening/{page}"), **{**filled, **given}).errors == [told]


def test_how_far_ahead_people_book_is_kept(mia: Visitor, desk: Any) -> None:
    mia.send(mia.get("/shop/opening/season"), **SEASON, horizon="90 days")
    assert desk.read(find_workshop.the).horizon_days == 90
    assert "90 days" in mia.get("/shop/opening").text


def test_only_the_shop_manager_sets_the_days(tina: Visitor, visitor: Visitor, desk: Any) -> None:
    for page in ("opening", "opening/week", "opening/season", "opening/special"):
        tina.get(f"/shop/{page}", status=403)
        visitor.as_(desk.cast.alice).get(f"/shop/{page}", status=404)
    mia = visitor.as_(desk.cast.mia)
    mia.get("/shop/opening/special/2026-12-24", status=404)
    mia.get("/shop/opening/special/tomorrow", status=404)


def test_a_booking_that_came_in_meanwhile_stops_the_change(desk: Any) -> None:
    hours = read_hours("14-18")
    assert isinstance(hours, tuple)
    usual = tuple(Usual(hours, (240,)) if number < 5 else Usual() for number in range(7))
    with desk.database.write.begin() as session:
        opening.change(
            session, desk.cast.mia, lambda _old: Opening(usual, (TODAY, date(2026, 12, 31))), NOW, "set up"
        )
    shut = Special(FRIDAY, "Fair")
    assert opening.look_ahead(desk.database.read(), lambda old: old.with_specials(shut), TODAY).broken == ()
    booked = desk.asked()
    with (
        desk.database.write.begin() as session,
        pytest.raises(opening.WouldBreak, match=booked.reference),
    ):
        opening.change(session, desk.cast.mia, lambda old: old.with_specials(shut), NOW)
    with desk.database.read() as session:
        noted = session.scalars(select(AuditEntry).where(AuditEntry.act == Act.DAYS_CHANGED)).all()
        assert [one.about for one in noted] == ["set up"]


def test_with_two_grinders_minutes_are_those_of_each(mia: Visitor, desk: Any) -> None:
    with desk.database.write.begin() as session:
        days.set_stone(session, find_workshop.the(session), TODAY, grinders=2)
    assert "each of the 2 grinders" in mia.get("/shop/opening/week").text
    set_up(mia)
    rows = desk.read(find_days.between, date(2027, 2, 1), date(2027, 2, 5))
    assert {(row.minutes, row.minutes_in_all) for row in rows} == {((240, 240), 480)}
    look = mia.send(mia.get("/shop/opening/week"), **week(minutes_4="240, 60"))
    assert "240, 60" in look.text
    page = mia.send(look, sure="yes")
    assert "240, 60" in page.text
    rows = desk.read(find_days.between, date(2027, 2, 1), date(2027, 2, 5))
    assert [row.minutes_in_all for row in rows] == [480, 480, 480, 480, 300]
    nothing_is_oversold(desk)


def test_people_read_the_hours_where_they_need_them(mia: Visitor, visitor: Visitor, desk: Any) -> None:
    assert "Opening hours" not in visitor.get("/").text
    set_up(mia, hours_5="10-13")
    given = {"reason": "Winter <holiday>", "first": "2026-12-24", "last": "2026-12-26"}
    mia.send(mia.send(mia.get("/shop/opening/special"), **given), sure="yes")
    home = visitor.get("/").text
    assert "Monday to Friday 14:00 to 18:00 Saturday 10:00 to 13:00 Sunday Closed" in home
    assert "Season: Mon 7 December 2026 to Sun 28 February 2027" in home
    assert "Thu 24 December 2026 to Sat 26 December 2026 Closed: Winter <holiday>" in home
    line = "Open: Monday to Friday 14:00 to 18:00; Saturday 10:00 to 13:00"
    booked = desk.ground()
    with desk.database.read() as session:
        bodies = session.scalars(
            select(OutboxLetter.body).where(OutboxLetter.recipient == "alice@example.test")
        ).all()
    assert bodies
    assert all(body.endswith(f"{line}\n") for body in bodies)
    paper = visitor.as_(desk.cast.alice).raw("GET", f"/my/pairs/{booked.pair_id}/history.pdf").data
    assert line in text_of(paper)


def test_the_hand_in_choice_shows_the_hours_of_each_day(mia: Visitor, visitor: Visitor, desk: Any) -> None:
    set_up(mia, hours_5="10-13")
    alice = visitor.as_(desk.cast.alice)
    alice.send(alice.get("/my/book"), pairs=[str(desk.cast.pair_id)])
    work = alice.get(f"/my/book/pairs/{desk.cast.pair_id}")
    structure = next(
        element.get("value") for element in work.all("input") if element.get("name") == "structure"
    )
    page = alice.send(work, structure=structure)
    assert page.h1 == "Which day do you hand them in?"
    assert "Sat 12 December 2026 10:00 to 13:00" in page.text
    assert "Mon 14 December 2026 14:00 to 18:00" in page.text
    assert "Sun 13 December 2026" not in page.text


def test_a_day_that_is_ready_before_a_closed_door_says_when_to_collect(
    mia: Visitor, visitor: Visitor, desk: Any
) -> None:
    set_up(mia, hours_4="", hours_5="10-13")
    alice = visitor.as_(desk.cast.alice)
    booked = desk.confirmed()
    page = alice.get(f"/my/bookings/{booked.id}/move?all=1")
    assert "Collect from Sat 12 December 2026: nobody is there before" in page.text or (
        "Collect from Sat 19 December 2026: nobody is there before" in page.text
    )
    assert "Collect from Thu" not in page.text


def test_a_day_that_is_closed_by_hand_names_who_comes_on_it(mia: Visitor, desk: Any) -> None:
    # Without hours the door is open when the stone runs, so both close together.
    booked = desk.confirmed()
    page = mia.send(mia.get("/shop/days/2026-12-08"), close="yes")
    assert page.errors == ["People come on Tue 8 December 2026. Move the bookings listed below first"]
    assert f"/shop/bookings/{booked.id}" in page.links
    assert minutes(desk)[date(2026, 12, 8)] == 240
    # With hours only the stone stands still.
    set_up(mia)
    mia.send(mia.get("/shop/days/2026-12-08"), close="yes")
    assert minutes(desk)[date(2026, 12, 8)] == 0
    assert date(2026, 12, 8) in desk.read(places.days, None, NOW)


def test_a_club_sees_the_hours_of_the_days_it_can_choose(mia: Visitor, visitor: Visitor, desk: Any) -> None:
    set_up(mia, hours_5="10-13")
    page = visitor.as_(desk.cast.cora).get(f"/club/{desk.cast.club_id}/order")
    assert "Sat 12 December 2026, 10:00 to 13:00" in page.text
