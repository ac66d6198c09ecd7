"""Words, days, numbers and money in the reader's language; the only module that knows gettext and Babel."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

from babel.core import Locale
from babel.dates import format_date, format_datetime
from babel.numbers import format_currency, format_decimal, get_decimal_symbol
from babel.support import NullTranslations, Translations

from portal.domain.words import Phrase

CATALOGUES = Path(__file__).parent / "translations"
SOURCE_LANGUAGE = "en"
# Two letters that CLDR names too, though ISO 3166-1 has given them to no country: reserved or for private use.
NO_COUNTRIES = frozenset(
    {"AC", "CP", "CQ", "DG", "EA", "EU", "EZ", "IC", "QO", "TA", "UN", "XA", "XB", "XK", "ZZ"}
)


def languages() -> tuple[str, ...]:
    """The languages that people can choose: the source language and every catalogue that is shipped."""
    found = {path.parent.parent.name for path in CATALOGUES.glob("*/LC_MESSAGES/portal.po")}
    return (SOURCE_LANGUAGE, *sorted(found - {SOURCE_LANGUAGE}))


@cache
def _catalogue(language: str) -> NullTranslations:
    return Translations.load(CATALOGUES, [language], domain="portal")


@dataclass(frozen=True)
class Voice:
    """How one reader is spoken to: their language and the workshop's time zone."""

    language: str = SOURCE_LANGUAGE
    timezone: str = "UTC"
    # Shipped text -> the workshop's own words for it in this language: plain text, never markup.
    own: Mapping[str, str] = field(default_factory=dict, compare=False, repr=False)

    @property
    def locale(self) -> Locale:
        # Source English is written the way the workshop writes: day before month, 24 hours.
        return Locale.parse("en_GB" if self.language == SOURCE_LANGUAGE else self.language)

    @property
    def zone(self) -> ZoneInfo:
        """The workshop's time zone."""
        return ZoneInfo(self.timezone)

    def translate(self, text: str) -> str:
        """``text`` in the workshop's own words, else in this language, or unchanged where the catalogue lacks it."""
        if text in self.own:
            return self.own[text]
        return str(_catalogue(self.language).ugettext(text)) if text else ""

    def plural(self, one: str, many: str, n: int) -> str:
        """The form of the sentence that goes with ``n``, with ``%(num)s`` left to fill."""
        return str(_catalogue(self.language).ungettext(one, many, n))

    def say(self, text: Phrase | str, **values: object) -> str:
        """A phrase, or a text with its places filled from ``values``, in this language."""
        if isinstance(text, Phrase):
            return text.said(self.translate, self._written)
        said = self.translate(text)
        return said % values if values else said

    def _written(self, value: object) -> object:
        if isinstance(value, dt.date) and not isinstance(value, dt.datetime):
            return self.date(value)
        return value

    def date(self, day: dt.date) -> str:
        """``Thu 10 December 2026``."""
        return format_date(day, "EEE d MMMM y", locale=self.locale)

    def short_date(self, day: dt.date) -> str:
        """``10 Dec 2026``, for tables."""
        return format_date(day, "d MMM y", locale=self.locale)

    def month(self, day: dt.date) -> str:
        """``Dec 2026``, for tables."""
        return format_date(day, "LLL y", locale=self.locale)

    def moment(self, at: dt.datetime) -> str:
        """``Thu 10 December 2026, 14:05`` in the workshop's time zone; ``at`` carries its own."""
        if at.tzinfo is None:
            raise ValueError("a moment without a time zone")
        return format_datetime(
            at.astimezone(ZoneInfo(self.timezone)), "EEE d MMMM y, HH:mm", locale=self.locale
        )

    def day_of(self, at: dt.datetime) -> str:
        """The day of a moment in the workshop's time zone: ``Thu 10 December 2026``."""
        return self.date(at.astimezone(ZoneInfo(self.timezone)).date())

    def number(self, value: Decimal | float | int, places: int = 0) -> str:
        """A number with exactly ``places`` decimals."""
        pattern = "#,##0." + "0" * places if places else "#,##0"
        return format_decimal(value, pattern, locale=self.locale)

    @property
    def decimal_mark(self) -> str:
        """What parts the whole from its decimals."""
        return get_decimal_symbol(self.locale)

    def money(self, amount: Decimal, currency: str) -> str:
        """An amount in an ISO 4217 currency."""
        return format_currency(amount, currency, locale=self.locale)

    def country(self, code: str) -> str:
        """The name of a country by its two letters (ISO 3166-1); the letters where it has none here."""
        return str(self.locale.territories.get(code, code))

    def countries(self) -> list[tuple[str, str]]:
        """Letters and name of every country, by name."""
        known = {str(code) for code in self.locale.territories} - NO_COUNTRIES
        return sorted(
            ((code, self.country(code)) for code in known if len(code) == 2), key=lambda one: one[1]
        )

    def mm(self, um: int, places: int = 2) -> str:
        """Whole micrometres shown in millimetres: ``0.85 mm``."""
        return f"{self.number(Decimal(um) / 1000, places)} mm"


@cache
def voice(language: str = SOURCE_LANGUAGE, timezone: str = "UTC") -> Voice:
    """The voice for a language and a time zone (an unknown language falls back to the source language)."""
    return Voice(language if language in languages() else SOURCE_LANGUAGE, timezone)
