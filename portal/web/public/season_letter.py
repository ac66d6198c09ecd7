"""The link in the letter of a season that stops these letters: with one press, without signing in."""

from __future__ import annotations

from flask import make_response, render_template
from werkzeug.wrappers import Response

from portal.domain.errors import NotFound
from portal.queries import season_letters as find_season_letters
from portal.services import season_letters
from portal.web.public.blueprint import bp
from portal.web.request import db, transaction


@bp.get("/season-letter/<token>/stop")
def season_letter(token: str) -> Response:
    # A button: what scans letters opens every link in them, and must stop nothing.
    person = find_season_letters.by_token(db(), token)
    if person is None:
        raise NotFound
    return _page(is_stopped=person.season_letter_since is None)


@bp.post("/season-letter/<token>/stop")
def stop_season_letter(token: str) -> Response:
    """For the button, and for a mailbox that presses it for its reader (RFC 8058): it has no token of ours, sends no cookie
    and follows no redirect."""
    with transaction() as session:
        if not season_letters.stop(session, token):
            raise NotFound
    return _page(is_stopped=True)


def _page(*, is_stopped: bool) -> Response:
    answer = make_response(render_template("public/season_letter.html", is_stopped=is_stopped))
    answer.headers["X-Robots-Tag"] = "noindex"
    return answer
