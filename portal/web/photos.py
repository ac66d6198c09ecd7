"""Photos of a pair, as answers, and as fields of a form."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from flask import request, url_for
from werkzeug.datastructures import FileStorage
from werkzeug.wrappers import Response

from portal.domain.photos import MOST_BYTES, Picture
from portal.pictures.photos import BadPhoto, cleaned
from portal.queries import arrivals as find_arrivals
from portal.web.request import actor, db

# A photo never changes, and who may see it is asked again after a day.
KEPT_SECONDS = 86_400


def answer(photo_id: int) -> Response:
    """The photo for whoever may see its pair, to be kept by their own browser only."""
    photo = find_arrivals.photo(db(), actor(), photo_id)
    sent = Response(photo.data, mimetype=photo.mimetype)
    sent.set_etag(f"photo-{photo.id}")
    sent.headers["Cross-Origin-Resource-Policy"] = "same-origin"
    sent.headers["Content-Disposition"] = f'inline; filename="photo-{photo.id}.webp"'
    sent.cache_control.private = True
    sent.cache_control.max_age = KEPT_SECONDS
    return sent.make_conditional(request)


def addresses(audience: str) -> Callable[[int], str]:
    """Where the photos stand for an audience."""
    return lambda photo_id: url_for(f"{audience}.photo", photo_id=photo_id)


def sent_files(name: str) -> list[FileStorage]:
    """The files that were chosen in a field; a field that was left empty sends one without a name."""
    return [file for file in request.files.getlist(name) if file.filename]


def read(files: Sequence[FileStorage]) -> tuple[list[Picture], list[tuple[str, Any]]]:
    """The photos that can be kept, and for each that cannot its name and what to do."""
    kept, wrong = [], []
    for file in files:
        try:
            # One byte more than is allowed is enough to see that it is too large.
            kept.append(cleaned(file.stream.read(MOST_BYTES + 1)))
        except BadPhoto as bad:
            wrong.append((file.filename or "", bad.phrase))
    return kept, wrong
