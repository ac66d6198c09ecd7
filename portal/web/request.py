"""One request: its session, its transaction, who asks, the clock, and the door of each audience."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any, cast
from zoneinfo import ZoneInfo

from flask import Flask, abort, current_app, g, redirect, session, url_for
from flask import request as http
from flask_login import LoginManager, current_user, login_user, logout_user
from sqlalchemy.orm import Session
from werkzeug.routing import IntegerConverter, Map
from werkzeug.wrappers import Response

from portal.config import Settings
from portal.db.engine import Database
from portal.domain.access import Actor
from portal.queries import people as find_people
from portal.queries import workshop as find_workshop
from portal.queries.people import Login
from portal.reference import Reference
from portal.services import sign_ins

# How long what is dangerous needs no password again, and how much longer a form takes that was opened by then: common practice.
FRESH_FOR = timedelta(minutes=15)
TYPING = timedelta(hours=1)
# How exactly it is kept when a browser was last seen.
SEEN_TO = timedelta(hours=1)
# The largest number of a row in an integer column of PostgreSQL.
LARGEST_ROW = 2**31 - 1


@dataclass(frozen=True)
class Portal:
    """What the application was started with."""

    settings: Settings
    database: Database
    reference: Reference


def portal() -> Portal:
    """What this application was started with."""
    return cast(Portal, current_app.extensions["portal"])


def db() -> Session:
    """This request's reading session; the database refuses it every write."""
    if "reading" not in g:
        g.reading = portal().database.read()
    return cast(Session, g.reading)


@contextmanager
def transaction() -> Iterator[Session]:
    """A writing session that commits when the block ends and rolls back when it fails."""
    # What was read before may be stale afterwards.
    _close_reading()
    with portal().database.write.begin() as writing:
        yield writing
    # And so is what was read within the block, before it was committed.
    _close_reading()


def _close_reading(_error: BaseException | None = None) -> None:
    reading = g.pop("reading", None)
    if reading is not None:
        reading.close()


def now() -> datetime:
    """The clock, read here and nowhere deeper."""
    return datetime.now(UTC)


def today() -> date:
    """The day it is at the workshop."""
    return now().astimezone(ZoneInfo(find_workshop.the(db()).timezone)).date()


class SignedIn:
    """What Flask-Login holds: a person through one signed-in browser."""

    is_authenticated = True
    is_active = True
    is_anonymous = False

    def __init__(self, login: Login) -> None:
        self.login = login

    @property
    def actor(self) -> Actor:
        return self.login.actor

    def get_id(self) -> str:
        return self.login.id


def actor_or_none() -> Actor | None:
    """Who asks, or nobody."""
    return current_user.actor if current_user.is_authenticated else None


def actor() -> Actor:
    """Who asks; behind a door there always is someone."""
    found = actor_or_none()
    if found is None:
        abort(401)
    return found


def login_session_id() -> str | None:
    """The id of this browser's sign-in."""
    return current_user.login.id if current_user.is_authenticated else None


def insist_on_fresh_sign_in(back_to: str | None = None) -> None:
    """Pass when whoever sits here has shown lately who they are; else they are asked again and led back.

    For what would hurt if it were done by somebody else at an open browser. Ask in the view that shows the form and in the
    one that takes it: what was begun in time can be sent a while longer, so that nothing typed is lost. An act without a form
    of its own names the page to come ``back_to``.
    """
    if not current_user.is_authenticated:
        abort(401)
    typed = http.method == "POST" and back_to is None
    if now() - current_user.login.shown_at <= (FRESH_FOR + TYPING if typed else FRESH_FOR):
        return
    here = http.full_path.rstrip("?") if http.method == "GET" else http.path
    abort(redirect(url_for("account.again", next=back_to or here), 303))


def remember_sign_in(session_id: str) -> None:
    """Start a fresh cookie session for a sign-in that the account service has recorded."""
    kept = {key: session[key] for key in ("answers",) if key in session}
    session.clear()
    session.update(kept)
    # A skier on a phone stays signed in between two visits to the workshop; the row behind it can be ended at any time.
    session.permanent = True
    found = find_people.login(db(), session_id)
    if found is None:
        # Signed out everywhere between two steps of one request.
        abort(401)
    login_user(SignedIn(found))


def remember_half(half_id: str) -> None:
    """The first step of a sign-in was taken in this browser."""
    session["half"] = half_id


def half_id() -> str | None:
    """The sign-in that waits for its second step in this browser."""
    held = session.get("half")
    return held if isinstance(held, str) else None


def forget_half() -> None:
    """Begin anew with the first step."""
    session.pop("half", None)


def forget_sign_in() -> None:
    """End the cookie session."""
    logout_user()
    session.clear()


def to_sign_in() -> Response:
    """The way to sign in, and back to this page afterwards when it is one that can be opened again."""
    way_back = http.full_path.rstrip("?") if http.method == "GET" else None
    return redirect(url_for("account.sign_in", next=way_back), 303)


def door(lets_in: Callable[[Actor], bool]) -> Callable[[], Response | None]:
    """A door for a blueprint: a stranger is sent to sign in; for the wrong kind of person there is nothing here."""

    def check() -> Response | None:
        who = actor_or_none()
        if who is None:
            return to_sign_in()
        if not lets_in(who):
            abort(404)
        return None

    return check


class RowNumber(IntegerConverter):
    """A number in an address that can be the number of a row; a larger one leads nowhere on either database."""

    def __init__(self, rules: Map) -> None:
        super().__init__(rules, max=LARGEST_ROW)


def row_number(text: str | None) -> int | None:
    """The number of a row from a form or a query, or nothing when it cannot be one."""
    if not text or not text.isascii() or not text.isdecimal() or len(text) > len(str(LARGEST_ROW)):
        return None
    number = int(text)
    return number if number <= LARGEST_ROW else None


def install(app: Flask) -> None:
    """Hang sessions and sign-in on the application."""
    app.url_map.converters["int"] = RowNumber

    @app.before_request
    def refuse_nul() -> None:
        # No text in PostgreSQL holds this character, so no address of ours does.
        if "\0" in http.path:
            abort(404)

    manager = LoginManager(app)
    manager.session_protection = None

    @manager.user_loader  # type: ignore[untyped-decorator]
    def load(session_id: str) -> SignedIn | None:
        found = find_people.login(db(), session_id)
        return None if found is None else SignedIn(found)

    @app.before_request
    def mark_seen() -> None:
        if http.endpoint == "static" or not current_user.is_authenticated:
            return
        if now() - current_user.login.seen_at >= SEEN_TO:
            with transaction() as writing:
                sign_ins.seen(writing, current_user.login.id, now())

    @manager.unauthorized_handler  # type: ignore[untyped-decorator]
    def unauthorized() -> Any:
        return to_sign_in()

    app.teardown_appcontext(_close_reading)
