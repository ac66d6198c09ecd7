"""The club's first page, and its door."""

from __future__ import annotations

import pytest

from tests.cast import Cast
from tests.page import Visitor
from tests.web.club.conftest import Clubhouse


def test_a_manager_sees_the_roster_with_its_pairs_and_in_which_club_they_are(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    page = visitor.as_(cast.cora).get(clubhouse.url())
    assert page.h1 == "Alder Valley Ski Club"
    assert "Junia" in page.text
    assert "Fennmark Lom 187 cm" in page.text
    assert "Nothing waits for you" in page.text


def test_a_club_without_juniors_is_told_to_add_them_first(visitor: Visitor, cast: Cast) -> None:
    page = visitor.as_(cast.dora).get(f"/club/{cast.other_club_id}")
    assert "Load the list of your juniors and their pairs" in page.text
    assert f"/club/{cast.other_club_id}/order" not in page.links


def test_what_waits_for_the_club_stands_first(visitor: Visitor, cast: Cast, clubhouse: Clubhouse) -> None:
    clubhouse.countered(clubhouse.ordered())
    assert "waits for your answer" in visitor.as_(cast.cora).get(clubhouse.url()).text


def test_a_pair_in_an_open_order_says_so_on_the_roster(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    clubhouse.ordered(confirmed=True)
    page = visitor.as_(cast.cora).get(clubhouse.url())
    assert "In order T" in page.text
    assert "hand the pairs in by Tue 8 December 2026" in page.text


PAGES = (
    "",
    "/juniors/add",
    "/juniors/{junior}/edit",
    "/juniors/{junior}/leave",
    "/juniors/{junior}/pairs/add",
    "/pairs/{pair}",
    "/pairs/{pair}/edit",
    "/pairs/{pair}/history.pdf",
    "/orders",
    "/orders/{order}",
    "/orders/{order}/sent",
    "/orders/{order}/cancel",
    "/orders/{order}/offers/{offer}/refuse",
    "/order",
    "/order/day",
    "/order/check",
)
POSTS = (
    "/pairs/{pair}/archive",
    "/pairs/{pair}/restore",
    "/orders/{order}/offers/{offer}/accept",
    "/order/drop",
    "/order/send",
    "/snow-questions",
)


@pytest.mark.parametrize("who", ["alice", "dora", "mia"])
def test_nobody_else_opens_or_changes_anything_of_the_club(
    who: str, visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    order = clubhouse.ordered()
    numbers = {"junior": cast.junior_id, "pair": cast.club_pair_id, "order": order}
    numbers["offer"] = clubhouse.countered(order)
    stranger = visitor.as_(getattr(cast, who))
    for path in PAGES:
        assert stranger.raw("GET", clubhouse.url(path.format(**numbers))).status_code == 404, path
    for path in (*POSTS, *PAGES[1:4]):
        stranger.post(clubhouse.url(path.format(**numbers)), status=404 if path not in {"/orders"} else 405)


def test_who_is_not_signed_in_is_sent_to_sign_in(visitor: Visitor, clubhouse: Clubhouse) -> None:
    answer = visitor.raw("GET", clubhouse.url("/orders"))
    assert answer.status_code == 303
    assert answer.location.startswith("/sign-in")


@pytest.mark.parametrize("path", ["/pairs/{other}", "/pairs/{other}/edit", "/juniors/{junior}"])
def test_a_thing_of_another_club_is_not_found_under_ones_own(
    path: str, visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    numbers = {"other": cast.pair_id, "junior": cast.junior_id}
    dora = visitor.as_(cast.dora)
    assert dora.raw("GET", f"/club/{cast.other_club_id}{path.format(**numbers)}").status_code == 404
