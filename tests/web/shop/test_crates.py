"""A club's crate is unpacked: by a scanner, by hand, on a phone, and closed in the end."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from io import BytesIO
from typing import Any

import pytest
from flask import Flask

from portal.db.engine import Database
from portal.domain.tags import grouped, tag_of
from portal.queries import bookings as find_bookings
from portal.queries import people as find_people
from portal.services import bookings
from tests import make
from tests.cast import Cast
from tests.page import Page, Visitor
from tests.web.shop.test_camera import code as photo_of
from tests.web.test_many import watched


@dataclass(frozen=True)
class Order:
    """An order of Cora's club: its number, reference, pairs and one pair more that is not in it."""

    id: int
    reference: str
    pairs: tuple[int, ...]
    items: tuple[int, ...]
    extra: int

    @property
    def url(self) -> str:
        return f"/shop/crates/{self.id}"


@pytest.fixture
def ordered(database: Database, cast: Cast) -> Callable[..., Order]:
    def made(pairs: int = 3, *, confirmed: bool = True) -> Order:
        with database.write.begin() as session:
            cora = find_people.one(session, cast.cora.person_id)
            found = [
                make.pair(session, club_id=cast.club_id, junior_id=cast.junior_id, model=f"Crow {number}")
                for number in range(pairs + 1)
            ]
            wanted = [make.wanted(session, pair) for pair in found[:-1]]
            order = make.booking(
                session,
                cora,
                wanted=wanted,
                pair=object(),
                club_id=cast.club_id,
                ready=make.date(2026, 12, 18),
            )
            if confirmed:
                bookings.confirm(session, cast.mia, order.id, make.NOW)
            items = tuple(item.id for item in order.items)
            return Order(order.id, order.reference, tuple(one.id for one in found[:-1]), items, found[-1].id)

    return made


def scan(visitor: Visitor, page: Page, code: str) -> Page:
    return visitor.send(page, "/shop/crates/", code=code)


def test_one_code_after_another_is_told_with_how_many(tina: Visitor, ordered: Any) -> None:
    order = ordered()
    page = tina.get(order.url)
    assert "0 of 3 pairs are here" in page.text
    page = scan(tina, page, f"https://elsewhere.example/tag/{tag_of(order.pairs[1])}")
    assert "Found: Junia: Fennmark Crow 1 187 cm. 1 of 3." in page.text
    # It comes back with the field empty and in focus.
    (field,) = [one for one in page.all("input") if one.get("name") == "code"]
    assert (field.get("value"), field.get("autofocus")) == ("", "")
    page = scan(tina, page, tag_of(order.pairs[1]).lower())
    assert "Already found: Junia: Fennmark Crow 1 187 cm. 1 of 3." in page.text
    page = scan(tina, page, grouped(tag_of(order.pairs[0])))
    assert "2 of 3." in page.text
    # Opened again, the page tells the same and does nothing.
    assert tina.get(page.response.request.full_path).text == page.text


def test_what_is_not_of_the_order_is_said_and_noted(tina: Visitor, ordered: Any, desk: Any) -> None:
    order, other = ordered(), desk.confirmed()
    page = scan(tina, tina.get(order.url), tag_of(order.extra))
    assert "Extra: Junia: Fennmark Crow 3 187 cm is not in this order." in page.text
    page = scan(tina, page, tag_of(other.pair_id))
    assert f"belongs to booking {other.reference}" in page.text
    assert f"/shop/bookings/{other.id}" in page.links
    page = scan(tina, page, "nothing of ours")
    assert "No pair has the code “nothing of ours”." in page.text
    page = scan(tina, page, order.reference)
    assert "This is the list of this order." in page.text
    assert "0 of 3 pairs are here" in page.text
    assert scan(tina, page, "  ").errors == ["Scan a tag, or enter its code"]
    assert "No pair has the code" in scan(tina, page, "K" * 3000).text
    # What was noted by mistake is taken off the list again.
    page = tina.send(tina.get(order.url), "/forget")
    assert "Crow 3" not in page.text


def test_a_pair_without_a_tag_is_found_by_its_button(tina: Visitor, ordered: Any) -> None:
    order = ordered()
    page = tina.get(order.url)
    buttons = [one for one in page.all("button") if one.get("form") == "by-hand"]
    assert [one.get("value") for one in buttons] == [grouped(tag_of(number)) for number in order.pairs]
    page = scan(tina, page, buttons[2].get("value") or "")
    assert "Found: Junia: Fennmark Crow 2 187 cm" in page.text


def test_what_is_damaged_goes_to_the_check_in_and_comes_back(tina: Visitor, ordered: Any) -> None:
    order = ordered()
    found = scan(tina, tina.get(order.url), tag_of(order.pairs[0]))
    (way,) = [link for link in found.links if f"/pairs/{order.items[0]}/check-in/correct" in link][:1]
    page = tina.send(tina.get(way), dent_left="y", match="yes")
    assert page.response.request.path == order.url
    assert "Damaged" in page.text
    # A pair that is not scanned yet can go there at once.
    (way,) = [link for link in page.links if f"/pairs/{order.items[1]}/check-in?" in link]
    page = tina.send(tina.get(way), match="yes")
    assert page.response.request.path == order.url
    assert "2 of 3 pairs are here" in page.text


def test_pairs_that_no_code_tells_are_registered_or_kept_in_words(
    tina: Visitor, ordered: Any, cast: Cast
) -> None:
    order = ordered()
    page = tina.send(tina.get(f"{order.url}/register"), maker="")
    assert page.errors == [
        "Enter who made the skis",
        "Choose whether the skis are for classic or for skating",
    ]
    given = {"maker": "Fennmark", "model": "Stray", "discipline": "classic", "junior": str(cast.junior_id)}
    asked = tina.get(f"{order.url}/register")
    page = tina.send(asked, **given)
    assert tina.send(asked, **given).text == page.text, "sent again, the same pair is told"
    assert "Its tag is" in page.text
    assert "Fennmark Stray" in page.text
    page = tina.send(tina.get(f"{order.url}/unknown"), words="")
    assert page.errors == ["Write what can be seen of the pair"]
    page = tina.send(tina.get(f"{order.url}/unknown"), words="Red, <b>172</b>")
    assert "Red, <b>172</b>" in page.text


def test_the_crate_is_closed_once_and_says_what_is_missing(tina: Visitor, ordered: Any) -> None:
    order = ordered()
    assert tina.raw("GET", f"{order.url}/close").location == order.url, "nothing is open yet"
    page = scan(tina, tina.get(order.url), tag_of(order.pairs[0]))
    page = scan(tina, page, tag_of(order.extra))
    asked = tina.get(f"{order.url}/close")
    for words in ("1 of 3 pairs are here.", "Crow 1", "Crow 2", "Crow 3", "one letter"):
        assert words in asked.text, words
    assert "Crow 0" not in asked.text
    page = tina.send(asked)
    assert "The crate is closed, and the club is told by e-mail." in page.text
    assert "closed by Tina: 1 of 3 pairs were here." in page.text
    assert "The crate is empty" not in page.text
    # The same form sent again does nothing.
    assert "is told by e-mail" not in tina.send(asked).text
    # What was extra stays for a later decision, and a missing pair can still come.
    assert "Waits for a decision" in page.text
    assert "2 of 3." in scan(tina, page, tag_of(order.pairs[1])).text


def test_the_script_of_the_page_gets_its_parts(tina: Visitor, ordered: Any) -> None:
    order = ordered()

    def sent(code: str) -> Any:
        data = {"code": code, "csrf_token": tina.token()}
        return tina.raw("POST", order.url, data=data, headers={"Accept": "application/json"})

    answer = sent(tag_of(order.pairs[0]))
    assert "Found: Junia: Fennmark Crow 0" in answer.json["told"]
    assert "1 of 3 pairs are here" in answer.json["lists"]
    assert sent("").status_code == 422
    with_orders = sent(order.reference)
    assert "list of this order" in with_orders.json["told"]


def test_an_order_that_is_not_confirmed_is_not_unpacked(tina: Visitor, ordered: Any) -> None:
    order = ordered(confirmed=False)
    page = tina.get(order.url)
    assert "Only the crate of a confirmed order is unpacked." in page.text
    assert not [one for one in page.all("input") if one.get("name") == "code"]
    data = {"code": tag_of(order.pairs[0])}
    refused = tina.post(order.url, data, status=409)
    assert "Confirm the order first" in refused.text
    asked = {"Accept": "application/json"}
    answer = tina.raw("POST", order.url, data={**data, "csrf_token": tina.token()}, headers=asked)
    assert (answer.status_code, "Confirm the order first" in answer.json["told"]) == (409, True)


def test_only_orders_of_clubs_have_a_crate_and_only_for_the_workshop(
    visitor: Visitor, tina: Visitor, mia: Visitor, ordered: Any, desk: Any, cast: Cast
) -> None:
    order, own = ordered(), desk.confirmed()
    mia.get(order.url)
    for path in ("", "/close", "/register", "/unknown", "/camera"):
        tina.get(f"/shop/crates/{own.id}{path}", status=404)
        for who in (cast.cora, cast.dora, cast.alice):
            assert visitor.as_(who).raw("GET", f"{order.url}{path}").status_code == 404
    for query in (
        "was=found&pair=1",
        "was=found&item=999999&pair=1",
        "was=extra",
        "was=elsewhere&pair=999999",
    ):
        assert tina.raw("GET", f"{order.url}?{query}").status_code == 404, query
    assert tina.raw("GET", f"{order.url}?was=nonsense").status_code == 200


def test_a_crate_is_found_by_its_list_by_a_tag_and_from_the_day(
    tina: Visitor, ordered: Any, desk: Any
) -> None:
    order, own = ordered(), desk.confirmed()
    for code in (order.reference, f"https://hollowmere.example/order/{order.reference}"):
        page = tina.send(tina.get("/shop/scan"), code=code)
        assert page.response.request.path == order.url
    assert tina.send(tina.get("/shop/scan"), code=own.reference).h1 == f"Booking {own.reference}"
    assert order.url in tina.get(f"/shop/pair/{order.pairs[0]}?scanned=yes").links
    assert order.url in tina.get(f"/shop/bookings/{order.id}").links
    assert f"/shop/crates/{own.id}" not in tina.get(f"/shop/bookings/{own.id}").links
    day = tina.get("/shop/day/2026-12-08")
    assert order.url in day.links
    assert "Being unpacked" not in day.text
    scan(tina, tina.get(order.url), tag_of(order.pairs[0]))
    # Wherever the board is, nobody forgets to close it.
    assert "Being unpacked" in tina.get("/shop/day").text


def test_the_camera_of_a_phone_takes_one_tag_after_another(tina: Visitor, ordered: Any) -> None:
    order = ordered()
    page = tina.get(f"{order.url}/camera")
    assert "camera=(self)" in page.response.headers["Permissions-Policy"]
    code = tag_of(order.pairs[0])
    sent = {
        "photo": (BytesIO(photo_of(f"http://localhost/tag/{code}")), "tag.png"),
        "csrf_token": tina.token(),
    }
    answer = tina.raw("POST", f"{order.url}/camera", data=sent)
    page = tina.get(answer.location)
    assert page.h1 == "Scan with the camera"
    assert "Found: Junia: Fennmark Crow 0" in page.text
    assert f'data-last="{code}"' in page.html
    page = tina.send(page, code=tag_of(order.extra))
    assert "Extra: Junia" in page.text
    assert f'data-last="{tag_of(order.extra)}"' in page.html
    assert tina.send(page, code="nothing").errors


def test_sixty_pairs_take_no_more_statements_than_three(app: Flask, tina: Visitor, ordered: Any) -> None:
    def counted(order: Order) -> int:
        data = {"code": tag_of(order.pairs[1]), "csrf_token": tina.token()}
        scan(tina, tina.get(order.url), tag_of(order.pairs[0]))
        with watched(app) as seen:
            answer = tina.raw("POST", order.url, data=data, headers={"Accept": "application/json"})
        assert "2 of" in answer.json["told"]
        return len(seen)

    few = counted(ordered(3))
    assert counted(ordered(60)) == few
    assert few <= 32, few


def test_nobody_of_another_club_is_offered_or_taken(
    tina: Visitor, ordered: Any, database: Database, cast: Cast
) -> None:
    order = ordered()
    with database.write.begin() as session:
        dora = find_people.one(session, cast.dora.person_id)
        club = make.club(session, dora)
        stranger = make.junior(session, club, display_name="Stranger")
        number = stranger.id
    page = tina.get(f"{order.url}/register")
    assert "Stranger" not in page.html
    given = {"maker": "Fennmark", "discipline": "classic", "junior": str(number)}
    tina.send(page, status=404, **given)
    with database.read() as session:
        assert len(find_bookings.whole(session, order.id).items) == 3
