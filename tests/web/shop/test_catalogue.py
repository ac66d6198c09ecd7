"""The catalogue's pages: who sees them, versions, families, retiring."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from portal.queries import catalogue as find_structures
from portal.services import catalogue
from tests.cast import Cast
from tests.make import NOW
from tests.page import Visitor

SEEN = (
    "/shop/catalogue",
    "/shop/catalogue/structures/harebell",
    "/shop/catalogue/structures/harebell/versions/1",
    "/shop/diamonds",
    "/shop/diamonds/1",
)
EDITED = (
    "/shop/catalogue/new",
    "/shop/catalogue/read",
    "/shop/catalogue/structures/harebell/change",
    "/shop/catalogue/families/new",
    "/shop/catalogue/families/1",
    "/shop/diamonds/new",
    "/shop/diamonds/1/change",
)
POSTED = (
    *EDITED,
    "/shop/catalogue/structures/harebell/retire",
    "/shop/catalogue/structures/harebell/bring-back",
    "/shop/diamonds/1/count",
    "/shop/diamonds/1/looked-at",
    "/shop/diamonds/1/retire",
    "/shop/diamonds/1/bring-back",
)


def second_version(desk: Any, cast: Cast, key: str = "harebell", **given: Any) -> None:
    with desk.database.write.begin() as session:
        seen = find_structures.by_key(session, key)
        value = replace(find_structures.value(seen), **(given or {"minutes": 31}))
        catalogue.change_structure(session, cast.mia, seen.version, value, NOW)


def versions(desk: Any, key: str = "harebell") -> list[tuple[int, bool]]:
    return [(row.version, row.current) for row in desk.read(find_structures.versions, key)]


def test_a_technician_looks_and_edits_nothing(tina: Visitor, desk: Any) -> None:
    for path in SEEN:
        page = tina.get(path)
        assert not any("/change" in link or link.endswith("/new") for link in page.links), path
        assert not [form for form in page.all("form") if (form.get("method") or "get") == "post"], path
    for path in EDITED:
        tina.get(path, status=403)
    for path in POSTED:
        tina.post(path, {"do": "save"}, status=403)
    assert versions(desk) == [(1, True)]


@pytest.mark.parametrize("who", ["alice", "cora", "carl"])
def test_for_others_there_is_nothing_here(visitor: Visitor, cast: Cast, who: str) -> None:
    browser = visitor.as_(getattr(cast, who))
    for path in (*SEEN, *EDITED, "/shop/catalogue/structures/harebell/versions/1.json"):
        assert browser.raw("GET", path).status_code == 404, path
    for path in POSTED:
        browser.post(path, status=404)


def test_what_is_not_there_is_not_found(mia: Visitor) -> None:
    for path in (
        "/shop/catalogue/structures/nettle",
        "/shop/catalogue/structures/nettle/change",
        "/shop/catalogue/structures/harebell/versions/9",
        "/shop/catalogue/structures/harebell/versions/9.json",
        "/shop/catalogue/structures/nettle/versions/1.json",
        "/shop/catalogue/families/999",
        "/shop/diamonds/999",
        "/shop/diamonds/999/change",
    ):
        mia.get(path, status=404)
    for path in ("/shop/catalogue/structures/nettle/retire", "/shop/diamonds/999/count"):
        mia.post(path, status=404)


def test_the_list_shows_each_structure_with_its_numbers(mia: Visitor, desk: Any, cast: Cast) -> None:
    second_version(desk, cast)
    page = mia.get("/shop/catalogue")
    rows = {page.words(row).split()[0]: page.words(row) for row in page.all("tr")}
    # Name, version, room, bearing, lines, minutes, since when: room and bearing are those of the starter catalogue.
    assert rows["Harebell"] == "Harebell 2 1.11 35 Crossed structure 31 7 Dec 2026"
    assert rows["Heather"].startswith("Heather 1 1.94 29 Linear structure")
    assert rows["Heather"].endswith("The beginning")
    assert [page.words(one) for one in page.all("h2")] == ["Bearing", "Close", "Balanced", "Open", "Draining"]


def test_a_structure_is_shown_with_layers_pictures_numbers_and_ranges(mia: Visitor) -> None:
    page = mia.get("/shop/catalogue/structures/harebell")
    assert "Siskin" in page.text
    assert "radius 0.4 mm, flat 0 mm" in page.text
    assert "5 m/min" in page.text
    assert len(page.all("figure")) == 3
    assert "not measured" in page.text
    assert "Air from −10 to −7.5 °C" in page.text
    assert "unverified starting value" in page.text
    assert "do not meet" not in page.text


def test_what_shares_the_first_layer_is_named(mia: Visitor) -> None:
    """Bilberry is the first layer of harebell alone."""
    page = mia.get("/shop/catalogue/structures/bilberry")
    assert "Harebell: 1 layer" in page.text


def test_a_statement_far_from_the_suggestion_is_told(mia: Visitor, desk: Any, cast: Cast) -> None:
    with desk.database.read() as session:
        stated = find_structures.value(find_structures.by_key(session, "harebell")).range
    second_version(desk, cast, range=replace(stated, air_low_c=0, air_high_c=6))
    page = mia.get("/shop/catalogue/structures/harebell")
    assert "The stated and the suggested window of air temperature do not meet." in page.text
    assert "What the workshop states wins." in page.text


def test_versions_are_listed_with_what_uses_them_and_each_can_be_looked_at(
    mia: Visitor, desk: Any, cast: Cast
) -> None:
    desk.ground()
    with desk.database.read() as session:
        key = find_structures.one(session, find_structures.all_current(session)[0].id).key
    second_version(desk, cast, key, minutes=55)
    page = mia.get(f"/shop/catalogue/structures/{key}")
    rows = [page.words(row) for row in page.all("tr") if page.words(row).startswith("Version ")]
    assert rows[1:] == ["Version 2 7 Dec 2026 Mia 0 0 On offer", "Version 1 The beginning – 1 1 Replaced"]
    old = mia.get(f"/shop/catalogue/structures/{key}/versions/1")
    assert "55 minutes" in page.text
    assert "55 minutes" not in old.text
    assert "/change" not in " ".join(old.links)


def test_a_structure_is_retired_and_brought_back(mia: Visitor, visitor: Visitor, desk: Any) -> None:
    page = mia.send(mia.get("/shop/catalogue/structures/harebell"), "retire")
    assert "Harebell is retired. Bookings and histories keep it." in page.text
    visitor.get("/structures/harebell", status=404)
    assert "Retired Harebell" in mia.get("/shop/catalogue").text
    mia.get("/shop/catalogue/structures/harebell/change", status=409)
    mia.post("/shop/catalogue/structures/harebell/retire", status=409)
    page = mia.send(page, "bring-back")
    assert "Harebell is on offer again." in page.text
    assert "Harebell" in visitor.get("/structures").text
    assert versions(desk) == [(1, True)]


def test_a_family_is_renamed(mia: Visitor, visitor: Visitor) -> None:
    page = mia.send(mia.get("/shop/catalogue/families/1"), name="Carrying", summary="For hard frost.")
    assert "The family Carrying is saved." in page.text
    assert "Carrying" in visitor.get("/structures").text


def test_a_family_is_added_at_its_place(mia: Visitor, desk: Any) -> None:
    opened = mia.get("/shop/catalogue/families/new")
    page = mia.send(opened, name="Sæter & Bog", summary="Between.", position="3")
    assert "Sæter &amp; Bog" in page.html
    keys = [row.key for row in desk.read(find_structures.families)]
    assert keys == ["bearing", "close", "ster-bog", "balanced", "open", "draining"]
    assert mia.send(opened, name="Sæter & Bog", summary="Again.").errors == [
        "There is a family of this name already."
    ]


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"name": " "}, "Enter a name for the family"),
        ({"summary": ""}, "Write in a sentence or two what the family is for"),
        ({"position": "9"}, "Choose a place from the list"),
        ({"name": "x" * 81}, "Shorten this to 80 characters"),
    ],
)
def test_a_wrong_family_is_told_what_to_do(mia: Visitor, desk: Any, given: dict[str, str], said: str) -> None:
    page = mia.send(mia.get("/shop/catalogue/families/new"), **{"name": "Reed", "summary": "Reeds.", **given})
    assert page.errors == [said]
    assert len(desk.read(find_structures.families)) == 5
