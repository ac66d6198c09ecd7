"""Which language a page speaks, and the template words that speak it."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import Any, cast
from zoneinfo import ZoneInfo

from flask import Flask, g, request
from markupsafe import Markup, escape

from portal.domain.words import Phrase
from portal.i18n import Voice, languages, voice
from portal.queries import workshop as find_workshop
from portal.web.request import actor_or_none, db


def speak() -> Voice:
    """The voice of this request: the person's language, else the best that their browser asks for."""
    if "voice" not in g:
        who = actor_or_none()
        language = who.language if who else request.accept_languages.best_match(languages())
        workshop = find_workshop.the_or_none(db())
        g.voice = voice(language or "en", workshop.timezone if workshop else "UTC")
    return cast(Voice, g.voice)


def say(text: Phrase | str, **values: object) -> str:
    """Plain text in the language of this request, for flashes, forms and files."""
    return speak().say(text, **values)


def _gettext(text: str, **values: Any) -> Markup:
    """For templates: the translation is ours and may hold markup, the values are other people's and are escaped."""
    translated = Markup(speak().translate(text))  # noqa: S704 - our own catalogue
    return translated % {name: escape(value) for name, value in values.items()} if values else translated


def _ngettext(one: str, many: str, num: int, **values: Any) -> Markup:
    translated = Markup(speak().plural(one, many, num))  # noqa: S704 - our own catalogue
    return translated % {"num": num, **{name: escape(value) for name, value in values.items()}}


def _money(amount: Decimal, currency: str | None = None) -> str:
    return speak().money(amount, currency or find_workshop.the(db()).currency)


def install(app: Flask) -> None:
    """Give templates their words."""

    def day(value: date) -> str:
        return speak().date(value)

    def short_day(value: date) -> str:
        if isinstance(value, datetime):
            # A moment has a day at the workshop, not in UTC.
            value = value.astimezone(ZoneInfo(speak().timezone)).date()
        # A short day stands in tables and does not break there.
        return speak().short_date(value).replace(" ", "\u00a0")

    def moment(value: datetime) -> str:
        return speak().moment(value)

    def mm(value: int, places: int = 2) -> str:
        return speak().mm(value, places)

    app.jinja_env.filters.update(day=day, short_day=short_day, moment=moment, mm=mm, money=_money)
    app.jinja_env.globals.update(_=_gettext, ngettext=_ngettext, say=say)

    @app.context_processor
    def words() -> dict[str, object]:
        return {"language": speak().language}
