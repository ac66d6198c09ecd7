"""Pages that take more than a form's worth of bytes, from people whom the workshop knows."""

from __future__ import annotations

from flask import Flask, request

from portal.domain.photos import MOST_BYTES, MOST_PHOTOS
from portal.web.request import actor_or_none

# The form itself, and a photo too many so that the page can say so.
PHOTO_BYTES = MOST_BYTES * (MOST_PHOTOS + 1)
LIST_BYTES = 5_000_000
LIMITS = {
    "shop.check_in": PHOTO_BYTES,
    "shop.correct_check_in": PHOTO_BYTES,
    # One photo as a phone takes it, and a list of some thousand rows.
    "shop.scan_camera": 15_000_000,
    "shop.crate_camera": 15_000_000,
    "shop.imports": LIST_BYTES,
    "club.imports": LIST_BYTES,
}


def install(app: Flask) -> None:
    """Before the token is looked for, which reads the form: raise the limit where photos and lists are sent by whoever may."""

    @app.before_request
    def raise_the_limit() -> None:
        most = LIMITS.get(request.endpoint or "")
        who = actor_or_none() if most is not None and request.method == "POST" else None
        if who is not None and (who.clubs if request.blueprint == "club" else who.is_staff):
            request.max_content_length = most

    @app.teardown_request
    def close_the_files(_error: BaseException | None) -> None:
        # Large ones stand in files of the system, which are gone once they are closed.
        if "files" in request.__dict__:
            for _name, file in request.files.items(multi=True):
                file.close()
