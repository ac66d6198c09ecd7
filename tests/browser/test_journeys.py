"""The three journeys of the main job, in a real browser over a real server, with letters over real SMTP."""

from __future__ import annotations

import re
from collections.abc import Callable
from io import BytesIO
from typing import Any

import icalendar
from pypdf import PdfReader
from sqlalchemy import select

from portal.db.bookings import Booking
from portal.db.days import WorkDay
from portal.db.engine import Database
from portal.db.grinds import Grind
from portal.domain.bookings import Status
from portal.queries import days as find_days
from tests import make, photo_files
from tests.browser.at_the_bench import onto_the_stone
from tests.browser.conftest import DESK, PHONE, Person, saved
from tests.browser.post import post_office
from tests.cast import Cast

Browse = Callable[..., Person]
PASSWORD = "larches over quiet water"
WINTER = ("-15", "-6", "1")


def answer_the_snow_questions(someone: Person) -> None:
    """Walk the questions to the check page, whatever they are and however many."""
    for _ in range(30):
        if someone.page.url.endswith("/check"):
            return
        page = someone.page
        for box, value in zip(page.locator("main input[type=text]").all(), WINTER, strict=False):
            box.fill(value)
        groups = page.locator("main input[type=radio]").evaluate_all(
            "all => [...new Set(all.map(one => one.name))]"
        )
        for number, name in enumerate(groups):
            choices = page.locator(f"main input[type=radio][name='{name}']")
            choices.nth(min(1 + number % 3, choices.count() - 1)).check()
        boxes = page.locator("main input[type=checkbox]")
        if boxes.count() and not groups and not page.locator("main input[type=text]").count():
            boxes.first.check()
        someone.post()
    raise AssertionError(f"the questions do not end: {someone.page.url}")


def test_a_skier_comes_with_a_question_and_leaves_with_a_history(
    browse: Browse, database: Database, database_url: str, site: str, cast: Cast, scripts: bool
) -> None:
    skier = browse(scripts=scripts, viewport=DESK if scripts else PHONE, dark=not scripts)
    email = "nils@example.test"
    with post_office(database_url, site) as office:
        # Without an account: the questions, a look back, and the advice.
        skier.go("/")
        skier.follow("Answer the snow questions")
        skier.press("Start")
        answer_the_snow_questions(skier)
        skier.page.get_by_role("link", name="Change").first.click()
        skier.look()
        skier.post()
        assert skier.page.url.endswith("/check"), "Change comes back to the check page"
        skier.press("Show the advice")
        assert re.search(r"suits \d+ of 100", skier.heading)
        advice = skier.page.url
        # Sign up, first wrongly: what was entered is kept.
        skier.follow("Sign up and book")
        fill_sign_up(skier, "Nils Ødegård", "nils at example", PASSWORD)
        skier.post()
        assert skier.page.title().startswith("Error: ")
        assert skier.page.get_by_label("Your name", exact=True).input_value() == "Nils Ødegård"
        fill_sign_up(skier, "Nils Ødegård", email, PASSWORD)
        skier.post()
        skier.go(office.link_to(email))
        skier.page.get_by_label("The password you chose").fill(PASSWORD)
        skier.press("Yes, this address is mine")
        # The answers have waited.
        skier.go(advice.removeprefix(site))
        assert re.search(r"suits \d+ of 100", skier.heading)
        # Register a pair and book.
        skier.go("/my/pairs/new")
        skier.page.get_by_label("Maker", exact=True).fill("Fennmark")
        skier.page.get_by_label("Skate", exact=True).check()
        skier.page.locator("input[name=purpose]").first.check()
        skier.page.locator("[name=length]").fill("192 cm")
        skier.post()
        skier.go("/my/book")
        reference = book(skier)
        assert office.last_to(email)["Subject"] == f"We have your request {reference}"

        # The workshop offers another day, the skier takes it.
        with database.read() as session:
            booking_id = session.scalars(select(Booking.id).where(Booking.reference == reference)).one()
        shop = browse(cast.mia)
        shop.go("/shop/requests")
        shop.follow(reference)
        shop.follow("Offer something else")
        shop.page.locator("input[name=ready]:not(:checked)").last.check()
        shop.page.get_by_label("The day, in your own words").fill("The stone is away for two days.")
        shop.post()
        assert office.last_to(email)["Subject"] == f"We have a counter-offer for {reference}"
        skier.go(f"/my/bookings/{booking_id}")
        assert "The stone is away for two days." in skier.words
        skier.press("Accept the offer")
        assert "Confirmed" in skier.words
        letter = office.last_to(email)
        calendar = next(
            part for part in letter.iter_attachments() if part.get_content_type() == "text/calendar"
        )
        event = icalendar.Calendar.from_ical(calendar.get_content()).walk("VEVENT")[0]
        with database.read() as session:
            assert event["DTSTART"].dt == session.get_one(Booking, booking_id).ready_on

        # The bench: in, a slip of the finger, ground, back.
        bench = browse(cast.tina, viewport={"width": 820, "height": 1180})
        bench.go(f"/shop/bookings/{booking_id}")
        bench.page.get_by_role("link", name="Check in").first.click()
        bench.look()
        bench.press("Check in")
        assert bench.page.title().startswith("Error: ")
        bench.page.get_by_label("Yes, they are a pair").check()
        for place, um in (("tip", "1010"), ("middle", "980"), ("tail", "1000")):
            bench.page.locator(f"[name=base_{place}]").fill(um)
        bench.page.locator("[name=scratch_left]").check()
        bench.page.locator("[name=photos]").set_input_files(
            files=[{"name": "base.jpg", "mimeType": "image/jpeg", "buffer": photo_files.jpeg()}]
        )
        bench.press("Check in")
        onto_the_stone(bench)
        bench.go(f"/shop/bookings/{booking_id}")
        bench.page.get_by_role("link", name=re.compile("Record")).first.click()
        bench.look()
        # What was measured at check-in stands there already.
        for place, before, after in (
            ("tip", "1010", "970"),
            ("middle", "980", "1945"),
            ("tail", "1000", "962"),
        ):
            assert bench.page.locator(f"[name=before_{place}]").input_value() == before
            bench.page.locator(f"[name=after_{place}]").fill(after)
        bench.press("Record the grind")
        assert bench.page.title().startswith("Error: ")
        assert bench.page.locator("[name=before_tip]").input_value() == "1010"
        bench.page.locator("[name=after_middle]").fill("947")
        bench.press("Record the grind")
        assert office.last_to(email)["Subject"] == f"Your skis are ready: {reference}"
        skier.go("/my/pairs")
        assert "is ready to be collected" in skier.words
        bench.go(f"/shop/bookings/{booking_id}")
        bench.page.get_by_role("link", name="Hand back").first.click()
        bench.look()
        bench.page.get_by_label("Who takes the skis?").fill("Nils Ødegård")
        bench.press("Hand back")
        bench.look()
        with database.read() as session:
            assert session.get_one(Booking, booking_id).status is Status.COMPLETED
            assert session.scalars(select(Grind.after_middle_um)).one() == 947

        # My skis: what the pair covers, and whether it is one for today.
        skier.go("/my/pairs")
        assert re.search(r"This pair suits \d+ of 100 of all your days", skier.words)
        skier.page.get_by_label("Air temperature", exact=True).fill("-6")
        skier.press("Rank my pairs")
        assert "Choose the kind of snow" in skier.words
        assert skier.page.get_by_label("Air temperature", exact=True).input_value() == "-6"
        # The history, on the page and on paper.
        skier.go("/my/pairs")
        skier.page.get_by_role("link", name=re.compile("Fennmark")).first.click()
        skier.look()
        assert "0.95" in skier.words
        assert re.search(r"In 80 of 100 cases it is between \d+ and \d+", skier.words)
        assert "Scratches, left ski" in skier.words
        photo = skier.page.locator(".photos img")
        photo.scroll_into_view_if_needed()
        assert photo.evaluate("image => image.decode().then(() => image.naturalWidth)") == 400
        with saved(skier, "Download the history (PDF)") as path:
            pages = PdfReader(BytesIO(path.read_bytes())).pages
            words = " ".join(page.extract_text() for page in pages)
        assert "Nils Ødegård" in words
        assert "0.947" in words or "0.95" in words
        assert not skier.complaints


def fill_sign_up(someone: Person, name: str, email: str, password: str) -> None:
    someone.page.get_by_label("Your name", exact=True).fill(name)
    someone.page.get_by_label("E-mail address").fill(email)
    someone.page.get_by_label("Password", exact=True).fill(password)


def book(skier: Person, structure: str = "") -> str:
    """From the choice of pairs to the sent request, with the ``structure`` of that key or the first; gives its reference."""
    for _ in range(12):
        page = skier.page
        send = page.get_by_role("button", name="Send the request")
        if send.count():
            send.click()
            skier.look()
            found = re.search(r"\b[A-Z0-9]{3}-[A-Z0-9]{4}\b", skier.words)
            assert found, skier.words
            return found[0]
        boxes = page.locator("main input[name=pairs]")
        if boxes.count():
            boxes.first.check()
        chosen = page.locator(f"main input[type=radio][name=structure][value='{structure}']")
        if chosen.count():
            chosen.check()
        for name in ("structure", "day"):
            choices = page.locator(f"main input[type=radio][name={name}]")
            if choices.count() and not page.locator(f"main input[type=radio][name={name}]:checked").count():
                choices.first.check()
        skier.post()
    raise AssertionError(f"the way to a booking does not end: {skier.page.url}")


def test_a_club_manager_orders_for_several_juniors_at_once(
    browse: Browse, database: Database, cast: Cast, scripts: bool
) -> None:
    coach = browse(cast.cora, scripts=scripts, viewport=PHONE if scripts else DESK)
    club = f"/club/{cast.club_id}"
    coach.go(club)
    for number, name in enumerate(("Liv", "Ruben", "Αλέξης", "Ира", "Mio")):
        coach.go(f"{club}/juniors/add")
        coach.page.get_by_label("Name on the roster").fill(name)
        coach.page.get_by_label(re.compile("^Birth year")).fill("2013")
        coach.post()
        coach.go(club)
        coach.page.get_by_role("link", name=f"Add a pair for {name}").click()
        coach.look()
        coach.page.get_by_label("Maker", exact=True).fill(f"Skarlund {number}")
        coach.page.get_by_label("Skate", exact=True).check()
        coach.page.locator("input[name=purpose]").first.check()
        coach.post()
    coach.go(f"{club}/order")
    coach.press("See the days and the price")
    assert coach.page.title().startswith("Error: "), "nothing is ticked yet"
    coach.follow("Tick every pair")
    coach.page.locator("select[name=all_skate]").select_option(index=1)
    coach.page.locator("select[name=hand_in]").select_option(index=1)
    coach.press("See the days and the price")
    assert "5 %" in coach.words, "six pairs reach the first tier"
    coach.page.locator("main input[type=radio]").last.check()
    coach.post()
    coach.press("Send the order")
    found = re.search(r"\b[A-Z0-9]{3}-[A-Z0-9]{4}\b", coach.words)
    assert found
    with database.read() as session:
        order = session.scalars(select(Booking).where(Booking.reference == found[0])).one()
        order_id = order.id
        assert order.club_id == cast.club_id
        assert not find_days.drift(session)

    shop = browse(cast.mia)
    shop.go(f"/shop/bookings/{order_id}")
    assert "Alder Valley Ski Club" in shop.words
    shop.page.get_by_role("button", name=re.compile("^Confirm")).first.click()
    shop.look()
    coach.go(f"{club}/orders/{order_id}")
    assert "Confirmed" in coach.words
    assert coach.page.get_by_text("Αλέξης").first.is_visible()


def test_a_full_workshop_is_a_page_with_the_next_possible_day(
    browse: Browse, database: Database, cast: Cast
) -> None:
    skier = browse(cast.alice)
    skier.go("/my/book")
    for _ in range(12):
        if skier.page.get_by_role("button", name="Send the request").count():
            break
        for name in ("structure", "day"):
            choices = skier.page.locator(f"main input[type=radio][name={name}]")
            if (
                choices.count()
                and not skier.page.locator(f"main input[type=radio][name={name}]:checked").count()
            ):
                choices.first.check()
        skier.post()
    # Somebody else is quicker: the chosen day fills up while the check page is open.
    with database.write.begin() as session:
        rows = find_days.locked(session, *span(session))
        make.fill_days(session, rows[:4])
    skier.press("Send the request")
    assert re.search(r"20\d\d", skier.words)
    skier.page.locator("main form button[type=submit], main a.button").first.click()
    skier.look()
    for _ in range(4):
        if skier.page.get_by_role("button", name="Send the request").count():
            skier.press("Send the request")
            break
        skier.post()
    assert re.search(r"\b[A-Z0-9]{3}-[A-Z0-9]{4}\b", skier.words)


def span(session: Any) -> tuple[Any, Any]:
    """The first and last day of the ledger."""
    found = list(session.scalars(select(WorkDay.day).order_by(WorkDay.day)))
    return found[0], found[-1]
