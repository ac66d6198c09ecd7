"""An order in two parts: the day on which some pairs have to be ready, which ones these are, and the day for the rest."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from flask import redirect, render_template, request, url_for
from werkzeug.wrappers import Response
from wtforms import RadioField, SelectMultipleField
from wtforms.fields.choices import SelectChoice  # type: ignore[attr-defined]

from portal.domain.answers import Purpose
from portal.domain.planning.promise import first_possible
from portal.domain.words import N_, Phrase
from portal.queries import bookings as find_bookings
from portal.queries import clubs as find_clubs
from portal.services import drafts, order_parts
from portal.services.bookings import Wanted
from portal.services.order_parts import Part
from portal.web.club import draft as order_draft
from portal.web.club.blueprint import bp
from portal.web.club.forms import note_field, offered
from portal.web.club.ordering import offers_for_page
from portal.web.forms import PortalForm
from portal.web.request import actor, db, now, today, transaction

if TYPE_CHECKING:
    from portal.db.clubs import Club

# So many days with room for some of the pairs are shown.
MOST_DAYS = 15


class PartsForm(PortalForm):
    """Which pairs are ready first, and the day for the rest."""

    early = SelectMultipleField(N_("Which pairs are ready first?"), choices=[], validate_choice=False)
    ready = RadioField(
        N_("By which day do you need the rest?"),
        [offered(N_("Choose the day by which you need the rest"))],
        choices=[],
        validate_choice=False,
    )

    note = note_field()

    def chosen(self, wanted: Sequence[Wanted]) -> tuple[list[Wanted], list[Wanted]]:
        """The pairs that are ready first, and the rest."""
        ticked = set(self.early.data or ())
        first = [one for one in wanted if str(one.pair_id) in ticked]
        return first, [one for one in wanted if str(one.pair_id) not in ticked]


def _races_first(draft: order_draft.Draft) -> list[Wanted]:
    """What is ordered, pairs for races before the others."""
    return [
        line.wanted for line in sorted(draft.lines, key=lambda line: line.pair.purpose is not Purpose.RACE)
    ]


@bp.route("/<int:club_id>/order/parts", methods=["GET", "POST"], endpoint="order_parts")
def choose_parts(club_id: int) -> str | Response:
    club = find_clubs.one(db(), actor(), club_id)
    draft = order_draft.current(db(), actor(), club_id, today())
    back = url_for("club.order_day", club_id=club_id)
    if not draft.is_chosen or draft.arrival is None or len(draft.lines) < 2:
        return redirect(back, 303)
    wanted = _races_first(draft)
    days = order_parts.days(db(), wanted, draft.arrival, today(), MOST_DAYS)
    asked = {day.isoformat(): (day, count) for day, count in days}.get(request.args.get("first", ""))
    if asked is None:
        return render_template(
            "club/order_parts.html",
            club=club,
            days=days,
            count=len(wanted),
            express=draft.express,
            back_url=back,
        )
    return _which_pairs(club, draft, wanted, *asked)


def _which_pairs(
    club: Club, draft: order_draft.Draft, wanted: Sequence[Wanted], day: date, count: int
) -> str | Response:
    club_id, arrival = club.id, draft.arrival or day
    kept = draft.early.pair_ids if draft.early and draft.early.day == day else None
    start = kept if kept is not None else {one.pair_id for one in wanted[:count]}
    form = PartsForm.posted(
        early=[str(number) for number in start],
        ready=draft.ready.isoformat() if draft.ready else None,
        note=draft.note,
    )
    lines = {line.pair.id: line for line in draft.lines}
    form["early"].choices = [SelectChoice(str(one.pair_id), "") for one in wanted]
    first, rest = form.chosen(wanted)
    made = (
        order_parts.days_for_rest(db(), Part(first, day), rest, arrival, today()) if first and rest else None
    )
    offers = made or ()
    form["ready"].choices = [SelectChoice(one.day.isoformat(), "") for one in offers if one.is_possible]
    is_right = form.is_sent_and_right()
    problem = _problem(first, rest, day, can=made is not None)
    if problem is not None:
        # Days for the rest can only be told once the first part is settled.
        form["early"].errors, form["ready"].errors = [problem], []
    elif is_right:
        return _keep(club_id, first, day, form)
    return render_template(
        "club/order_parts_pairs.html",
        club=club,
        form=form,
        day=day,
        count=count,
        lines=[lines[one.pair_id] for one in wanted],
        ticked={one.pair_id for one in first},
        offers=offers_for_page(offers, draft.express),
        is_possible=first_possible(offers) is not None,
        back_url=url_for("club.order_parts", club_id=club_id),
    )


def _problem(first: Sequence[Wanted], rest: Sequence[Wanted], day: date, *, can: bool) -> Phrase | None:
    if not first:
        return Phrase(N_("Tick the pairs that have to be ready first"))
    if not rest:
        return Phrase(N_("Leave at least one pair for the later day"))
    if not can:
        return Phrase(N_("The stone has no room for all of these up to %(day)s. Tick fewer"), {"day": day})
    return None


def _keep(club_id: int, first: Sequence[Wanted], day: date, form: PartsForm) -> Response:
    early = {"day": day.isoformat(), "pairs": [one.pair_id for one in first]}
    with transaction() as session:
        row = find_bookings.draft(session, actor(), club_id)
        if row is not None:
            kept = {**row.stored, "early": early, "ready": form.ready.data, "note": form.note.data}
            drafts.keep(session, actor(), club_id, kept, now())
    return redirect(url_for("club.order_check", club_id=club_id), 303)
