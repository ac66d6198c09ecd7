"""Words, days and numbers as people write them."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from portal.domain.words import N_, Phrase
from portal.i18n import SOURCE_LANGUAGE, languages, voice

ENGLISH = voice("en", "Europe/Oslo")


def test_days_times_money_and_thickness_read_as_the_house_writes_them() -> None:
    assert ENGLISH.date(date(2026, 12, 10)) == "Thu 10 December 2026"
    assert ENGLISH.short_date(date(2026, 12, 10)) == "10 Dec 2026"
    assert ENGLISH.moment(datetime(2026, 12, 10, 13, 5, tzinfo=UTC)) == "Thu 10 December 2026, 14:05"
    assert ENGLISH.money(Decimal("1049.5"), "EUR") == "€1,049.50"
    assert ENGLISH.mm(853) == "0.85 mm"
    assert ENGLISH.number(Decimal("1234.5"), 1) == "1,234.5"


def test_countries_are_those_of_iso_3166() -> None:
    listed = dict(ENGLISH.countries())
    assert len(listed) == 249  # ISO 3166-1 has so many officially assigned codes.
    assert (listed["NO"], listed["DE"], ENGLISH.country("FI")) == ("Norway", "Germany", "Finland")
    assert ENGLISH.country("Q1") == "Q1"
    assert "XK" not in listed


def test_a_moment_without_a_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="time zone"):
        ENGLISH.moment(datetime(2026, 12, 10, 13, 5))  # noqa: DTZ001 - the very mistake


def test_a_phrase_is_filled_after_it_was_translated_and_inner_phrases_with_it() -> None:
    inner = Phrase(N_("Grind"))
    outer = Phrase(N_("No price for %(item)s"), {"item": inner})
    translated = {"Grind": "Slipning", "No price for %(item)s": "%(item)s saknar pris"}
    assert outer.said(translated.__getitem__) == "Slipning saknar pris"
    assert str(outer) == "No price for Grind"


def test_an_unknown_language_falls_back_to_the_source() -> None:
    assert voice("xx").language == SOURCE_LANGUAGE
    assert languages()[0] == SOURCE_LANGUAGE
