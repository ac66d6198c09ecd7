"""Which language a page speaks, and the template words that speak it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any, cast
from zoneinfo import ZoneInfo

from flask import Flask, g, request
from markupsafe import Markup, escape

from portal.domain.own_texts import OwnTexts
from portal.domain.personal import ERASED
from portal.domain.words import Phrase
from portal.i18n import SOURCE_LANGUAGE, Voice, languages, voice
from portal.queries import own_texts as find_own_texts
from portal.queries import workshop as find_workshop
from portal.services.own_texts import slots
from portal.web.request import actor_or_none, db, portal


def speak() -> Voice:
    """The voice of this request: the person's language, else the best that their browser asks for."""
    if "voice" not in g:
        who = actor_or_none()
        language = who.language if who else request.accept_languages.best_match(languages())
        workshop = find_workshop.the_or_none(db())
        shipped = voice(language or "en", workshop.timezone if workshop else "UTC")
        own = own_texts().as_messages(slots(portal().reference.care.rules).values(), shipped.language)
        g.voice = replace(shipped, own=own) if own else shipped
    return cast(Voice, g.voice)


def own_texts() -> OwnTexts:
    """What the workshop says in its own words, read once a request."""
    if "own_texts" not in g:
        g.own_texts = find_own_texts.current(db())
    return cast(OwnTexts, g.own_texts)


def own_words(slot: str) -> str | None:
    """Words that only the workshop has, in the language of this request, else in any that it wrote them in."""
    return own_texts().of_any(slot, (speak().language, SOURCE_LANGUAGE, *languages()))


def say(text: Phrase | str, **values: object) -> str:
    """Plain text in the language of this request, for flashes, forms and files."""
    return speak().say(text, **values)


def called(name: str) -> str:
    """A name from a record: of whoever erased their account, that they did so."""
    return say(ERASED) if name == ERASED else name


def _gettext(text: str, **values: Any) -> Markup:
    """For templates: the translation is ours and may hold markup, the values are other people's and are escaped."""
    if text in speak().own:
        # The workshop's own words are plain text.
        return escape(speak().translate(text))
    translated = Markup(speak().translate(text))  # noqa: S704 - our own catalogue
    return translated % {name: escape(value) for name, value in values.items()} if values else translated


def _ngettext(one: str, many: str, num: int, **values: Any) -> Markup:
    translated = Markup(speak().plural(one, many, num))  # noqa: S704 - our own catalogue
    return translated % {"num": num, **{name: escape(value) for name, value in values.items()}}


def _money(amount: Decimal, currency: str | None = None) -> str:
    return speak().money(amount, currency or find_workshop.the(db()).currency)


def percent(value: Decimal) -> str:
    """A rate as this reader writes it, without zeros at its end."""
    places = max(0, -int(value.normalize().as_tuple().exponent))
    return speak().number(value, places)


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

    app.jinja_env.filters.update(
        day=day, short_day=short_day, moment=moment, mm=mm, money=_money, percent=percent, called=called
    )
    app.jinja_env.globals.update(_=_gettext, ngettext=_ngettext, say=say)

    @app.context_processor
    def words() -> dict[str, object]:
        return {"language": speak().language}
