"""The workshop's own list of reasons."""

from __future__ import annotations

from typing import Any

import pytest

from portal.domain.errors import NotFound
from portal.domain.reasons import SHIPPED, Use
from portal.queries import reasons as find_reasons
from portal.services import reasons
from tests.make import NOW
from tests.page import Visitor

DECLINE = tuple(SHIPPED[Use.DECLINE].values())
URL = "/shop/reasons/decline"


def offered(desk: Any) -> tuple[str, ...]:
    return tuple(desk.read(find_reasons.of, Use.DECLINE).values())


def test_a_reason_is_added_and_can_be_chosen(mia: Visitor, desk: Any) -> None:
    assert offered(desk) == DECLINE
    page = mia.post(URL, {"words": "We are <away> that week."})
    assert "The reason is in the list." in page.text
    assert offered(desk) == (*DECLINE, "We are <away> that week.")
    booked = desk.asked()
    asking = mia.get(f"/shop/bookings/{booked.id}/decline")
    assert "We are <away> that week." in asking.text
    assert "We are <away> that week." in mia.get("/shop/reasons").text
    mia.post(URL, {"words": "We are <away> that week."}, status=409)


def test_reasons_change_places_and_are_offered_no_longer_and_again(mia: Visitor, desk: Any) -> None:
    mia.post(f"{URL}/thin/up")
    assert offered(desk) == (DECLINE[1], DECLINE[0], *DECLINE[2:])
    mia.post(f"{URL}/thin/up")
    assert offered(desk)[0] == DECLINE[1]
    page = mia.post(f"{URL}/full/retire")
    assert "Not offered" in page.text
    assert offered(desk) == DECLINE[1:]
    mia.post(f"{URL}/full/offer")
    assert offered(desk) == (DECLINE[1], DECLINE[0], *DECLINE[2:])


def test_an_own_reason_is_reworded_and_a_shipped_one_on_its_own_page(mia: Visitor, desk: Any) -> None:
    mia.post(URL, {"words": "Away."})
    link = next(link for link in mia.get(URL).links if "/own-" in link)
    mia.send(mia.get(link), words="We are away.")
    assert offered(desk)[-1] == "We are away."
    assert "/shop/texts/reason.decline.full" in mia.get(URL).links
    mia.get(f"{URL}/full", status=404)
    mia.get(f"{URL}/own-999", status=404)
    mia.post(f"{URL}/nothing/up", status=404)
    mia.post(f"{URL}/full/burn", status=404)
    mia.get("/shop/reasons/boredom", status=404)


def test_an_empty_reason_is_asked_for(mia: Visitor, desk: Any) -> None:
    assert mia.post(URL, {"words": " "}).errors == ["Write the reason as people read it"]
    page = mia.post(URL, {"words": "x" * 301})
    assert page.errors == ["Shorten this to 300 characters"]
    assert offered(desk) == DECLINE


def test_a_shipped_reason_that_is_new_stands_last(desk: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    with desk.database.write.begin() as session:
        reasons.move_up(session, desk.cast.mia, Use.DECLINE, "kind", NOW)
    more = {**SHIPPED[Use.DECLINE], "new": "Something new."}
    monkeypatch.setitem(SHIPPED, Use.DECLINE, more)
    assert offered(desk)[-1] == "Something new."
    # One that is no longer shipped is not offered.
    monkeypatch.setitem(SHIPPED, Use.DECLINE, {"thin": more["thin"]})
    assert offered(desk) == (more["thin"],)
    with desk.database.write.begin() as session, pytest.raises(NotFound):
        reasons.reword(session, desk.cast.mia, Use.DECLINE, "thin", "x", NOW)


def test_only_the_shop_manager_changes_reasons(tina: Visitor, visitor: Visitor, desk: Any) -> None:
    for path in ("/shop/reasons", URL):
        tina.get(path, status=403)
        visitor.as_(desk.cast.alice).get(path, status=404)
    tina.post(f"{URL}/thin/up", status=403)
    assert offered(desk) == DECLINE
