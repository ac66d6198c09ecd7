"""Handing a pair over on the pages, and that whoever gets it meets nothing of whoever had it."""

from __future__ import annotations

import re
from datetime import timedelta
from io import BytesIO

import pytest
from pypdf import PdfReader
from sqlalchemy import select

from portal.db.outbox import OutboxLetter
from portal.db.pairs import Pair
from portal.domain.tags import grouped, tag_of
from portal.queries import arrivals as find_arrivals
from portal.queries import grinds as find_grinds
from portal.services import disputes, grinds, handovers, pairs, reworks
from portal.services.pairs import PairFacts
from tests import make, photo_files
from tests.cast import Cast
from tests.documents.reading import text_of
from tests.page import Page, Visitor
from tests.web.shop.conftest import Booked, Desk, desk
from tests.web.shop.test_photos import in_, send

__all__ = ["desk"]
CODE = "23456789AC"


def code_on(page: Page) -> str:
    found = re.search(r"\b[2-9A-Z]{5} [2-9A-Z]{5}\b", page.text)
    assert found is not None, page.text
    return found[0]


def test_an_owner_makes_a_code_and_whoever_has_it_looks_and_takes_the_pair(
    visitor: Visitor, cast: Cast, desk: Desk
) -> None:
    alice, carl = visitor.as_(cast.alice), visitor.as_(cast.carl)
    path = f"/my/pairs/{cast.pair_id}"
    assert f"{path}/hand-over" in alice.get(path).links
    asked = alice.get(f"{path}/hand-over")
    assert alice.send(asked, email="nobody").errors == ["Enter an e-mail address such as name@example.org"]
    first = code_on(alice.send(asked))
    page = alice.send(asked, email="carl@rillbook.org")
    code = code_on(page)
    assert "A letter with the link goes to carl@rillbook.org" in page.text
    assert code not in alice.get(f"{path}/hand-over").text  # It is shown once.
    for wrong in (first, "AAAAA AAAAA"):
        assert "No pairs wait under this code" in carl.send(carl.get("/my/pairs/claim"), code=wrong).errors[0]
    found = carl.send(carl.get(f"/my/pairs/claim?code={code.replace(' ', '')}"))
    assert "Fennmark Skarv 187 cm" in found.text
    assert "Not measured" in found.text
    assert "Alice" not in found.html
    page = carl.send(found, take="1")
    assert page.h1 == "Fennmark Skarv 187 cm"
    assert "The pair is yours now" in page.text
    for way in ("", "/edit", "/hand-over", "/history.pdf"):
        assert alice.raw("GET", path + way).status_code == 404
    mine = alice.get("/my/pairs")
    assert "Handed over (1) Fennmark Skarv 187 cm, on" in mine.text
    assert path not in mine.links


def test_a_stranger_another_skier_and_another_club_cannot_hand_a_pair_over(
    visitor: Visitor, cast: Cast
) -> None:
    paths = [
        f"/my/pairs/{cast.pair_id}/hand-over",
        f"/club/{cast.club_id}/pairs/{cast.club_pair_id}/hand-over",
    ]
    for path in paths:
        assert visitor.raw("GET", path).location.startswith("/sign-in")
        for who in (cast.carl, cast.dora):
            browser = visitor.as_(who)
            for way in (path, f"{path}/withdraw"):
                assert browser.post(way, status=404)
    cora = visitor.as_(cast.cora)
    page = cora.send(cora.get(paths[1]))
    assert "The code holds no more" in cora.send(page, "withdraw").text


@pytest.fixture
def known(visitor: Visitor, cast: Cast, desk: Desk) -> Booked:
    """A pair of Alice's of which much was said and pictured; it was ground, looked at again, and is back."""
    tina = visitor.as_(cast.tina)
    booked = desk.confirmed()
    send(tina, in_(booked), ("left.jpg", photo_files.jpeg()), remarks="Remarks on Alice", brought_by="Uncle")
    desk.on_stone(booked)
    with desk.database.write.begin() as session:
        facts = grinds.GrindFacts(
            make.structure(session).id, make.TODAY, "Tina", (1200, 1190, 1180), (1150, 1140, 1130)
        )
        grind_id = grinds.record(session, cast.tina, booked.item_id, facts, make.NOW).id
        grinds.hand_back(session, cast.tina, booked.item_id, make.NOW)
        pair = session.get_one(Pair, booked.pair_id)
        told = PairFacts("Fennmark", pair.discipline, "Sold", notes="Notes of a secret")
        pairs.edit(session, cast.alice, pair.id, told)
        asked = reworks.ask(session, cast.alice, grind_id, "Words of a complaint", make.TODAY, make.NOW)
        session.flush()
        reworks.refuse(session, cast.tina, asked.id, "Answer to a complaint", make.NOW)
    return booked


SECRETS = ("Alice", "alice@", "Notes of", "complaint", "Remarks on", "Uncle")


def test_whoever_has_a_pair_now_meets_nothing_of_whoever_had_it(
    visitor: Visitor, cast: Cast, desk: Desk, known: Booked
) -> None:
    (photo,) = desk.read(find_arrivals.check_in_of, known.item_id).photos
    alice, carl = visitor.as_(cast.alice), visitor.as_(cast.carl)
    path, picture = f"/my/pairs/{known.pair_id}", f"/my/photos/{photo.id}.webp"
    before = alice.get(path)
    for words in ("Notes of", "complaint", "Remarks on", "Uncle"):
        assert words in before.text, "there is something to hide"
    assert picture in before.links
    with desk.database.write.begin() as session:
        handovers.offer(session, cast.alice, known.pair_id, CODE, make.NOW)
        handovers.take(session, cast.carl, CODE, make.NOW + timedelta(days=1))
    grind = desk.read(find_grinds.of_pair, known.pair_id)[0]
    pages = [
        path,
        "/my/pairs",
        f"{path}/edit",
        "/my/bookings",
        "/my/book",
        "/my/glide-notes/new",
        "/my/today",
        f"/tag/{tag_of(known.pair_id)}",
    ]
    for one in pages:
        html = carl.get(one).html
        for secret in (*SECRETS, known.reference):
            assert secret not in html, f"{secret} on {one}"
    page = carl.get(path)
    assert "Fennmark Sold" in page.text
    assert "1.15 / 1.14 / 1.13" in page.text  # What was ground and measured goes along.
    assert "How it came in" in page.text
    assert carl.raw("GET", picture).status_code == 404
    asked = carl.raw("GET", f"{path}/grinds/{grind.id}/wrong").get_data(as_text=True)
    words = ""
    for one in (f"{path}/history.pdf", "/my/pairs/histories.pdf"):
        paper = PdfReader(BytesIO(carl.raw("GET", one).data))
        words += " ".join(page.extract_text() for page in paper.pages) + str(paper.metadata)
    for secret in (*SECRETS, known.reference):
        assert secret not in words
        assert secret not in asked
    assert "Carl" in words
    # What is hers stays: the booking, without a way to the pair; and the workshop sees everything.
    order = alice.get(f"/my/bookings/{known.id}")
    assert "Fennmark Sold" in order.text
    assert path not in order.links
    tina = visitor.as_(cast.tina)
    shown = tina.get(f"/shop/pair/{known.pair_id}")
    assert "Who had it before Alice, until" in shown.text
    assert "Answer to a complaint" in shown.text
    assert tina.raw("GET", f"/shop/photos/{photo.id}.webp").status_code == 200
    carl.get(f"/my/bookings/{known.id}", status=404)


def test_a_dispute_is_frozen_at_the_counter_and_settled_by_the_manager(
    visitor: Visitor, cast: Cast, desk: Desk
) -> None:
    alice, tina, mia = (visitor.as_(one) for one in (cast.alice, cast.tina, cast.mia))
    with desk.database.write.begin() as session:
        handovers.offer(session, cast.alice, cast.pair_id, CODE, make.NOW)
        handovers.take(session, cast.carl, CODE, make.NOW)
    path = f"/shop/pair/{cast.pair_id}"
    assert tina.send(tina.get(f"{path}/freeze"), reason=" ").errors == [
        "Write who says what, for your colleagues"
    ]
    page = tina.send(tina.get(f"{path}/freeze"), reason="Alice called: not she")
    assert "Give the skis to nobody until that is settled" in page.text
    assert "Alice called: not she" in page.text
    assert f"{path}/settle" not in page.links
    assert tina.raw("GET", f"{path}/settle").status_code == 403
    again = tina.post(f"{path}/freeze", {"reason": "Words to keep"}, status=409)
    assert "Words to keep" in again.text
    mine = visitor.as_(cast.carl).get(f"/my/pairs/{cast.pair_id}")
    assert "The workshop is clearing up whom this pair belongs to" in mine.text
    assert "desk@hollowmere.test" in mine.text
    assert "Alice" not in mine.html
    for way in ("edit", "hand-over", "archive"):
        assert f"/my/pairs/{cast.pair_id}/{way}" not in mine.html
    assert f"/my/book?pair={cast.pair_id}" not in mine.links
    # A paper would say whose it is, with a seal.
    assert "history.pdf" not in mine.html
    refused = visitor.as_(cast.carl).get(f"/my/pairs/{cast.pair_id}/history.pdf", status=409)
    assert "no paper of it is given out. Ask the workshop:" in refused.text
    assert "desk@hollowmere.test" in refused.text
    every = text_of(visitor.as_(cast.carl).raw("GET", "/my/pairs/histories.pdf").data)
    assert "1 pair is left out: the workshop is clearing up whom it belongs to." in every
    assert "Skarv" not in every
    settle = mia.get(f"{path}/settle")
    assert mia.send(settle).errors == ["Choose whose the pair is"]
    page = mia.send(settle, end="give_back")
    assert "The pair is back with whoever had it before" in page.text
    assert "Carl, until" in page.text
    assert "Frozen" not in page.text
    assert alice.get(f"/my/pairs/{cast.pair_id}").h1 == "Fennmark Skarv 187 cm"
    visitor.as_(cast.carl).get(f"/my/pairs/{cast.pair_id}", status=404)


def test_whoever_hands_a_frozen_pair_back_is_told(visitor: Visitor, cast: Cast, desk: Desk) -> None:
    booked = desk.ground()
    tina = visitor.as_(cast.tina)
    page = f"/shop/bookings/{booked.id}/hand-back"
    assert "Frozen" not in tina.get(page).text
    desk.do(disputes.freeze, cast.tina, booked.pair_id, "Two say it is theirs")
    assert "Frozen: give it to nobody until it is cleared up" in tina.get(page).text


def test_a_pair_of_nobody_is_not_frozen_and_one_that_is_gets_no_owner_until_it_is_settled(
    visitor: Visitor, cast: Cast, desk: Desk
) -> None:
    with desk.database.write.begin() as session:
        pair_id = make.pair(session).id
    path = f"/shop/pair/{pair_id}"
    mia = visitor.as_(cast.mia)
    links = mia.get(f"{path}?scanned=camera").links
    assert f"{path}/take-on" in links
    assert not {f"{path}/freeze", f"{path}/found"} & set(links)
    assert "Give it an owner first" in mia.post(f"{path}/freeze", {"reason": "Why"}, status=409).text
    with desk.database.write.begin() as session:
        session.get_one(Pair, pair_id).frozen_at = make.NOW
    assert f"{path}/take-on" not in mia.get(path).links
    asked = mia.get(f"{path}/take-on")
    assert "is clearing up whom" in mia.send(asked, email="alice@example.test").errors[0]
    settle = mia.get(f"{path}/settle")
    assert "It is nobody's, and whoever brings it in can take it on" in settle.text
    assert "The pair stays whose it is" in mia.send(settle, end="as_it_is").text
    assert "The pair is Alice's from now on" in mia.send(asked, email="alice@example.test").text


def test_a_found_pair_is_brought_in_by_its_tag(visitor: Visitor, cast: Cast, desk: Desk) -> None:
    with desk.database.write.begin() as session:
        pairs.edit(
            session,
            cast.alice,
            cast.pair_id,
            PairFacts("Fennmark", session.get_one(Pair, cast.pair_id).discipline, notes="Notes of a secret"),
        )
    seen = []
    for browser in (visitor, visitor.as_(cast.carl)):
        for number in (cast.pair_id, 999_999):
            page = browser.get(f"/tag/{tag_of(number)}")
            assert "Hand them in at the workshop" in page.text
            for words in ("Hollowmere Ski Grinding", "Mill Lane 4", "+00 555 0100", "desk@hollowmere.test"):
                assert words in page.text
            seen.append(page.text.replace(grouped(tag_of(number)), ""))
            assert not re.search("Alice|Fennmark|Notes of|booking", page.html.split("<main")[1])
    assert seen[0] == seen[1]
    assert seen[2] == seen[3]
    tina = visitor.as_(cast.tina)
    scanned = tina.send(tina.get("/shop/scan"), code=tag_of(cast.pair_id))
    assert f"/shop/pair/{cast.pair_id}/found" in scanned.links
    page = tina.send(tina.get(f"/shop/pair/{cast.pair_id}/found"))
    assert "A letter tells its owner" in page.text
    again = tina.post(f"/shop/pair/{cast.pair_id}/found", status=409)
    assert "told within the last day" in again.text
    with desk.database.read() as session:
        assert session.scalars(select(OutboxLetter.recipient)).all() == ["alice@example.test"]
    alice = visitor.as_(cast.alice)
    for address in (f"/my/pairs/{cast.pair_id}", "/my/pairs"):
        assert "Found, waits at the workshop" in alice.get(address).text
    assert "was found and waits at the workshop." in alice.get("/my/pairs").text
    alice.post(f"/shop/pair/{cast.pair_id}/found/given-back", status=404)
    told = tina.send(tina.get(f"/shop/pair/{cast.pair_id}"), "/given-back")
    assert "with its owner again" in told.text
    assert "Found, waits" not in alice.get(f"/my/pairs/{cast.pair_id}").text
    twice = tina.post(f"/shop/pair/{cast.pair_id}/found/given-back", status=409)
    assert "does not wait here" in twice.text
