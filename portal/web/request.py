"""One request: its session, its transaction, who asks, the clock, and the door of each audience."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime
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
from portal.reference import Reference

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

    def __init__(self, session_id: str, actor: Actor) -> None:
        self.session_id = session_id
        self.actor = actor

    def get_id(self) -> str:
        return self.session_id


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
    return current_user.session_id if current_user.is_authenticated else None


def remember_sign_in(session_id: str, who: Actor) -> None:
    """Start a fresh cookie session for a sign-in that the account service has recorded."""
    kept = {key: session[key] for key in ("answers",) if key in session}
    session.clear()
    session.update(kept)
    # A skier on a phone stays signed in between two visits to the workshop; the row behind it can be ended at any time.
    session.permanent = True
    login_user(SignedIn(session_id, who))


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
        found = find_people.actor_of_login(db(), session_id)
        return None if found is None else SignedIn(session_id, found)

    @manager.unauthorized_handler  # type: ignore[untyped-decorator]
    def unauthorized() -> Any:
        return to_sign_in()

    app.teardown_appcontext(_close_reading)
