"""After a day on snow: three taps on a phone without scripts, and what the workshop reads of it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

from portal.db.engine import Database
from portal.db.people import Person as Skier
from portal.services import grinds
from tests import make
from tests.browser.conftest import DESK, PHONE, Person
from tests.cast import Cast


def test_a_note_takes_three_taps_and_reaches_the_workshop_without_a_name(
    browse: Callable[..., Person], database: Database, cast: Cast
) -> None:
    with database.write.begin() as session:
        other = make.pair(session, session.get_one(Skier, cast.alice.person_id), model="Lom")
        day = datetime.now(UTC).date() - timedelta(days=20)
        for number, pair_id in enumerate((cast.pair_id, other.id)):
            structure = make.structure(session, number=4 * number)
            grinds.add(session, pair_id, grinds.GrindFacts(structure.id, day, "Tina"), make.NOW)
    alice = browse(cast.alice, viewport=PHONE, scripts=False)
    alice.go("/my/pairs")
    alice.follow("How did they run?")
    dry = "Dry: it hardly sticks together"
    alice.press(dry)
    assert alice.page.get_by_role("link", name="Choose the kind of snow").is_visible()
    for answer in ("−6", "Settled fine snow"):
        alice.page.get_by_label(answer, exact=True).check()
    # The last answer leads on, and of two pairs there is nothing to choose.
    alice.press(dry)
    alice.page.get_by_text("By timed runs instead").click()
    first, second = (
        alice.page.get_by_label(name) for name in alice.page.locator("label[for^=times_]").all_inner_texts()
    )
    first.fill("12,41 12,52 12,38")
    second.fill("12.60 12.74")
    alice.press("Keep it with the times")
    assert first.input_value() == "12,41 12,52 12,38"
    second.fill("12.60 12.74 12.61")
    alice.press("Keep it with the times")
    assert alice.page.get_by_text("Speed +1.7 %").first.is_visible()
    # One more of the same day: two taps, and kept though it does not count.
    alice.follow("How did they run?")
    alice.press("The same")
    assert alice.page.get_by_text("Kept, but not counted, because the same two pairs").first.is_visible()
    tina = browse(cast.tina, viewport=DESK, dark=True)
    tina.go("/shop/found-on-snow")
    tina.page.locator("main table a").first.click()
    tina.look()
    tina.page.locator("main table a").first.click()
    tina.look()
    assert tina.page.get_by_text("Skier 1").first.is_visible()
    assert not tina.page.get_by_text("Alice").count()
