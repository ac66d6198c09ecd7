"""A coach who has never seen the portal goes from a spreadsheet of forty juniors to a confirmed order with tags.

Ten minutes are enough: the browser's own time is measured, and the acts are counted, with a quarter of a minute for each to read
and decide, which is common practice in estimating such walks and generous for most of these pages.
"""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

from openpyxl import Workbook
from pypdf import PdfReader
from sqlalchemy import func, select

from portal.db.bookings import Booking
from portal.db.clubs import Junior
from portal.db.engine import Database
from portal.db.outbox import OutboxLetter
from portal.domain.bookings import Status
from portal.queries import bookings as find_bookings
from portal.queries import days as find_days
from tests.browser.conftest import DESK, PHONE, Person
from tests.cast import Cast

MINUTES, SECONDS_AN_ACT = 10, 15
MANY = 40


def spreadsheet(path: Path) -> Path:
    """As a club keeps it: a title over everything, German headings, lengths of three kinds, one row that cannot be used."""
    book = Workbook()
    sheet = book.active
    sheet.title = "Kinder"
    sheet.append(["Alder Valley, Kinder und Jugend, Winter 2026/27"])
    sheet.merge_cells("A1:G1")
    sheet.append([])
    sheet.append(["Nachname", "Vorname", "Geburtsdatum", "Klassisch", "Länge", "Skating", "Länge"])
    for number in range(MANY):
        length: Any = [170 + number % 20, f"{170 + number % 20} cm", f"1,{70 + number % 20}"][number % 3]
        classic = ["Fennmark Lom", length, None, None]
        skate = [None, None, "Tundraline Vind", length]
        pair = skate if number % 2 else classic
        sheet.append(
            [f"Öster{number:02}", f"Kind{number:02}", f"0{1 + number % 9}.05.201{number % 6}", *pair]
        )
    sheet.append(["Ohne", "Jahr", "U12", "Fennmark", 150, None, None])
    book.save(path)
    return path


class Acts:
    """Counts what the coach does: each button and link, each choice and each file."""

    def __init__(self, person: Person) -> None:
        self.person, self.count = person, 0

    def press(self, name: str) -> None:
        self.count += 1
        self.person.press(name)

    def follow(self, name: str) -> None:
        self.count += 1
        self.person.follow(name)

    def choose(self, selector: str, index: int) -> None:
        self.count += 1
        self.person.page.locator(selector).select_option(index=index)


def paper(coach: Person, link: str) -> PdfReader:
    """The paper that a link of the page opens."""
    address = coach.page.get_by_role("link", name=link).get_attribute("href")
    answer = coach.context.request.get(f"{coach.site}{address}")
    assert answer.headers["content-type"] == "application/pdf"
    return PdfReader(BytesIO(answer.body()))


def test_from_a_spreadsheet_of_forty_juniors_to_a_confirmed_order_with_tags(
    browse: Callable[..., Person],
    database: Database,
    cast: Cast,
    tmp_path: Path,
    scripts: bool,
) -> None:
    file = spreadsheet(tmp_path / "kinder.xlsx")
    coach = browse(cast.cora, viewport=PHONE if scripts else DESK, scripts=scripts)
    acts, begun = Acts(coach), time.monotonic()
    page = coach.go("/")
    acts.follow("Alder Valley Ski Club")
    acts.follow("Load a list of juniors")
    page.set_input_files("input[type=file]", file)
    acts.count += 1
    acts.press("Read the file")
    assert "Kind03" in coach.words
    acts.press("Go on to the columns")
    page.get_by_label("First name and one letter: Anna B.").check()
    acts.count += 1
    acts.press("Look at the rows")
    assert "Something new: 40" in coach.words
    assert "“U12” is no birth year" in coach.words
    acts.press("Load 40 rows")
    assert "40 more juniors and 40 more pairs" in page.content()
    acts.follow("Alder Valley Ski Club")
    assert "Kind07 Ö." in coach.words
    acts.follow("Order a grind")
    acts.follow("Tick every pair")
    for name in ("all_classic", "all_skate"):
        acts.choose(f"select[name={name}]", 1)
    acts.choose("select[name=hand_in]", 1)
    acts.press("See the days and the price")
    # 41 pairs, with the one that was there.
    assert "41 pairs" in coach.words
    page.locator("main input[type=radio]").last.check()
    acts.count += 1
    coach.post()
    acts.count += 1
    acts.press("Send the order")
    found = re.search(r"\b[A-Z0-9]{3}-[A-Z0-9]{4}\b", coach.words)
    assert found

    with database.read() as session:
        order = session.scalars(select(Booking).where(Booking.reference == found[0])).one()
        order_id = order.id
        assert session.scalar(select(func.count()).select_from(Junior)) == MANY + 1
        assert not find_days.drift(session)
    shop = browse(cast.mia)
    shop.go(f"/shop/bookings/{order_id}")
    shop.page.get_by_role("button", name=re.compile("^Confirm")).first.click()
    shop.look()

    coach.go(f"/club/{cast.club_id}/orders/{order_id}")
    assert "Confirmed" in coach.words
    for link, expected in (
        ("Packing list (PDF)", "Kind39 Ö."),
        ("Tags to cut out (PDF)", "Tundraline Vind 189 cm"),
    ):
        acts.count += 1
        text = "\n".join(sheet.extract_text() for sheet in paper(coach, link).pages)
        assert expected in text
        # No more of a child on paper than the name on the roster.
        assert "Öster" not in text
        assert "2013" not in text
    walked = time.monotonic() - begun
    assert walked + acts.count * SECONDS_AN_ACT < MINUTES * 60, f"{acts.count} acts, {walked:.0f} s"

    with database.read() as session:
        order = find_bookings.whole(session, order_id)
        assert order.status is Status.CONFIRMED
        assert len(order.items) == MANY + 1
        # One letter that the order came in and one that it is confirmed; to the workshop, one.
        to_coach = session.scalars(
            select(OutboxLetter).where(OutboxLetter.recipient == "cora@example.test")
        ).all()
        assert len(to_coach) == 2
