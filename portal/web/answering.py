"""How a stopped pair goes on: the same page for skiers, for clubs, and for the workshop that enters their answer."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from flask import flash, redirect, render_template
from werkzeug.wrappers import Response
from wtforms import RadioField
from wtforms.fields.choices import SelectChoice  # type: ignore[attr-defined]

from portal.domain.errors import NotFound, NotNow
from portal.domain.planning.promise import NoRoom
from portal.domain.stops import Answer
from portal.domain.words import N_, Phrase
from portal.queries import arrivals as find_arrivals
from portal.queries import stops as find_stops
from portal.queries import workshop as find_workshop
from portal.services import stops
from portal.web import photos
from portal.web.errors import page
from portal.web.forms import PortalForm, Problem
from portal.web.language import say, speak
from portal.web.request import actor, db, now, row_number, today, transaction

SEE_BOOKING = N_("See how the booking stands")


class AnswerForm(PortalForm):
    """One of the ways that are open; lighter work is named by its structure."""

    way = RadioField(N_("How shall it go on with this pair?"), choices=[], validate_choice=False)

    def validate_way(self, field: Any) -> None:
        if not any(choice.selected for choice in field.iter_choices()):
            raise Problem(N_("Choose how it goes on"))

    @property
    def answer(self) -> tuple[Answer, int | None]:
        """The answer, and the structure of lighter work."""
        name, _colon, structure = self.way.data.partition("-")
        return Answer(name), row_number(structure)


def stopped_page(booking: Any, item_id: int, back_url: str, *, for_them: bool = False) -> str | Response:
    """The page for a stopped pair of a booking that the reader may see; ``for_them`` where the workshop enters the answer."""
    item = next((one for one in booking.items if one.id == item_id), None)
    if item is None:
        raise NotFound
    stop = find_stops.open_of(db(), [item_id]).get(item_id)
    if stop is None:
        # Somebody has answered already: the booking says what.
        return redirect(back_url, 303)
    form = AnswerForm.posted()
    ways, hints = _ways(booking, item, stop)
    form.way.choices = [SelectChoice(value, label) for value, label in ways]
    if form.is_sent_and_right():
        try:
            _answer(item_id, form)
        except NoRoom:
            form.way.errors = [N_("The stone has filled up meanwhile. Look at the days again and choose")]
        except NotNow as refusal:
            return page(409, "409", reason=refusal.reason, on_url=back_url, on_label=SEE_BOOKING)
        else:
            flash(say(N_("It is noted how it goes on, and a letter is on its way.")))
            return redirect(back_url, 303)
    row = find_arrivals.check_in_of(db(), item_id)
    return render_template(
        "booking/stopped.html",
        form=form,
        booking=booking,
        item=item,
        stop=stop,
        hints=hints,
        check_in=row,
        conditions=find_arrivals.condition_words(db()),
        has_lighter=any(value.startswith(Answer.LIGHTER) for value, _label in ways),
        photo_url=photos.addresses("shop" if for_them else "skier"),
        for_them=for_them,
        back_url=back_url,
    )


def _answer(item_id: int, form: AnswerForm) -> None:
    given, structure = form.answer
    here = today()
    with transaction() as session:
        stops.answer(session, actor(), item_id, given, today=here, now=now(), structure_id=structure)


def _ways(
    booking: Any, item: Any, stop: Any
) -> tuple[Sequence[tuple[str, Phrase | str]], dict[str, Phrase | str]]:
    """(value, words) of each way that is open, and what is said under it."""
    ways: list[tuple[str, Phrase | str]] = []
    hints: dict[str, Phrase | str] = {}
    workshop, here = find_workshop.the(db()), today()
    for given in stops.answers_for(db(), actor(), item, stop):
        if given is not Answer.LIGHTER:
            ways.append((given.value, given.label))
            if given is Answer.TAKE_BACK:
                hints[given.value] = N_("Nothing is charged for this pair")
            continue
        for row in find_stops.lighter(db(), workshop, item):
            day = stops.ready_day(db(), workshop, booking, item, row, False, here)
            if day is None:
                continue
            value = f"{given}-{row.id}"
            ways.append(
                (value, Phrase(N_("Grind %(structure)s without base flattening"), {"structure": row.name}))
            )
            hints[value] = Phrase(
                N_("%(family)s. %(when)s"), {"family": row.family.name, "when": _when(day, booking.ready_on)}
            )
    return ways, hints


def _when(day: date, promised: date) -> Phrase:
    if day == promised:
        return Phrase(N_("Ready on %(day)s, as promised"), {"day": speak().date(day)})
    return Phrase(
        N_("Ready on %(day)s instead of %(promised)s"),
        {"day": speak().date(day), "promised": speak().date(promised)},
    )
