"""Where the skis are handed in, for a booking on its way; asked only where there is a choice."""

from __future__ import annotations

from typing import Any

from flask import redirect, render_template, url_for
from werkzeug.wrappers import Response

from portal.domain.prices import Item, price_or_none
from portal.queries import workshop as find_workshop
from portal.services import places
from portal.web.place_words import place_choices, place_hint
from portal.web.request import db, today
from portal.web.skier.blueprint import bp
from portal.web.skier.book import current, keep
from portal.web.skier.forms import PlaceForm, offer


@bp.route("/book/place", methods=["GET", "POST"])
def book_place() -> str | Response:
    draft = current()
    if not draft.pairs or draft.open_pair is not None or len(draft.places) == 1:
        return redirect(draft.next_step(), 303)
    form = PlaceForm.posted(place=draft.place_key or places.key(draft.places[0]))
    offer(form, "place", place_choices(draft.places))
    if form.is_sent_and_right():
        if form["place"].data != draft.place_key:
            # Another place has other days.
            draft.hand_in = None
        draft.place_key = form["place"].data
        return keep(draft)
    return render_template(
        "skier/book_place.html",
        form=form,
        draft=draft,
        hints=_hints(draft.places),
        back_url=url_for("skier.book_work", pair_id=draft.pairs[-1].id),
    )


def _hints(offered: list[Any]) -> dict[str, Any]:
    postage = price_or_none(find_workshop.prices(db()), Item.RETURN_POST, today())
    return {places.key(place): place_hint(place, postage) for place in offered}
