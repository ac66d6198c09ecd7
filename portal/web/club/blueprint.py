"""The club's door: whoever manages at least one club; which one, each view asks for itself."""

from __future__ import annotations

from flask import Blueprint, make_response, render_template
from werkzeug.wrappers import Response

from portal.domain.errors import NotNow
from portal.web.request import door

bp = Blueprint("club", __name__, url_prefix="/club")
bp.before_request(door(lambda who: bool(who.clubs)))


def refused(error: NotNow, on_url: str, on_label: str) -> Response:
    """The page that says why not, with a next step of its own."""
    return make_response(
        render_template("errors/409.html", reason=error.reason, on_url=on_url, on_label=on_label), 409
    )
