"""A crate is unpacked with a scanner that types like a keyboard and waits for nobody, while the coach looks on."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest

from portal.db.engine import Database
from portal.domain.tags import tag_of
from portal.queries import bookings as find_bookings
from portal.queries import people as find_people
from portal.services import bookings
from portal.services.holds import day_at
from tests import make
from tests.browser.conftest import DESK, PHONE, Person
from tests.browser.test_camera import WITH_READER
from tests.cast import Cast


@pytest.fixture
def order(database: Database, cast: Cast) -> tuple[int, list[int], int]:
    """An order of Cora's for four pairs: its number, its pairs, and one pair that is not in it."""
    now = datetime.now(UTC)
    with database.write.begin() as session:
        today = day_at(make.find_workshop.the(session), now)
        cora = find_people.one(session, cast.cora.person_id)
        pairs = [
            make.pair(session, club_id=cast.club_id, junior_id=cast.junior_id, model=f"Crow {number}")
            for number in range(5)
        ]
        made = make.booking(
            session,
            cora,
            wanted=[make.wanted(session, pair) for pair in pairs[:4]],
            pair=object(),
            club_id=cast.club_id,
            hand_in=make.day_after(session, today, 1),
            ready=make.day_after(session, today, 6),
            today=today,
            now=now - timedelta(minutes=1),
        )
        bookings.confirm(session, cast.mia, made.id, now)
        return made.id, [pair.id for pair in pairs[:4]], pairs[4].id


@pytest.mark.parametrize("phone", [False, True])
def test_codes_that_come_faster_than_answers_are_all_taken(
    browse: Callable[..., Person], cast: Cast, order: tuple[int, list[int], int], phone: bool
) -> None:
    number, pairs, extra = order
    bench = browse(cast.tina, viewport=PHONE if phone else DESK, dark=phone)
    page = bench.go(f"/shop/crates/{number}")
    for pair_id in pairs[:3]:
        page.keyboard.type(tag_of(pair_id))
        page.keyboard.press("Enter")
    page.get_by_text("3 of 4 pairs are here.").wait_for()
    assert page.evaluate("document.activeElement.name") == "code"
    page.keyboard.type(tag_of(extra))
    page.keyboard.press("Enter")
    page.get_by_text("Extra: Junia: Fennmark Crow 4").wait_for()
    bench.look()
    # What has no tag is found by hand, and the field is ready for the next code.
    page.get_by_role("button", name="It is here").click()
    page.get_by_text("4 of 4 pairs are here.").wait_for()
    assert page.evaluate("document.activeElement.name") == "code"
    bench.follow("The crate is empty")
    bench.press("Close the crate and tell the club")
    assert "The crate is closed" in bench.words


def test_a_code_is_kept_while_the_network_is_away(
    browse: Callable[..., Person], cast: Cast, order: tuple[int, list[int], int]
) -> None:
    number, pairs, _extra = order
    page = browse(cast.tina).go(f"/shop/crates/{number}")
    page.context.set_offline(True)
    page.keyboard.type(tag_of(pairs[0]))
    page.keyboard.press("Enter")
    page.get_by_text("Not sent yet, and tried again by itself:").wait_for()
    page.context.set_offline(False)
    page.get_by_text("Found: Junia: Fennmark Crow 0").wait_for()


def test_without_scripts_the_field_comes_back_in_focus(
    browse: Callable[..., Person], cast: Cast, order: tuple[int, list[int], int]
) -> None:
    number, pairs, _extra = order
    page = browse(cast.tina, scripts=False).go(f"/shop/crates/{number}")
    for found, pair_id in enumerate(pairs, 1):
        page.keyboard.type(tag_of(pair_id))
        with page.expect_navigation():
            page.keyboard.press("Enter")
        page.get_by_text(f"{found} of 4.").wait_for()
        assert page.locator("input[name=code]:focus").count() == 1


def test_the_coach_sees_it_without_touching_the_page(
    browse: Callable[..., Person], cast: Cast, order: tuple[int, list[int], int], database: Database
) -> None:
    number, pairs, _extra = order
    bench, coach = browse(cast.tina), browse(cast.cora, viewport=PHONE)
    bench.go(f"/shop/crates/{number}")
    bench.page.keyboard.type(tag_of(pairs[0]))
    bench.page.keyboard.press("Enter")
    bench.page.get_by_text("1 of 4 pairs are here.").wait_for()
    page = coach.go(f"/club/{cast.club_id}/orders/{number}")
    assert "1 of 4 pairs are here." in coach.words
    page.get_by_label("Write a note").or_(page.locator("textarea")).first.fill("The last one comes tomorrow")
    bench.page.keyboard.type(tag_of(pairs[1]))
    bench.page.keyboard.press("Enter")
    page.get_by_text("2 of 4 pairs are here.").wait_for()
    assert page.locator("textarea").first.input_value() == "The last one comes tomorrow"
    coach.look()
    with database.read() as session:
        assert len(find_bookings.whole(session, number).items) == 4


def test_the_camera_opens_again_for_the_next_tag_and_leaves_the_last_one_alone(
    browse: Callable[..., Person], cast: Cast, order: tuple[int, list[int], int]
) -> None:
    number, pairs, _extra = order
    bench = browse(cast.tina, viewport=PHONE)
    bench.page.add_init_script(WITH_READER % tag_of(pairs[0]))
    page = bench.go(f"/shop/crates/{number}/camera")
    page.get_by_role("button", name="Open the camera").click()
    page.get_by_text("Found: Junia: Fennmark Crow 0").wait_for()
    page.get_by_text("Looking for a tag.").wait_for()
    # The same tag is still before the camera, and is seen again and again.
    page.wait_for_timeout(1500)
    assert "Already found" not in bench.words
    bench.look()
