"""A pair comes in: what is found on it, and what was found until it is ground."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import TYPE_CHECKING, Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.access import Action, insist
from portal.domain.bookings import Stage, Status, advance
from portal.domain.errors import NotNow
from portal.domain.photos import ACCEPTED, MOST_BYTES, MOST_PHOTOS, Picture
from portal.domain.words import N_, Phrase
from portal.queries import arrivals as find_arrivals
from portal.queries import bookings as find_bookings
from portal.queries import grinds as find_grinds
from portal.queries import workshop as find_workshop
from portal.services import arrivals, grinds
from portal.web import photos
from portal.web.language import say
from portal.web.request import actor, db, now, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.check_in_form import APART, SIDES, CheckInForm, check_in_form, data_of
from portal.web.shop.refusals import leading_to_booking

if TYPE_CHECKING:
    from portal.db.bookings import BookingItem

Keep = Callable[[Any, list[Picture]], None]


def to_work_on(item_id: int) -> BookingItem:
    """The pair of a booking for whoever works at the bench; ``NotFound`` when there is none."""
    item = find_bookings.item(db(), actor(), item_id)
    insist(actor(), Action.WORK_ON_PAIR, item)
    return item


def day_asked() -> date | None:
    """The day from whose list the page was opened."""
    try:
        return date.fromisoformat(request.values.get("day", ""))
    except ValueError:
        return None


def from_crate() -> bool:
    """Whether the page was opened while a crate is unpacked."""
    return "crate" in request.values


def back_url(booking_id: int) -> str:
    """To the crate or the day the way led from, else to the booking."""
    if from_crate():
        return url_for("shop.crate", booking_id=booking_id)
    day = day_asked()
    if day is None:
        return url_for("shop.booking", booking_id=booking_id)
    return url_for("shop.day", date=day.isoformat())


@bp.route("/pairs/<int:item_id>/check-in", methods=["GET", "POST"])
def check_in(item_id: int) -> str | Response:
    item = to_work_on(item_id)
    form = check_in_form(find_arrivals.condition_words(db())).posted(
        brought_by=item.booking.person.name, flatness=""
    )
    with leading_to_booking(item.booking_id, _written(form)):
        if item.booking.status is not Status.CONFIRMED:
            raise NotNow(N_("Only pairs of a confirmed booking are checked in. Confirm the booking first."))
        advance(item.stage, Stage.CHECKED_IN)

    def keep(session: Any, pictures: list[Picture]) -> None:
        grinds.check_in(session, actor(), item_id, now(), form.found(), pictures)

    return _page(item, form, keep, N_("%(pair)s is checked in."), is_new=True)


@bp.route("/pairs/<int:item_id>/check-in/correct", methods=["GET", "POST"])
def correct_check_in(item_id: int) -> str | Response:
    item = to_work_on(item_id)
    row = find_arrivals.check_in_of(db(), item_id)
    form = check_in_form(find_arrivals.condition_words(db())).posted(**(data_of(row) if row else {}))
    with leading_to_booking(item.booking_id, _written(form)):
        if item.stage not in {Stage.CHECKED_IN, Stage.STOPPED}:
            raise NotNow(N_("What was found at check-in is only changed until the pair is ground."))

    def keep(session: Any, pictures: list[Picture]) -> None:
        arrivals.correct(session, actor(), item_id, form.found(), pictures, now())

    return _page(item, form, keep, N_("What was found on %(pair)s is noted."), is_new=False)


def _page(item: BookingItem, form: CheckInForm, keep: Keep, told: str, *, is_new: bool) -> str | Response:
    if form.is_sent_and_right():
        pictures = _pictures(form)
        if not form.photos.errors:
            return _kept(item, form, keep, pictures, told)
    row = find_arrivals.check_in_of(db(), item.id)
    here = find_workshop.the(db())
    return render_template(
        "shop/check_in.html",
        form=form,
        item=item,
        is_new=is_new,
        kept_photos=row.photos if row is not None else [],
        lost_photos=bool(photos.sent_files("photos")),
        thinnest_um=find_grinds.thinnest_now_um(db(), item.pair_id),
        minimum_um=here.minimum_um,
        accepted=ACCEPTED,
        most_photos=MOST_PHOTOS,
        most_megabytes=MOST_BYTES // 1_000_000,
        day=day_asked(),
        is_crate=from_crate(),
        back_url=back_url(item.booking_id),
    )


def _pictures(form: CheckInForm) -> list[Picture]:
    """The photos that were sent; what is wrong with one is said at the field."""
    kept, wrong = photos.read(photos.sent_files("photos")[: MOST_PHOTOS + 1])
    problems: list[Any] = [
        Phrase(N_("%(file)s: %(problem)s"), {"file": name, "problem": problem}) for name, problem in wrong
    ]
    if len(kept) > MOST_PHOTOS:
        problems = [Phrase(N_("Choose at most %(most)s photos"), {"most": MOST_PHOTOS})]
    form.photos.errors = problems
    return kept


def _kept(item: BookingItem, form: CheckInForm, keep: Keep, pictures: list[Picture], told: str) -> Response:
    item_id, booking_id, title = item.id, item.booking_id, item.pair.title
    on_url = back_url(booking_id)
    with leading_to_booking(booking_id, _written(form)), transaction() as session:
        keep(session, pictures)
    flash(say(Phrase(told, {"pair": title})))
    stage = find_bookings.item(db(), actor(), item_id).stage
    if from_crate():
        # The next pair is waiting; what is stopped stands in the letter about the crate.
        return redirect(on_url, 303)
    if stage is Stage.STOPPED:
        on_url = url_for("shop.stopped", item_id=item_id)
    elif form.match.data == APART:
        on_url = url_for("shop.stop", item_id=item_id)
    return redirect(on_url, 303)


def _written(form: CheckInForm) -> list[tuple[Phrase | str, str]]:
    """What was measured and written, to be shown when it could not be kept."""
    if request.method != "POST":
        return []
    points = [form.base_tip.data, form.base_middle.data, form.base_tail.data]
    rows = [
        (label, " ".join(filter(None, (_side(left, right), spot.data, words.data))))
        for label, (left, right, spot, words) in zip(form.conditions.values(), form.rows(), strict=True)
    ]
    return [
        (
            N_("Base, µm: tip / middle / tail"),
            " / ".join(one or "–" for one in points) if any(points) else "",
        ),
        (N_("Widest gap under the straight edge"), form.gap.data or ""),
        *rows,
        (N_("The remarks you wrote"), form.remarks.data or ""),
    ]


def _side(left: Any, right: Any) -> str:
    side = SIDES.get((left.data, right.data))
    return say(side.label) if side is not None else ""


@bp.post("/photos/<int:photo_id>/remove")
def remove_photo(photo_id: int) -> Response:
    pair_id = find_arrivals.photo(db(), actor(), photo_id).pair_id
    with transaction() as session:
        arrivals.remove_photo(session, actor(), photo_id, now())
    flash(say(N_("The photo is removed for good.")))
    return redirect(url_for("shop.pair", pair_id=pair_id), 303)


@bp.get("/photos/<int:photo_id>.webp")
def photo(photo_id: int) -> Response:
    return photos.answer(photo_id)
