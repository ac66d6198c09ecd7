"""What the bench tells the stone plan: where a pair stays, how far it is, what is on the stones, what is race work."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.bookings import Stage
from portal.domain.errors import NotFound, NotNow
from portal.domain.planning.promise import Place
from portal.domain.stone_plans import ORDINARY_WEIGHT, RACE_WEIGHT
from portal.domain.words import N_, Phrase
from portal.queries import catalogue as find_structures
from portal.queries import days as find_days
from portal.queries import stone_plans as find_plans
from portal.queries import workshop as find_workshop
from portal.services import stones
from portal.services.holds import last_day
from portal.services.stone_plan_taking import places_in
from portal.services.stone_work import items_of, lots_of
from portal.web.language import say, speak
from portal.web.request import actor, db, now, today, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.forms import choice
from portal.web.shop.refusals import leading_to, leading_to_booking
from portal.web.shop.stone import may_plan
from portal.web.shop.stone_forms import PinForm, StepsForm, days_as_choices, dressed_form
from portal.web.shop.stone_words import LayerBook, book_of, grinder_words

if TYPE_CHECKING:
    from portal.db.bookings import BookingItem


def _item(item_id: int) -> BookingItem:
    may_plan()
    found = find_plans.items(db(), [item_id]).get(item_id)
    if found is None:
        raise NotFound
    return found


@bp.route("/stone/pairs/<int:item_id>", methods=["GET", "POST"])
def stone_pair(item_id: int) -> str | Response:
    item = _item(item_id)
    waits = item.booking.status in find_plans.TO_GRIND and item.stage in find_plans.NOT_GROUND
    workshop = find_workshop.the(db())
    work = find_structures.work_of(workshop, item)
    pinned = find_plans.pin_of(db(), item_id)
    asked = request.form.get("what", "")
    pin, steps = _pin_form(item, pinned, asked), _steps_form(item, len(work), asked)
    forms: dict[str, PinForm | StepsForm] = {"pin": pin, "steps": steps}
    form = forms.get(asked)
    problems: list[tuple[str | None, Any]] = []
    if form is not None:
        if not waits:
            with leading_to(url_for("shop.stone_pair", item_id=item_id), N_("See how the pair stands")):
                raise NotNow(N_("This pair does not wait for the stone."))
        if form.is_sent_and_right():
            try:
                return _noted(item, form)
            except NotNow as refusal:
                problems = [(next(iter(form)).id, refusal.reason)]
        else:
            problems = [*form.problems]
    book = book_of([item.structure])
    return render_template(
        "shop/stone_pair.html",
        item=item,
        waits=waits,
        may_have_steps=waits and item.stage is Stage.CHECKED_IN and len(work) > 1,
        rows=_steps(item, [step.layer for step in work], book, workshop.grinders),
        pinned=pinned,
        grinder=grinder_words(pinned.grinder, workshop.grinders) if pinned is not None else None,
        several=workshop.grinders > 1,
        pin=pin,
        steps=steps,
        problems=problems,
        back_url=url_for("shop.stone"),
    )


def _pin_form(item: BookingItem, pinned: Any, asked: str) -> PinForm:
    here, workshop, voice = today(), find_workshop.the(db()), speak()
    kept = {
        "day": pinned.day.isoformat() if pinned is not None else "",
        "grinder": str(pinned.grinder if pinned is not None else 0),
    }
    form = PinForm.posted(**kept) if asked == "pin" else PinForm(data=kept)
    first = here if item.stage is Stage.CHECKED_IN else max(item.booking.arrives_on, here) + timedelta(days=1)
    days = [room.day for room in find_days.rooms(db(), first, last_day(workshop, here))]
    form.day.choices = days_as_choices(days, {day: voice.date(day) for day in days})
    form.grinder.choices = [
        choice(number, Phrase(N_("Grinder %(number)s"), {"number": number + 1}))  # type: ignore[arg-type]
        for number in range(workshop.grinders)
    ]
    if workshop.grinders == 1:
        # There is no question then, and no field on the page.
        form.grinder.data = "0"
    return form


def _steps_form(item: BookingItem, count: int, asked: str) -> StepsForm:
    kept = {"steps": str(item.steps_done)}
    form = StepsForm.posted(**kept) if asked == "steps" else StepsForm(data=kept)
    form.steps.choices = [
        choice(number, Phrase(N_("%(done)s of %(all)s"), {"done": number, "all": count}))  # type: ignore[arg-type]
        for number in range(count)
    ]
    return form


def _noted(item: BookingItem, form: PinForm | StepsForm) -> Response:
    title = item.pair.title
    if isinstance(form, PinForm):
        place = Place(date.fromisoformat(form.day.data), int(form.grinder.data))
        with transaction() as session:
            stones.pin(session, actor(), item.id, place, now())
        told = Phrase(
            N_("%(pair)s stays on %(day)s from the next plan on."),
            {"pair": title, "day": speak().date(place.day)},
        )
    else:
        with transaction() as session:
            stones.note_steps(session, actor(), item.id, int(form.steps.data))
        told = Phrase(N_("The steps of %(pair)s are noted."), {"pair": title})
    flash(say(told))
    return redirect(url_for("shop.stone_pair", item_id=item.id), 303)


def _steps(item: BookingItem, layers: list[str], book: LayerBook, grinders: int) -> list[tuple[Any, ...]]:
    """For each step: number, layer, whether it is done, the day and grinder in the plan in force, and those on the ledger."""
    in_force = find_plans.in_force(db())
    planned: dict[int, Place | None] = {}
    if in_force is not None and item.id in items_of(in_force):
        done = next(
            lot.done for lot in lots_of(in_force).values() if any(one.item == item.id for one in lot.pairs)
        )
        planned = {done + at: place for at, place in enumerate(places_in(in_force)[item.id])}
    held = {one.step: Place(one.work_day.day, one.grinder) for one in item.commitments}

    def where(place: Place | None) -> tuple[date, Phrase | None] | None:
        return None if place is None else (place.day, grinder_words(place.grinder, grinders))

    is_ground = item.stage in {Stage.GROUND, Stage.HANDED_BACK} and not item.unground
    return [
        (
            at + 1,
            book.of(layer).name,
            is_ground or at < item.steps_done,
            where(planned.get(at)),
            where(held.get(at)),
        )
        for at, layer in enumerate(layers)
    ]


@bp.post("/stone/pairs/<int:item_id>/unpin")
def unpin(item_id: int) -> Response:
    item = _item(item_id)
    title = item.pair.title
    with transaction() as session:
        stones.unpin(session, actor(), item_id)
    flash(say(Phrase(N_("%(pair)s goes where the next plan puts it."), {"pair": title})))
    return redirect(url_for("shop.stone_pair", item_id=item_id), 303)


@bp.route("/stone/dressed", methods=["GET", "POST"])
def dressed() -> str | Response:
    may_plan()
    workshop = find_workshop.the(db())
    rows = [*find_structures.all_current(db()), *(item.structure for item in find_plans.to_grind(db()))]
    book = book_of(rows)
    layers = [
        choice("", N_("Nothing")),
        *(choice(name, book.of(name).name) for name in stones.known_layers(db())),  # type: ignore[arg-type]
    ]
    noted = {row.grinder: row for row in find_plans.stones(db())}
    names = [grinder_words(number, workshop.grinders) for number in range(workshop.grinders)]
    kept: dict[str, Any] = {}
    for number in range(workshop.grinders):
        row = noted.get(number)
        kept[f"layer_{number}"] = row.layer if row is not None else ""
        kept[f"left_{number}"] = row.pairs_left if row is not None and row.layer else None
    form = dressed_form(names, layers, workshop.life_pairs).posted(**kept)
    if form.is_sent_and_right():
        with leading_to(url_for("shop.dressed"), N_("See what is on the stones")), transaction() as session:
            for number in range(workshop.grinders):
                layer, left = form.of(number)
                row = noted.get(number)
                if row is None or (row.layer, row.pairs_left) != (layer, left if layer else 0):
                    stones.note_stone(session, actor(), number, layer, left, now())
        flash(say(N_("What is on the stone is noted. The next plan begins with it.")))
        return redirect(url_for("shop.stone"), 303)
    return render_template(
        "shop/dressed.html",
        form=form,
        grinders=[(number, name, noted.get(number)) for number, name in enumerate(names)],
    )


def _weigh(booking_id: int, weight: int) -> Response:
    with leading_to_booking(booking_id), transaction() as session:
        stones.set_weight(session, actor(), booking_id, weight)
    flash(say(N_("The weight is noted. It counts from the next plan on.")))
    return redirect(url_for("shop.booking", booking_id=booking_id), 303)


@bp.post("/bookings/<int:booking_id>/race-work")
def race_work(booking_id: int) -> Response:
    return _weigh(booking_id, RACE_WEIGHT)


@bp.post("/bookings/<int:booking_id>/ordinary-work")
def ordinary_work(booking_id: int) -> Response:
    return _weigh(booking_id, ORDINARY_WEIGHT)
