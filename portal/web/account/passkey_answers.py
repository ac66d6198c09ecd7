"""What the script on a page asks before it turns to the device."""

from __future__ import annotations

from werkzeug.wrappers import Response

from portal.domain.errors import NotFound


def as_json(options: str | None) -> Response:
    """The question to the device; ``NotFound`` where there is none to ask any more."""
    if options is None:
        raise NotFound
    return Response(options, mimetype="application/json")
