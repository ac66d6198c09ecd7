"""A shop manager loads an older list in a real browser, from the file to the last row."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from tests.browser.conftest import PHONE, Person
from tests.cast import Cast

ROWS = """Kundenliste;;
;;
E-Mail;Name;Marke;Stil;Länge;Datum;Schliff;Vorher;Nachher
joerg@example.test;Jörg Öster;Fennmark;Skating;1,87;24.12.2023;Alte Neun;1,15;1,10
niemand;Nils;Fennmark;Skating;900;;;;
"""


def test_a_list_is_sent_looked_at_and_loaded(
    browse: Callable[..., Person], cast: Cast, tmp_path: Path, scripts: bool
) -> None:
    sent = tmp_path / "kunden.csv"
    sent.write_bytes(ROWS.encode("cp1252"))
    desk = browse(cast.mia, viewport=PHONE, scripts=scripts, dark=scripts)
    page = desk.go("/shop/workshop")
    desk.follow("Load a list")
    page.set_input_files("input[type=file]", sent)
    desk.press("Read the file")
    assert desk.heading == "Is kunden.csv read rightly?"
    assert "Jörg Öster" in desk.words
    desk.press("Go on to the columns")
    desk.press("Look at the rows")
    assert desk.heading == "Which structures are these?"
    page.get_by_label("Alte Neun").select_option(index=1)
    desk.press("Look at the rows")
    assert "New customer, New pair, New grind" in desk.words
    assert "“900” is no length of skis." in desk.words
    with page.expect_download() as download:
        page.get_by_role("link", name="workbook").click()
    assert download.value.suggested_filename == "kunden-left-out.xlsx"
    desk.press("Load 1 row")
    assert "Loaded: 1 customers, 1 pairs, 1 grinds." in page.content()
    desk.follow("Finish and delete the file")
    desk.press("Finish and delete the file")
    assert "the file is deleted" in page.content()


def test_the_paper_of_tags_is_chosen(browse: Callable[..., Person], cast: Cast) -> None:
    bench = browse(cast.tina, viewport=PHONE)
    page = bench.go(f"/shop/pair/{cast.pair_id}/tags")
    page.get_by_label("US letter").check()
    bench.fill(Rows="7")
    with page.expect_request(lambda request: "tags.pdf" in request.url) as asked:
        page.get_by_role("button", name="Make the sheet (PDF)").click()
    assert asked.value.url.endswith(f"/shop/pair/{cast.pair_id}/tags.pdf?pair={cast.pair_id}")
