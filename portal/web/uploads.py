"""How much may be sent at once, where that is more than elsewhere."""

from __future__ import annotations

from flask import Flask, request

# A photo as a phone takes it, and a list of some thousand rows.
LARGER: dict[str, int] = {"shop.scan_camera": 15_000_000, "shop.imports": 5_000_000}


def install(app: Flask) -> None:
    """Before anything else looks into a request: the check of its token reads the form, and so the file."""

    @app.before_request
    def allow_more() -> None:
        if request.endpoint in LARGER:
            request.max_content_length = LARGER[request.endpoint]
