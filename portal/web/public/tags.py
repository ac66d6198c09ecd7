"""The page of a tag, which its square code leads to: whoever may see the pair goes to it, anybody else learns whom to ask."""

from __future__ import annotations

from flask import make_response, redirect, render_template, url_for
from werkzeug.wrappers import Response

from portal.domain.errors import NotFound
from portal.domain.tags import grouped, number_of, tag_of
from portal.queries import pairs as find_pairs
from portal.queries import workshop as find_workshop
from portal.web.hours import shown_hours
from portal.web.public.blueprint import bp
from portal.web.request import actor_or_none, db


@bp.get("/tag/<code>")
def tag(code: str) -> Response:
    number = number_of(code)
    who = actor_or_none()
    if who is not None:
        try:
            pair = find_pairs.one(db(), who, number)
        except NotFound:
            pass
        else:
            return redirect(url_for("shop.pair" if who.is_staff else "skier.pair", pair_id=pair.id))
    # The same for every right code, so that nobody learns here which pairs there are.
    here = find_workshop.the_or_none(db())
    page = make_response(
        render_template(
            "public/tag.html",
            code=grouped(tag_of(number)),
            here=here,
            hours=shown_hours() if here is not None else None,
            is_stranger=who is None,
        )
    )
    page.headers["X-Robots-Tag"] = "noindex"
    return page
