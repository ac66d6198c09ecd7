"""The security headers of every answer."""

from __future__ import annotations

from flask import Flask, Response, request

# The relief of a structure is an image that stands in its drawing: it has no address of its own, since what is shown may not
# be saved yet, and an image runs nothing. Nothing else may come as data.
POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data:",
        "connect-src 'self'",
        "manifest-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)

# The camera opens on the pages that scan tags with it and nowhere else.
WITH_CAMERA = frozenset({"shop.scan_camera", "shop.crate_camera"})


def install(app: Flask) -> None:
    """Put the headers on every answer; pages that show a person's things are never kept by a cache."""

    @app.after_request
    def add(response: Response) -> Response:
        response.headers["Content-Security-Policy"] = POLICY
        response.headers["X-Content-Type-Options"] = "nosniff"
        # Not "no-referrer": over https the CSRF check wants to see where a form was sent from.
        response.headers["Referrer-Policy"] = "same-origin"
        response.headers["Cross-Origin-Opener-Policy"] = "same-origin"
        camera = "(self)" if request.endpoint in WITH_CAMERA else "()"
        response.headers["Permissions-Policy"] = f"camera={camera}, geolocation=(), microphone=(), payment=()"
        if request.is_secure:
            response.headers["Strict-Transport-Security"] = "max-age=31536000"
        # A photo says itself that only the browser of whoever asked may keep it.
        if request.endpoint != "static" and not response.cache_control.private:
            response.headers["Cache-Control"] = "no-store"
        return response
