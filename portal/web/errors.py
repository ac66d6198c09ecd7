"""A refusal becomes a page."""

from __future__ import annotations

import structlog
from flask import Flask, make_response, render_template
from flask_wtf.csrf import CSRFError
from werkzeug.exceptions import HTTPException, SecurityError
from werkzeug.wrappers import Response

from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.web.request import to_sign_in

log = structlog.get_logger()
PLAIN_500 = (
    "Something went wrong on our side. Nothing you entered has been changed. Try again in a few minutes.\n"
)
PLAIN_400 = "This site is not served under the name you asked for.\n"
PAGES = {400, 403, 404, 405, 413, 429}


def page(status: int, template: str, **values: object) -> Response:
    """An error page with its status."""
    return make_response(render_template(f"errors/{template}.html", **values), status)


def install(app: Flask) -> None:
    """Hang the handlers."""

    @app.errorhandler(NotFound)
    def not_found(_error: NotFound) -> Response:
        return page(404, "404")

    @app.errorhandler(NotAllowed)
    def not_allowed(_error: NotAllowed) -> Response:
        return page(403, "403")

    @app.errorhandler(NotNow)
    def not_now(error: NotNow) -> Response:
        return page(409, "409", reason=error.reason)

    @app.errorhandler(CSRFError)
    def form_expired(_error: CSRFError) -> Response:
        return page(400, "form_expired")

    @app.errorhandler(SecurityError)
    def foreign_host(_error: SecurityError) -> Response:
        # No page of ours can be drawn for a name that is not ours: its links would lead there.
        return Response(PLAIN_400, 400, mimetype="text/plain")

    @app.errorhandler(HTTPException)
    def other(error: HTTPException) -> Response:
        status = error.code or 500
        if status == 401:
            return to_sign_in()
        if status in PAGES:
            return page(status, str(status))
        return make_response(error.get_response())

    @app.errorhandler(Exception)
    def failed(error: Exception) -> Response:
        # The page shows no detail; the log has it all.
        log.error("request failed", exc_info=error)
        try:
            return page(500, "500")
        except Exception as second:
            # What broke the request may break the page too, a database that is away for one.
            log.error("the page for it failed as well", exc_info=second)
            return Response(PLAIN_500, 500, mimetype="text/plain")
