"""A pair of the club: what it is, what was done to it, how much base is left."""

from __future__ import annotations

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from portal.domain.errors import NotFound, NotNow
from portal.domain.next_grind import before_first
from portal.domain.words import N_
from portal.queries import arrivals as find_arrivals
from portal.queries import bookings as find_bookings
from portal.queries import clubs as find_clubs
from portal.queries import grinds as find_grinds
from portal.queries import pairs as find_pairs
from portal.services import pairs
from portal.web import caring, handing_over, history, next_grind, photos
from portal.web.club import standing
from portal.web.club.answers import for_pair
from portal.web.club.blueprint import bp, refused
from portal.web.language import say
from portal.web.pair_form import PairForm
from portal.web.request import actor, db, now, today, transaction
from portal.web.reworking import ask_page, can_ask, lines_of


def insist_on_pair(club_id: int, pair_id: int) -> None:
    """``NotFound`` unless the pair is one of this club's and the club is theirs."""
    find_clubs.one(db(), actor(), club_id)
    if find_pairs.one(db(), actor(), pair_id).club_id != club_id:
        raise NotFound


@bp.route("/<int:club_id>/juniors/<int:junior_id>/pairs/add", methods=["GET", "POST"])
def add_pair(club_id: int, junior_id: int) -> str | Response:
    club = find_clubs.one(db(), actor(), club_id)
    junior = find_clubs.junior(db(), actor(), club_id, junior_id)
    form = PairForm.posted()
    if form.is_sent_and_right():
        with transaction() as session:
            pair = pairs.register_for_junior(session, actor(), club_id, junior_id, form.facts(), now())
            session.flush()  # The page it leads to needs the pair's number.
            pair_id, title = pair.id, pair.title
        flash(say(N_("%(pair)s is registered."), pair=title))
        return redirect(url_for("club.pair", club_id=club_id, pair_id=pair_id), 303)
    back = url_for("club.club", club_id=club_id)
    return render_template(
        "club/pair_form.html", club=club, junior=junior, pair=None, form=form, back_url=back
    )


@bp.get("/<int:club_id>/pairs/<int:pair_id>", endpoint="pair")
def the_pair(club_id: int, pair_id: int) -> str:
    insist_on_pair(club_id, pair_id)
    pair = find_pairs.one(db(), actor(), pair_id)
    grinds = find_grinds.of_pair(db(), pair_id)
    life = history.life_of(db(), pair_id, grinds)
    orders = find_bookings.of_pair(db(), pair_id)
    advised = for_pair(db(), pair)
    return render_template(
        "club/pair.html",
        club=find_clubs.one(db(), actor(), club_id),
        pair=pair,
        grinds=grinds,
        reworks=lines_of(db(), grinds),
        asks=can_ask(db(), grinds),
        life=life,
        first=before_first(life),
        life_range=history.ranged(life),
        life_table=history.in_numbers(life),
        picture=history.drawn(life),
        worth=next_grind.of_pair(db(), grinds, life, advised, today()) if grinds or advised else None,
        care=caring.for_pair(db(), pair, grinds[0].structure.family.key if grinds else None, life),
        check_ins=find_arrivals.for_owner(db(), pair),
        conditions=find_arrivals.condition_words(db()),
        # Whoever manages a club has a door of their own too.
        photo_url=photos.addresses("skier"),
        order=standing.in_open_orders(orders).get(pair_id),
        back_url=url_for("club.club", club_id=club_id),
    )


@bp.get("/<int:club_id>/pairs/<int:pair_id>/history.pdf")
def history_pdf(club_id: int, pair_id: int) -> Response:
    insist_on_pair(club_id, pair_id)
    pair = find_pairs.one(db(), actor(), pair_id)
    return history.paper_of(db(), pair, today())


@bp.route("/<int:club_id>/pairs/<int:pair_id>/edit", methods=["GET", "POST"])
def edit_pair(club_id: int, pair_id: int) -> str | Response:
    insist_on_pair(club_id, pair_id)
    pair = find_pairs.one(db(), actor(), pair_id)
    form = PairForm.posted(**PairForm.data_of(pair))
    back = url_for("club.pair", club_id=club_id, pair_id=pair_id)
    if form.is_sent_and_right():
        with transaction() as session:
            pairs.edit(session, actor(), pair_id, form.facts())
        flash(say(N_("What you changed is kept.")))
        return redirect(back, 303)
    club = find_clubs.one(db(), actor(), club_id)
    return render_template(
        "club/pair_form.html", club=club, junior=pair.junior, pair=pair, form=form, back_url=back
    )


@bp.route("/<int:club_id>/pairs/<int:pair_id>/hand-over", methods=["GET", "POST"])
def hand_over(club_id: int, pair_id: int) -> str | Response:
    insist_on_pair(club_id, pair_id)
    pair = find_pairs.one(db(), actor(), pair_id)
    return handing_over.hand_over_page(
        pair,
        url_for("club.pair", club_id=club_id, pair_id=pair_id),
        url_for("club.withdraw_offer", club_id=club_id, pair_id=pair_id),
    )


@bp.post("/<int:club_id>/pairs/<int:pair_id>/hand-over/withdraw")
def withdraw_offer(club_id: int, pair_id: int) -> Response:
    insist_on_pair(club_id, pair_id)
    handing_over.withdraw(pair_id)
    flash(say(N_("The code holds no more.")))
    return redirect(url_for("club.pair", club_id=club_id, pair_id=pair_id), 303)


@bp.post("/<int:club_id>/pairs/<int:pair_id>/archive")
def archive_pair(club_id: int, pair_id: int) -> Response:
    insist_on_pair(club_id, pair_id)
    page = url_for("club.pair", club_id=club_id, pair_id=pair_id)
    try:
        with transaction() as session:
            pairs.archive(session, actor(), pair_id, now())
    except NotNow as error:
        return refused(error, page, N_("Back to the pair"))
    flash(say(N_("The pair is archived. Its history stays, and you can bring it back at any time.")))
    return redirect(page, 303)


@bp.post("/<int:club_id>/pairs/<int:pair_id>/restore")
def restore_pair(club_id: int, pair_id: int) -> Response:
    insist_on_pair(club_id, pair_id)
    with transaction() as session:
        pairs.restore(session, actor(), pair_id)
    flash(say(N_("The pair is back on the roster.")))
    return redirect(url_for("club.pair", club_id=club_id, pair_id=pair_id), 303)


@bp.route("/<int:club_id>/pairs/<int:pair_id>/grinds/<int:grind_id>/wrong", methods=["GET", "POST"])
def grind_is_wrong(club_id: int, pair_id: int, grind_id: int) -> str | Response:
    insist_on_pair(club_id, pair_id)
    found = find_pairs.one(db(), actor(), pair_id)
    return ask_page(found, grind_id, url_for("club.pair", club_id=club_id, pair_id=pair_id))
