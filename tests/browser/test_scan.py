"""Scanning tags one after the other with a scanner that types like a keyboard and ends with Enter."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from portal.domain.tags import tag_of
from tests.browser.conftest import DESK, PHONE, Person
from tests.cast import Cast


@pytest.mark.parametrize("phone", [False, True])
def test_a_scan_goes_into_the_field_and_the_next_one_replaces_it(
    browse: Callable[..., Person], cast: Cast, phone: bool
) -> None:
    bench = browse(cast.tina, viewport=PHONE if phone else DESK, dark=phone)
    page = bench.go("/shop/scan")
    # Nobody touches the page: the scanner types, wrongly first.
    page.keyboard.type("KKKKKK")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    bench.look()
    assert page.title().startswith("Error: ")
    assert "No pair has this code" in bench.words
    page.keyboard.type(f"https://rillbook.example/tag/{tag_of(cast.pair_id)}")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    page.wait_for_url("**/shop/pair/*")
    bench.look()
    bench.follow("Scan the next tag")
    assert page.evaluate("document.activeElement.name") == "code"
