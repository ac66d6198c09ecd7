"""The way to a booking, one question a page; what is chosen is kept after every page."""

from __future__ import annotations

from typing import Any

from flask import abort, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.base_life import would_pass_minimum
from portal.domain.next_grind import Judgement
from portal.domain.prices import Item
from portal.domain.shares import hundred
from portal.domain.words import N_, Phrase
from portal.queries import catalogue as find_structures
from portal.queries import grinds as find_grinds
from portal.queries import workshop as find_workshop
from portal.services import bookings, drafts, holds, places
from portal.services.bookings import Wanted
from portal.web import advising, history, next_grind
from portal.web.changing import near, shown_offers
from portal.web.hours import hours_on
from portal.web.language import say
from portal.web.request import actor, db, now, portal, today, transaction
from portal.web.skier import draft as drafting
from portal.web.skier.blueprint import bp
from portal.web.skier.draft import Draft
from portal.web.skier.forms import DayForm, NoteForm, PairsForm, WorkForm, blame, offer


def current() -> Draft:
    """This person's draft as it fits today."""
    return drafting.load(db(), actor(), today())


def keep(draft: Draft) -> Response:
    """Store what has been chosen and go to the first step that is still open."""
    stored = draft.stored()
    with transaction() as session:
        drafts.keep(session, actor(), None, stored, now())
    return redirect(current().next_step(), 303)


@bp.route("/book", methods=["GET", "POST"])
def book() -> str | Response:
    draft = current()
    free, taken = drafting.bookable(db(), actor())
    asked = request.args.get("pair", type=int)
    preset = [str(pair.id) for pair in draft.pairs]
    if asked in {pair.id for pair in free} and str(asked) not in preset:
        preset.append(str(asked))
    if not preset and len(free) == 1:
        preset = [str(free[0].id)]
    form = PairsForm.posted(pairs=preset, wish=request.args.get("structure") or draft.wish)
    offer(form, "pairs", [(str(pair.id), pair.title) for pair in free])
    if form.is_sent_and_right():
        ids = form["pairs"].data
        draft.pairs = [pair for pair in free if str(pair.id) in ids]
        draft.wish = form["wish"].data
        return keep(draft)
    return render_template(
        "skier/book_pairs.html",
        form=form,
        draft=draft,
        free=free,
        taken=taken,
        hints=next_grind.hints(
            free, history.lives_of(db(), find_grinds.of_pairs(db(), [pair.id for pair in free]))
        ),
        back_url=url_for("skier.bookings"),
    )


@bp.route("/book/pairs/<int:pair_id>", methods=["GET", "POST"])
def book_work(pair_id: int) -> str | Response:
    draft = current()
    pair = next((one for one in draft.pairs if one.id == pair_id), None)
    if pair is None:
        abort(404)
    rows = {row.key: row for row in find_structures.all_current(db()) if _suits(row, pair)}
    advised = advising.for_pair(db(), portal().reference, pair)
    chosen = draft.work.get(pair.id)
    form = WorkForm.posted(
        structure=_preset(draft, pair, rows, advised),
        extras=[item.value for item in (chosen.billed if chosen else ()) if item is not Item.GRIND],
    )
    offer(form, "structure", [(row.key, row.name) for row in _best_first(rows.values(), advised)])
    if form.is_sent_and_right():
        extras = set(form["extras"].data or ())
        row = rows[form["structure"].data]
        flattening = Item.FLATTENING.value in extras
        if bookings.base_too_thin(db(), find_workshop.the(db()), pair, row, flattening):
            blame(form, "structure", _too_thin(pair, row, flattening))
        else:
            wanted = Wanted(pair.id, row.id, flattening, Item.SATURATION.value in extras)
            draft.work[pair.id] = wanted
            return keep(draft)
    workshop = find_workshop.the(db())
    return render_template(
        "skier/book_work.html",
        form=form,
        draft=draft,
        pair=pair,
        advised=advised,
        suggested=_suggested(pair, rows, advised),
        hints={row.key: _hint(row, advised) for row in rows.values()},
        thinnest_um=find_grinds.thinnest_now_um(db(), pair.id),
        nothing_left=bool(rows)
        and all(bookings.base_too_thin(db(), workshop, pair, row, False) for row in rows.values()),
        number=draft.pairs.index(pair) + 1,
        prices=_prices(),
        back_url=_before_work(draft, pair),
    )


def _suggested(
    pair: Any, rows: dict[str, Any], advised: advising.Advised | None
) -> tuple[str, Judgement] | None:
    """The structure that is suggested, and whether the grind is worth it; nothing where none is."""
    row = rows.get(advised.best) if advised is not None else None
    if row is None:
        return None
    return row.name, next_grind.of_work(db(), pair, row, False, advised, today(), is_chosen=False)


def _suits(row: Any, pair: Any) -> bool:
    return pair.discipline in find_structures.value(row).disciplines


def _preset(draft: Draft, pair: Any, rows: dict[str, Any], advised: advising.Advised | None) -> str | None:
    if pair.id in draft.structures:
        return str(draft.structures[pair.id].key)
    if draft.wish in rows:
        return draft.wish
    return advised.best if advised is not None and advised.best in rows else None


def _best_first(rows: Any, advised: advising.Advised | None) -> list[Any]:
    share = advised.shares if advised is not None else {}
    return sorted(rows, key=lambda row: -share.get(row.key, 0.0))


def _hint(row: Any, advised: advising.Advised | None) -> Phrase | str:
    if advised is not None and row.key in advised.shares:
        return Phrase(
            N_("%(family)s. Suits %(days)s of 100 of the days this pair is for"),
            {"family": row.family.name, "days": hundred(advised.shares[row.key])},
        )
    return str(row.family.name)


def _too_thin(pair: Any, row: Any, flattening: bool) -> Phrase:
    workshop = find_workshop.the(db())
    thinnest = find_grinds.thinnest_now_um(db(), pair.id) or 0
    plain = bookings.removal_for(workshop, row, False)
    if flattening and not would_pass_minimum(thinnest, workshop.minimum_um, plain):
        return Phrase(
            N_(
                "The base is too thin for this structure with flattening. Leave the flattening out, or choose another"
            )
        )
    return Phrase(N_("The base is too thin for this structure. Choose another"))


def _prices() -> dict[str, Any]:
    """What each item costs today, where there is a price."""
    listed = [price for price in find_workshop.prices(db()) if price.valid_from <= today()]
    newest = sorted(listed, key=lambda price: price.valid_from)
    return {price.item.value: price.amount for price in newest}


def _before_work(draft: Draft, pair: Any) -> str:
    place = draft.pairs.index(pair)
    if place:
        return url_for("skier.book_work", pair_id=draft.pairs[place - 1].id)
    return url_for("skier.book")


@bp.route("/book/hand-in", methods=["GET", "POST"])
def book_hand_in() -> str | Response:
    draft = current()
    if not draft.pairs or draft.open_pair is not None or draft.place_key is None:
        return redirect(draft.next_step(), 303)
    before = url_for("skier.book_place" if len(draft.places) > 1 else "skier.book")
    if not draft.hand_in_days:
        return _full(draft, before)
    form = DayForm.posted(day=draft.hand_in.isoformat() if draft.hand_in else None)
    offer(form, "day", [(day.isoformat(), day.isoformat()) for day in draft.hand_in_days])
    if form.is_sent_and_right():
        draft.hand_in = next(day for day in draft.hand_in_days if day.isoformat() == form["day"].data)
        return keep(draft)
    hours = hours_on(draft.hand_in_days)
    return render_template(
        "skier/book_hand_in.html",
        form=form,
        draft=draft,
        offers=near(
            [
                {"value": day.isoformat(), "day": day, "load": None, "reason": None, "told": hours.get(day)}
                for day in draft.hand_in_days
            ],
            form["day"].data,
        ),
        count=len(draft.hand_in_days),
        takes=places.value(draft.place),
        back_url=before if len(draft.places) > 1 else url_for("skier.book_work", pair_id=draft.pairs[-1].id),
    )


@bp.route("/book/ready", methods=["GET", "POST"])
def book_ready() -> str | Response:
    draft = current()
    if not draft.pairs or draft.open_pair is not None or draft.hand_in is None:
        return redirect(draft.next_step(), 303)
    possible = {offer.day.isoformat(): offer.day for offer in draft.offers if offer.is_possible}
    if not possible:
        return _full(draft, url_for("skier.book_hand_in"))
    form = DayForm.posted(day=draft.ready.isoformat() if draft.ready else None)
    offer(form, "day", [(value, value) for value in possible])
    if form.is_sent_and_right():
        draft.ready = possible[form["day"].data]
        return keep(draft)
    return render_template(
        "skier/book_ready.html",
        form=form,
        draft=draft,
        offers=near(shown_offers(draft.offers, draft.express), form["day"].data),
        count=len(draft.offers),
        bill=draft.bill(db(), today()),
        express_price=_prices().get(Item.EXPRESS.value) if draft.express else None,
        back_url=url_for("skier.book_hand_in"),
    )


def _full(draft: Draft, back_url: str) -> Response:
    """Nothing can be promised as far ahead as the workshop looks: say so, and who to ask."""
    until = holds.last_day(find_workshop.the(db()), today())
    page = render_template("skier/full.html", draft=draft, until=until, back_url=back_url)
    return Response(page, 409, mimetype="text/html")


@bp.route("/book/note", methods=["GET", "POST"])
def book_note() -> str | Response:
    draft = current()
    form = NoteForm.posted(note=draft.note or "")
    if form.is_sent_and_right():
        draft.note = form["note"].data
        return keep(draft)
    return render_template(
        "skier/book_note.html", form=form, draft=draft, back_url=url_for("skier.book_ready")
    )


@bp.post("/book/forget")
def book_forget() -> Response:
    with transaction() as session:
        drafts.drop(session, actor(), None)
    flash(say(N_("What you had chosen is forgotten.")))
    return redirect(url_for("skier.bookings"), 303)
