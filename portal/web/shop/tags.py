"""Tags on sheets of stickers, as the workshop has them: of a booking, of a day's hand-in, of an owner's pairs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flask import redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.errors import NotFound
from portal.domain.personal import ERASED
from portal.domain.tag_sheets import TagSheet
from portal.domain.tags import tag_of
from portal.domain.words import N_, Phrase
from portal.queries import bookings as find_bookings
from portal.queries import pairs as find_pairs
from portal.queries import workshop as find_workshop
from portal.services import workshop
from portal.web.language import say, speak
from portal.web.request import actor, db, now, row_number, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.day import day_of
from portal.web.shop.forms import choice
from portal.web.shop.refusals import leading_to
from portal.web.shop.tag_forms import TagSheetForm, TagsOfPairsForm
from portal.web.tag_papers import tag_paper_of

if TYPE_CHECKING:
    from portal.db.pairs import Pair


@bp.route("/bookings/<int:booking_id>/tags", methods=["GET", "POST"])
def tags(booking_id: int) -> str | Response:
    booking = find_bookings.one(db(), actor(), booking_id)
    return _page(
        TagSheetForm,
        Phrase(N_("Print tags for booking %(reference)s"), {"reference": booking.reference}),
        len(booking.items),
        url_for("shop.booking", booking_id=booking_id),
        url_for("shop.tag_paper", booking_id=booking_id),
    )


@bp.get("/bookings/<int:booking_id>/tags.pdf")
def tag_paper(booking_id: int) -> Response:
    booking = find_bookings.one(db(), actor(), booking_id)
    return tag_paper_of(
        booking.reference, ((item.pair, booking.reference) for item in booking.items), booking.reference
    )


@bp.route("/day/<date>/tags", methods=["GET", "POST"])
def day_tags(date: str) -> str | Response:
    day = day_of(date)
    return _page(
        TagSheetForm,
        Phrase(N_("Print tags for the pairs to hand in on %(day)s"), {"day": speak().date(day)}),
        len(find_bookings.to_hand_in(db(), day)),
        url_for("shop.day", date=day.isoformat()),
        url_for("shop.day_tag_paper", date=day.isoformat()),
    )


@bp.get("/day/<date>/tags.pdf")
def day_tag_paper(date: str) -> Response:
    day = day_of(date)
    items = find_bookings.to_hand_in(db(), day)
    return tag_paper_of(
        speak().date(day), ((item.pair, item.booking.reference) for item in items), day.isoformat()
    )


@bp.route("/pair/<int:pair_id>/tags", methods=["GET", "POST"])
def pair_tags(pair_id: int) -> str | Response:
    pair, others = _with_others(pair_id)
    return _page(
        TagsOfPairsForm,
        Phrase(N_("Print tags for pairs of %(owner)s"), {"owner": _owner(pair)}),
        len(others),
        url_for("shop.pair", pair_id=pair_id),
        url_for("shop.pair_tag_paper", pair_id=pair_id),
        choices=[choice(one.id, " · ".join(filter(None, (one.title, one.mark)))) for one in others],
        pairs=[pair_id],
    )


@bp.get("/pair/<int:pair_id>/tags.pdf")
def pair_tag_paper(pair_id: int) -> Response:
    pair, others = _with_others(pair_id)
    wanted = {row_number(text) for text in request.args.getlist("pair")}
    chosen = [one for one in others if one.id in wanted]
    if not chosen:
        raise NotFound
    return tag_paper_of(_owner(pair), ((one, "") for one in chosen), tag_of(pair_id))


def _with_others(pair_id: int) -> tuple[Pair, list[Pair]]:
    """A pair, and all that its owner has now, itself first."""
    pair = find_pairs.one(db(), actor(), pair_id)
    if pair.club_id is not None:
        others = find_pairs.of_club(db(), pair.club_id)
    else:
        others = find_pairs.of_person(db(), pair.owner_id) if pair.owner_id is not None else []
    return pair, [pair, *(one for one in others if one.id != pair_id)]


def _owner(pair: Pair) -> str:
    owner = pair.club or pair.owner
    return owner.name if owner is not None else say(ERASED)


def _page(
    kind: type[TagSheetForm],
    heading: Phrase,
    many: int,
    back_url: str,
    paper_url: str,
    *,
    choices: list[Any] | None = None,
    pairs: list[int] | None = None,
) -> str | Response:
    """The sheet is looked at and kept, then the paper made; which pairs stand on it is asked where there are ``choices``."""
    kept = TagSheet.from_json(find_workshop.the(db()).tag_sheet)
    form = kind.posted(**kept.to_json(), used=0, pairs=pairs)
    if choices is not None:
        form["pairs"].choices = choices
    if form.is_sent_and_right():
        if form.sheet != kept:
            with leading_to(back_url, N_("Go back")), transaction() as session:
                workshop.keep_tag_sheet(session, actor(), form.sheet, now())
        asked = [("used", int(form.used.value or 0) or None), ("frames", "yes" if form.frames.data else None)]
        asked += [("pair", one) for one in (form["pairs"].data if choices is not None else ())]
        query = "&".join(f"{name}={value}" for name, value in asked if value is not None)
        return redirect(f"{paper_url}?{query}" if query else paper_url, 303)
    return render_template(
        "shop/tags.html",
        form=form,
        heading=heading,
        many=many,
        chooses=choices is not None,
        back_url=back_url,
    )
