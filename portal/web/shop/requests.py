"""The queue: what waits for the workshop's answer, and what waits for the skier's."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from flask import render_template, request, url_for
from wtforms import SelectField, StringField

from portal.domain.words import N_
from portal.queries import booking_notes as find_notes
from portal.queries import requests as find_requests
from portal.queries import reworks as find_reworks
from portal.queries import workshop as find_workshop
from portal.queries.requests import Queue, Show, Sort
from portal.web.forms import PortalForm, Problem, trimmed
from portal.web.request import actor, db, today
from portal.web.shop.blueprint import bp
from portal.web.shop.bookings import LAST_PAGE
from portal.web.shop.forms import DayField, choice

if TYPE_CHECKING:
    from portal.db.bookings import Booking

CLUB, PERSON = "club", "person"


class MaybeDayField(DayField):
    """A day that may be left out."""

    def pre_validate(self, form: Any) -> None:
        if (self.data or "").strip():
            super().pre_validate(form)


class QueueForm(PortalForm):
    """What the list is narrowed to; read from the address."""

    words = StringField(N_("Reference, name, club or e-mail address"), filters=[trimmed])
    show = SelectField(
        N_("Waits for"),
        choices=[choice("", N_("Everything that waits")), *(choice(one.value, one.label) for one in Show)],
        validate_choice=False,
    )
    who = SelectField(
        N_("From"),
        choices=[
            choice("", N_("Anybody")),
            choice(PERSON, N_("Skiers")),
            choice(CLUB, N_("Clubs")),
        ],
        validate_choice=False,
    )
    ready_from = MaybeDayField(N_("Ready from"), ask="")
    ready_to = MaybeDayField(N_("Ready until"), ask="")

    def validate_ready_to(self, field: Any) -> None:
        if field.day is not None and self.ready_from.day is not None and field.day < self.ready_from.day:
            raise Problem(N_("Enter a last day that is not before the first day"))

    @property
    def queue(self) -> Queue:
        """What is asked for, as far as it could be read."""
        is_right = not self.ready_to.errors
        return Queue(
            show=next((one for one in Show if one.value == self.show.data), None),
            of_club={CLUB: True, PERSON: False}.get(self.who.data or ""),
            ready_from=self.ready_from.day,
            ready_to=self.ready_to.day if is_right else None,
            words=self.words.data or "",
            sort=next((one for one in Sort if one.value == request.args.get("sort")), Sort.SENT),
            is_down=request.args.get("order") == "down",
        )


def days_since(booking: Booking, timezone: str, day: date) -> int:
    """How many days ago the request was sent, by the workshop's calendar."""
    return (day - booking.created_at.astimezone(ZoneInfo(timezone)).date()).days


def _address(form: QueueForm, queue: Queue, **more: Any) -> str:
    """This list with something else about it."""
    asked = {name: field.data or None for name, field in form._fields.items()}
    asked |= {"sort": queue.sort if queue.sort is not Sort.SENT else None, "order": None}
    asked["order"] = "down" if queue.is_down else None
    return url_for("shop.requests", **asked | more)


def _heads(form: QueueForm, queue: Queue) -> dict[str, tuple[str, str, str | None]]:
    """The heads that sort: words, address, and how it is sorted now."""
    labels = {
        Sort.SENT: N_("Sent"),
        Sort.FROM: N_("From"),
        Sort.HAND_IN: N_("Hand in"),
        Sort.READY: N_("Ready"),
    }
    found = {}
    for sort, label in labels.items():
        is_this = sort is queue.sort
        goes_down = is_this and not queue.is_down
        url = _address(form, queue, sort=sort.value, order="down" if goes_down else None)
        found[sort.value] = (label, url, ("down" if queue.is_down else "up") if is_this else None)
    return found


@bp.get("/requests")
def requests() -> str:
    form = QueueForm(formdata=request.args)
    form.validate()
    queue = form.queue
    number = min(max(1, request.args.get("page", 1, type=int)), LAST_PAGE)
    waiting, total = find_requests.page(db(), queue, number)
    pages = -(-total // find_requests.PAGE)
    timezone, here = find_workshop.the(db()).timezone, today()
    return render_template(
        "shop/requests.html",
        form=form,
        waiting=waiting,
        wrong=find_reworks.waiting(db()),
        total=total,
        queue=queue,
        heads=_heads(form, queue),
        age={booking.id: days_since(booking, timezone, here) for booking in waiting},
        noted=find_notes.unseen(db(), [booking.id for booking in waiting]),
        today=here,
        decides=actor().is_manager,
        page=number,
        pages=pages,
        before=_address(form, queue, page=min(number - 1, pages)) if number > 1 else None,
        after=_address(form, queue, page=number + 1) if number < pages else None,
    )
