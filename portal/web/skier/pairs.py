"""A skier's pairs: what each is, what is on its base, how much base is left."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from portal.domain.access import Action, insist, may
from portal.domain.bookings import Stage
from portal.domain.errors import NotNow
from portal.domain.words import N_
from portal.queries import arrivals as find_arrivals
from portal.queries import bookings as find_bookings
from portal.queries import glide_notes as find_notes
from portal.queries import grinds as find_grinds
from portal.queries import pairs as find_pairs
from portal.queries import workshop as find_workshop
from portal.services import pairs
from portal.web import advising, caring, handing_over, history, next_grind, photos
from portal.web.errors import page
from portal.web.fleet_papers import fleet_paper
from portal.web.language import say, speak
from portal.web.pair_form import PairForm
from portal.web.request import actor, db, insist_on_fresh_sign_in, now, portal, today, transaction
from portal.web.reworking import ask_page, can_ask, lines_of
from portal.web.skier.blueprint import bp
from portal.web.skier.note_lines import seen_from


@bp.route("/pairs/new", methods=["GET", "POST"])
def new_pair() -> str | Response:
    form = PairForm.posted()
    if form.is_sent_and_right() and isinstance(form, PairForm):
        with transaction() as session:
            pair = pairs.register(session, actor(), form.facts(), now())
            session.flush()  # The page it leads to needs the pair's number.
            pair_id, title = pair.id, pair.title
        flash(say(N_("%(pair)s is registered."), pair=title))
        return redirect(url_for("skier.pair", pair_id=pair_id), 303)
    return render_template("skier/pair_form.html", form=form, pair=None, back_url=url_for("skier.pairs"))


def _open_booking(pair_id: int) -> Any:
    for booking in find_bookings.of_pair(db(), pair_id):
        back = any(item.pair_id == pair_id and item.stage is Stage.HANDED_BACK for item in booking.items)
        if booking.status.is_open and not back and may(actor(), Action.SEE_BOOKING, booking):
            return booking
    return None


def _is_at_work(booking: Any, pair_id: int) -> bool:
    """Whether the pair was checked in for this booking, which says more than that it was found."""
    return booking is not None and any(
        item.pair_id == pair_id and item.stage is not Stage.AWAITED for item in booking.items
    )


@bp.get("/pairs/<int:pair_id>")
def pair(pair_id: int) -> str:
    found = find_pairs.one(db(), actor(), pair_id)
    grinds = find_grinds.of_pair(db(), pair_id)
    life = history.life_of(db(), pair_id, grinds)
    advised = advising.for_pair(db(), portal().reference, found)
    booking = _open_booking(pair_id)
    return render_template(
        "skier/pair.html",
        pair=found,
        grinds=grinds,
        reworks=lines_of(db(), grinds),
        asks=can_ask(db(), grinds) if may(actor(), Action.BOOK_PAIR, found) else None,
        life=life,
        life_range=history.ranged(life),
        life_table=history.in_numbers(life),
        picture=history.drawn(life),
        removal=speak().mm(life.removal_um, 3),
        minimum_um=find_workshop.the(db()).minimum_um,
        open_booking=booking,
        is_found=found.found_at is not None and not _is_at_work(booking, pair_id),
        answers=find_pairs.answers_of_pair(db(), pair_id),
        advised=advised,
        worth=next_grind.of_pair(db(), grinds, life, advised, today()),
        may_edit=may(actor(), Action.EDIT_PAIR, found),
        is_own=found.owner_id == actor().person_id,
        care=caring.for_pair(db(), found, grinds[0].structure.family.key if grinds else None, life),
        check_ins=find_arrivals.for_owner(db(), found),
        conditions=find_arrivals.condition_words(db()),
        photo_url=photos.addresses("skier"),
        notes=seen_from(find_notes.of_pair(db(), actor(), pair_id), pair_id),
        back_url=url_for("skier.pairs"),
    )


@bp.route("/pairs/<int:pair_id>/edit", methods=["GET", "POST"])
def edit_pair(pair_id: int) -> str | Response:
    found = find_pairs.one(db(), actor(), pair_id)
    insist(actor(), Action.EDIT_PAIR, found)
    form = PairForm.posted(**PairForm.data_of(found))
    if form.is_sent_and_right() and isinstance(form, PairForm):
        with transaction() as session:
            pairs.edit(session, actor(), pair_id, form.facts())
        flash(say(N_("What you changed is kept.")))
        return redirect(url_for("skier.pair", pair_id=pair_id), 303)
    return render_template(
        "skier/pair_form.html", form=form, pair=found, back_url=url_for("skier.pair", pair_id=pair_id)
    )


@bp.post("/pairs/<int:pair_id>/archive")
def archive_pair(pair_id: int) -> Response:
    try:
        with transaction() as session:
            pairs.archive(session, actor(), pair_id, now())
    except NotNow as refusal:
        return page(
            409,
            "409",
            reason=refusal.reason,
            on_url=url_for("skier.pair", pair_id=pair_id),
            on_label=N_("Back to the pair"),
        )
    flash(say(N_("The pair is archived. Its history stays, and you can bring it back at any time.")))
    return redirect(url_for("skier.pairs"), 303)


@bp.post("/pairs/<int:pair_id>/restore")
def restore_pair(pair_id: int) -> Response:
    with transaction() as session:
        pairs.restore(session, actor(), pair_id)
    flash(say(N_("The pair is back in your list.")))
    return redirect(url_for("skier.pair", pair_id=pair_id), 303)


@bp.route("/pairs/<int:pair_id>/hand-over", methods=["GET", "POST"])
def hand_over(pair_id: int) -> str | Response:
    found = find_pairs.one(db(), actor(), pair_id)
    return handing_over.hand_over_page(
        found, url_for("skier.pair", pair_id=pair_id), url_for("skier.withdraw_offer", pair_id=pair_id)
    )


@bp.post("/pairs/<int:pair_id>/hand-over/withdraw")
def withdraw_offer(pair_id: int) -> Response:
    handing_over.withdraw(pair_id)
    flash(say(N_("The code holds no more.")))
    return redirect(url_for("skier.pair", pair_id=pair_id), 303)


@bp.get("/photos/<int:photo_id>.webp")
def photo(photo_id: int) -> Response:
    return photos.answer(photo_id)


@bp.get("/pairs/<int:pair_id>/history.pdf")
def history_pdf(pair_id: int) -> Response:
    found = find_pairs.one(db(), actor(), pair_id)
    return history.paper_of(db(), found, today())


@bp.get("/pairs/histories.pdf")
def histories_pdf() -> Response:
    insist_on_fresh_sign_in(url_for("skier.pairs"))
    return fleet_paper(find_pairs.of_person(db(), actor().person_id), actor().name)


@bp.route("/pairs/<int:pair_id>/grinds/<int:grind_id>/wrong", methods=["GET", "POST"])
def grind_is_wrong(pair_id: int, grind_id: int) -> str | Response:
    found = find_pairs.one(db(), actor(), pair_id)
    return ask_page(found, grind_id, url_for("skier.pair", pair_id=pair_id))
