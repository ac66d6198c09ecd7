"""Where an account page leads next, and what the network behind a request is called."""

from __future__ import annotations

from datetime import datetime, timedelta
from secrets import token_urlsafe
from urllib.parse import unquote, urlsplit

from flask import current_app, make_response, render_template, request, session, url_for
from werkzeug.exceptions import HTTPException
from werkzeug.routing import RequestRedirect
from werkzeug.wrappers import Response

from portal.domain.access import Actor
from portal.queries import workshop as find_workshop
from portal.services.addresses import network_of
from portal.services.passkeys import Site
from portal.services.seals import Seals
from portal.services.sign_ins import Browser
from portal.web.navigation import ways
from portal.web.request import db, now, portal

ANSWERS_KEPT = 5


def own_path(path: str | None) -> str | None:
    """``path`` when it is a page of ours that can be opened, else nothing: never another site, never an act."""
    if (
        not path
        or not path.startswith("/")
        or path.startswith("//")
        or "\\" in path
        or not path.isprintable()
    ):
        return None
    parts = urlsplit(path)
    if parts.scheme or parts.netloc or parts.fragment:
        return None
    adapter = current_app.create_url_adapter(request)
    if adapter is None:
        return None
    try:
        endpoint, _ = adapter.match(unquote(parts.path), method="GET")
    except (HTTPException, RequestRedirect):
        return None
    return None if endpoint == "account.sign_in" else path


def home(who: Actor) -> str:
    """Where a person starts: a club's manager at the club, anybody else at the first of their ways."""
    if who.clubs and not who.is_staff:
        return url_for("club.club", club_id=next(iter(who.clubs)))
    return ways(who)[0].url


def network() -> str:
    """The network that this request's tries are counted under."""
    return network_of(request.remote_addr or "")


def seals() -> Seals:
    """Seals what must not lie open in the database."""
    return Seals(portal().settings.secret_keys)


def site() -> Site:
    """What passkeys are bound to."""
    workshop = find_workshop.the_or_none(db())
    return Site(portal().settings.base_url, workshop.name if workshop else "Rillbook")


def this_browser() -> Browser:
    """This request's browser, with a new name to sign it in under."""
    return Browser(token_urlsafe(32), request.user_agent.string, network())


def held_answers() -> tuple[str, ...]:
    """Tokens of the snow answers that this browser gave before it was signed in."""
    held = session.get("answers") or ()
    return tuple([held] if isinstance(held, str) else held)[-ANSWERS_KEPT:]


def wait_page(until: datetime) -> Response:
    """Too many tries: says when the next one is let through."""
    # Times are shown to the minute, and a minute too early would be one try for nothing.
    shown = until if until.second == until.microsecond == 0 else until + timedelta(minutes=1)
    response = make_response(render_template("account/wait.html", until=shown), 429)
    response.headers["Retry-After"] = str(max(1, int((until - now()).total_seconds()) + 1))
    return response
