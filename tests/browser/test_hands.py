"""A pair changes hands, is found by a stranger and disputed; and its papers are held against the record."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from secrets import token_urlsafe

import zxingcpp
from pypdfium2 import PdfDocument
from sqlalchemy import select

from portal.db.engine import Database
from portal.db.outbox import OutboxLetter
from portal.domain.tags import tag_of
from portal.services import grinds, season_letters
from tests import make
from tests.browser.conftest import DESK, PHONE, Person
from tests.cast import Cast


def test_a_pair_goes_to_somebody_else_and_takes_its_history_along(
    browse: Callable[..., Person], database: Database, cast: Cast, scripts: bool
) -> None:
    with database.write.begin() as session:
        facts = grinds.GrindFacts(make.structure(session).id, make.TODAY, "Tina")
        grinds.add(session, cast.pair_id, facts, make.NOW)
    alice = browse(cast.alice, viewport=PHONE, scripts=scripts)
    alice.go(f"/my/pairs/{cast.pair_id}")
    with alice.page.expect_download() as waited:
        alice.page.get_by_role("link", name="Download the history (PDF)").click()
    square = seal_on(waited.value.path().read_bytes())
    alice.follow("Hand this pair over")
    alice.press("Make a code")
    code = alice.page.locator(".code-shown").inner_text()

    carl = browse(cast.carl, viewport=DESK, scripts=scripts, dark=True)
    carl.go("/my/pairs/claim")
    carl.page.get_by_role("textbox").fill("KKKKK KKKKK")
    carl.post()
    assert "Error" in carl.page.title()
    carl.page.get_by_role("textbox").fill(code.lower())
    carl.post()
    assert "Alice" not in carl.words
    carl.press("Take this pair")
    carl.go(f"/my/pairs/{cast.pair_id}")
    assert "Alice" not in carl.words
    alice.page.goto(alice.site + f"/my/pairs/{cast.pair_id}")
    assert alice.heading == "Nothing here"

    stranger = browse(viewport=PHONE, scripts=scripts)
    stranger.go(f"/tag/{tag_of(cast.pair_id)}")
    assert "Hand them in at the workshop" in stranger.words
    # The square on the paper leads to what it is held against, whoever has the skis by now.
    stranger.go(square.removeprefix("http://127.0.0.1"))
    assert tag_of(cast.pair_id)[:3] in stranger.words
    assert "Carl" not in stranger.words
    assert "Alice" not in stranger.words

    tina = browse(cast.tina, viewport=DESK, scripts=scripts)
    tina.go(f"/shop/pair/{cast.pair_id}")
    tina.follow("Freeze it: whose it is has to be cleared up")
    tina.page.get_by_role("textbox").first.fill("Somebody says they were stolen.")
    tina.post()
    carl.go(f"/my/pairs/{cast.pair_id}")
    assert "The workshop is clearing up whom this pair belongs to" in carl.words
    assert "stolen" not in carl.words


def seal_on(paper: bytes) -> str:
    """Where the square on the first page of a paper leads, as a phone reads it."""
    document = PdfDocument(paper)
    picture = document[0].render(scale=3).to_pil()
    document.close()
    (found,) = [code.text for code in zxingcpp.read_barcodes(picture) if "/paper/" in code.text]
    return str(found)


def test_the_season_letter_is_agreed_to_written_once_and_stopped_with_one_press(
    browse: Callable[..., Person], database: Database, cast: Cast, scripts: bool
) -> None:
    alice = browse(cast.alice, viewport=PHONE, scripts=scripts)
    alice.go("/account/season-letter")
    alice.page.locator("main input[type=checkbox]").check()
    alice.post()
    mia = browse(cast.mia, viewport=DESK, scripts=scripts)
    mia.go("/shop/season-letter")
    assert "Alice" in mia.words
    mia.follow("Send it")
    mia.post()
    with database.write.begin() as session:
        season_letters.write_some(session, datetime.now(UTC), lambda: token_urlsafe(32))
    with database.read() as session:
        letters = session.scalars(
            select(OutboxLetter).where(OutboxLetter.recipient == cast.alice.email)
        ).all()
    (stop,) = {letter.stop_page for letter in letters if letter.stop_page}
    stranger = browse(viewport=PHONE, scripts=scripts)
    stranger.go(stop.removeprefix("{site}"))
    stranger.press("Stop it")
    assert stranger.heading == "The season letter is stopped"
    mia.go("/shop/season-letter")
    assert "Nobody who agreed has a pair" in mia.words
