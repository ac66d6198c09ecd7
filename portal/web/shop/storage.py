"""Skis that wait to be collected: how long, and where they lie."""

from __future__ import annotations

from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response
from wtforms import StringField
from wtforms.form import BaseForm

from portal.domain.arrivals import days_waiting
from portal.domain.bookings import Stage
from portal.domain.words import N_, Phrase
from portal.queries import arrivals as find_arrivals
from portal.queries import workshop as find_workshop
from portal.services import collecting
from portal.web.forms import NumberField, PortalForm, Problem, at_most, trimmed
from portal.web.language import say
from portal.web.request import actor, db, now, today, transaction
from portal.web.shop.blueprint import bp, insist_on_manager
from portal.web.shop.bookings import LAST_PAGE
from portal.web.shop.forms import SHELF_LENGTH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from portal.db.bookings import BookingItem


class DaysField(NumberField):
    """Days that may not be left out, unlike other numbers."""

    def pre_validate(self, form: BaseForm) -> None:
        try:
            super().pre_validate(form)
        except Problem:
            self.number = None
        if self.number is None:
            raise Problem(N_("Enter a number of days from 0 to %(most)s; 0 for never"), most=self.most)


class RemindForm(PortalForm):
    """After how many days people are reminded."""

    days = DaysField(
        N_("Remind people after"),
        least=0,
        most=collecting.MOST_REMIND_DAYS,
        unit=N_("days"),
        filters=[trimmed],
    )


class ShelvesForm(PortalForm):
    """Where each pair of the page lies."""

    def of(self, item_id: int) -> StringField:
        """The field of a pair."""
        field: StringField = self[f"shelf_{item_id}"]
        return field


def shelves_form(items: Sequence[BookingItem]) -> type[ShelvesForm]:
    """The form for these pairs."""
    fields = {
        f"shelf_{item.id}": StringField(
            Phrase(N_("Where %(pair)s lies"), {"pair": item.pair.title}),  # type: ignore[arg-type]
            [at_most(SHELF_LENGTH)],
            filters=[trimmed],
        )
        for item in items
    }
    return type("ShelvesFormOfPage", (ShelvesForm,), fields)


@bp.route("/storage", methods=["GET", "POST"])
def storage() -> str | Response:
    number = min(max(1, request.args.get("page", 1, type=int)), LAST_PAGE)
    items, total = find_arrivals.in_storage(db(), number)
    here = find_workshop.the(db())
    asked = request.form.get("what", "")
    kept = {f"shelf_{item.id}": item.shelf for item in items}
    made = shelves_form(items)
    shelves = made.posted(**kept) if asked == "shelves" else made(data=kept)
    remind = (
        RemindForm.posted(days=here.remind_days)
        if asked == "remind"
        else RemindForm(data={"days": here.remind_days})
    )
    if asked == "shelves" and shelves.is_sent_and_right():
        return _shelved(shelves, [item.id for item in items], number)
    if asked == "remind":
        insist_on_manager()
        if remind.is_sent_and_right():
            with transaction() as session:
                collecting.set_remind_days(session, actor(), remind.days.number or 0, now())
            flash(say(N_("The days until a reminder are kept.")))
            return redirect(url_for("shop.storage", page=number), 303)
    zone, day = ZoneInfo(here.timezone), today()
    pages = -(-total // find_arrivals.PAGE)
    return render_template(
        "shop/storage.html",
        shelves=shelves,
        remind=remind,
        problems=[*shelves.problems, *remind.problems],
        items=items,
        Stage=Stage,
        total=total,
        waits={
            item.id: days_waiting(item.waiting_since.astimezone(zone).date(), day)
            for item in items
            if item.waiting_since is not None
        },
        most_reminders=collecting.MOST_REMINDERS,
        manages=actor().is_manager,
        page=number,
        pages=pages,
        before=url_for("shop.storage", page=min(number - 1, pages)) if number > 1 else None,
        after=url_for("shop.storage", page=number + 1) if number < pages else None,
    )


def _shelved(form: ShelvesForm, item_ids: Sequence[int], number: int) -> Response:
    with transaction() as session:
        collecting.put_on_shelves(
            session, actor(), {item_id: form.of(item_id).data or "" for item_id in item_ids}
        )
    flash(say(N_("Where the skis lie is kept.")))
    return redirect(url_for("shop.storage", page=number), 303)
