"""Loading the weather of a venue, looking at what was read, and keeping it or not."""

from __future__ import annotations

from io import BytesIO
from typing import Any

import pytest

from portal.db.engine import Database
from portal.domain.climate import read_climate
from portal.queries import venues as find_venues
from portal.services import venues
from tests import weather_files as files
from tests.cast import Cast
from tests.make import NOW
from tests.page import Page, Visitor

# Without the summer: the test's browser leaves a larger upload open in a file of its own.
YEAR = files.data([line for line in files.epw() if line.split(",")[1] not in {"5", "6", "7", "8", "9", "10"}])


def sent(data: bytes, name: str = "fell.epw") -> tuple[BytesIO, str]:
    return BytesIO(data), name


def load(mia: Visitor, name: str = "Hollow Fell", data: bytes = YEAR) -> Page:
    return mia.send(mia.get("/shop/venues"), name=name, file=sent(data))


def kept_names(database: Database) -> list[str]:
    with database.read() as session:
        return [row.name for row in find_venues.kept(session)]


@pytest.fixture
def loaded(database: Database, cast: Cast) -> int:
    """A venue that waits to be looked at."""
    with database.write.begin() as session:
        return venues.load(session, cast.mia, "Hollow Fell", "fell.epw", YEAR, NOW).id


@pytest.fixture
def kept(database: Database, cast: Cast, loaded: int) -> int:
    with database.write.begin() as session:
        venues.keep(session, cast.mia, loaded, NOW)
    return loaded


def test_a_file_is_read_shown_and_kept(mia: Visitor, database: Database) -> None:
    assert "There is no venue yet." in mia.get("/shop/venues").text
    page = load(mia)
    climate = read_climate(YEAR)
    assert page.h1 == "Hollow Fell"
    for day in (climate.cold_c, climate.ordinary_c, climate.mild_c):
        assert f"{day} °C".replace("-", "−") in page.text
    assert "Neither dry nor humid, half of the hours above" in page.text
    assert "1991 readings of 4344: November to April, from 8 to 18 o'clock" in page.text
    assert "Every row of the file could be read." in page.text
    assert "fell.epw" in page.text
    assert kept_names(database) == []
    page = mia.send(page, "/keep")
    assert "Hollow Fell is kept." in page.text
    assert kept_names(database) == ["Hollow Fell"]


def test_the_picture_is_named_described_and_told_in_numbers(mia: Visitor, loaded: int) -> None:
    page = mia.get(f"/shop/venues/{loaded}")
    (svg,) = (one for one in page.tree.iter() if one.get("class") == "picture")
    assert svg.get("role") == "img"
    assert "Hours of winter daytime by air temperature" in page.words(svg)
    rows = [page.words(row) for row in page.all("tr")]
    assert len(rows) == len(read_climate(YEAR).steps) + 1


def test_what_was_left_out_is_shown_with_lines_and_reasons(mia: Visitor) -> None:
    lines = YEAR.decode().splitlines()
    lines[20] = "rubbish"
    lines[30] = lines[30].replace(f",{lines[30].split(',')[6]},", ",99.9,")
    page = load(mia, data=files.data(lines))
    assert "2 of 4344 rows could not be used. They were left out, not mended." in page.text
    assert "Cells are missing, or hold no number 1 21" in page.text
    assert "A reading is marked as missing 1 31" in page.text


def test_a_table_without_pressure_or_height_says_what_was_taken(mia: Visitor) -> None:
    page = load(mia, data=files.data(files.table()))
    assert "the file has neither it nor a height" in page.text
    page = load(mia, "Upper Fell", files.data(["# elevation: 900 m", "# latitude: -44", *files.table()]))
    assert "at 900 m for" in page.text
    assert "May to October" in page.text


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"time,air,humidity [%]\n", "Line 1: The column “air” does not say its unit."),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "The file is not text."),
        (b"time,air [\xc2\xb0C],humidity [%]\n2025-01-01 10:00,-5,80\n", "Only 1 hours of winter daytime"),
        (b"", "The file is empty."),
    ],
)
def test_a_file_that_cannot_be_used_is_explained_and_the_name_kept(
    mia: Visitor, database: Database, data: bytes, said: str
) -> None:
    page = load(mia, data=data)
    assert page.errors[0].startswith(said)
    assert page.form()["name"] == "Hollow Fell"
    assert "There is no venue yet." in page.text


def test_a_form_without_name_or_file_says_what_to_do(mia: Visitor) -> None:
    page = mia.get("/shop/venues")
    assert mia.send(page, name=" ", file=sent(YEAR)).errors == [
        "Enter the name that skiers know the venue by"
    ]
    assert mia.send(page, name="Fell").errors == ["Choose a file"]
    assert mia.send(page, name="x" * 81, file=sent(YEAR)).errors == ["Shorten this to 80 characters"]


def test_a_file_larger_than_two_megabytes_is_refused_with_a_page(mia: Visitor) -> None:
    form = "multipart/form-data; boundary=x"
    answer = mia.raw("POST", "/shop/venues", data=b"x" * 2_000_001, content_type=form)
    assert answer.status_code == 413
    assert Page(answer).h1 == "The file is too large"


def test_a_loaded_venue_is_discarded(mia: Visitor, loaded: int) -> None:
    page = mia.send(mia.get(f"/shop/venues/{loaded}"), "/remove")
    assert "Hollow Fell is removed." in page.text
    mia.get(f"/shop/venues/{loaded}", status=404)


def test_a_kept_venue_is_removed_after_a_question(mia: Visitor, database: Database, kept: int) -> None:
    page = mia.get(f"/shop/venues/{kept}")
    assert f"/shop/venues/{kept}/remove" in page.links
    asked = mia.get(f"/shop/venues/{kept}/remove")
    assert kept_names(database) == ["Hollow Fell"]
    mia.send(asked)
    assert kept_names(database) == []


def test_a_venue_is_renamed(mia: Visitor, database: Database, kept: int) -> None:
    page = mia.get(f"/shop/venues/{kept}/rename")
    assert mia.send(page, name="").errors == ["Enter the name that skiers know the venue by"]
    assert "The venue is called Upper Fell now." in mia.send(page, name=" Upper Fell ").text
    assert kept_names(database) == ["Upper Fell"]


def test_a_name_that_is_kept_already_is_not_given_twice(mia: Visitor, database: Database, kept: int) -> None:
    taken = "Enter another name: there is a venue called hollow fell already"
    assert load(mia, "hollow fell").errors == [taken]
    page = load(mia, "Upper Fell")
    number = int(page.response.request.path.rsplit("/", 1)[-1])
    assert mia.send(mia.get(f"/shop/venues/{number}/rename"), name="hollow fell").errors == [taken]
    assert kept_names(database) == ["Hollow Fell"]


def test_keeping_a_venue_whose_name_was_taken_meanwhile_leads_to_another_name(
    mia: Visitor, database: Database, cast: Cast, kept: int
) -> None:
    with database.write.begin() as session:
        number = venues.load(session, cast.mia, "Hollow Fell", "again.epw", YEAR, NOW).id
    page = mia.send(mia.get(f"/shop/venues/{number}"), "/keep", status=409)
    assert "There is a venue called Hollow Fell already." in page.text
    assert f"/shop/venues/{number}/rename" in page.links


def test_all_venues_are_listed_with_their_days_and_where_they_stand(
    mia: Visitor, database: Database, cast: Cast, kept: int
) -> None:
    with database.write.begin() as session:
        venues.load(session, cast.mia, "Upper Fell", "upper.epw", YEAR, NOW)
    rows = [row.split(" ")[0:2] + row.split(" ")[-1:] for row in _rows(mia.get("/shop/venues"))]
    assert rows == [["Upper", "Fell", "at"], ["Hollow", "Fell", "Kept"]]


def _rows(page: Page) -> list[str]:
    (body,) = page.all("tbody")
    return [page.words(row) for row in body.iter() if row.tag.endswith("}tr")]


PAGES = ("/shop/venues", "/shop/venues/{id}", "/shop/venues/{id}/rename", "/shop/venues/{id}/remove")
ACTS: tuple[tuple[str, dict[str, Any]], ...] = (
    ("/shop/venues", {"name": "Mine"}),
    ("/shop/venues/{id}/keep", {}),
    ("/shop/venues/{id}/rename", {"name": "Mine"}),
    ("/shop/venues/{id}/remove", {}),
)


def test_a_technician_may_not(tina: Visitor, mia: Visitor, database: Database, loaded: int) -> None:
    for path in PAGES:
        tina.get(path.format(id=loaded), status=403)
    for path, given in ACTS:
        tina.post(path.format(id=loaded), given, status=403)
    assert "/shop/venues" not in tina.get("/shop/workshop").links
    assert "/shop/venues" in mia.get("/shop/workshop").links
    assert kept_names(database) == []
    assert mia.get(f"/shop/venues/{loaded}").h1 == "Hollow Fell"


def test_for_skiers_and_strangers_there_is_no_such_page(visitor: Visitor, cast: Cast, loaded: int) -> None:
    alice = visitor.as_(cast.alice)
    for path in PAGES:
        alice.get(path.format(id=loaded), status=404)
        answer = visitor.raw("GET", path.format(id=loaded))
        assert (answer.status_code, answer.location.split("?")[0]) == (303, "/sign-in")
    for path, given in ACTS:
        alice.post(path.format(id=loaded), given, status=404)


def test_a_venue_that_is_not_there_is_not_found(mia: Visitor) -> None:
    for path in PAGES[1:]:
        mia.get(path.format(id=999999), status=404)
    for path, given in ACTS[1:]:
        mia.post(path.format(id=999999), given, status=404)


def test_a_file_name_and_a_name_with_markup_stay_text(mia: Visitor) -> None:
    page = mia.send(mia.get("/shop/venues"), name="<i>Fell</i>", file=sent(YEAR, "<b>.epw"))
    assert page.h1 == "<i>Fell</i>"
    assert "<b>.epw" in page.text
