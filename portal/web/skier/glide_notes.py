"""Glide notes: a skier writes how two of their pairs ran beside each other."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from portal.domain.conditions import Conditions, Moisture, Outcome
from portal.domain.errors import NotFound
from portal.domain.snow import WaterClass, outside_measured
from portal.domain.words import N_, Phrase
from portal.queries import glide_notes as find_notes
from portal.queries import pairs as find_pairs
from portal.services import glide_notes
from portal.services.glide_notes import GlideFacts
from portal.web.language import say
from portal.web.request import actor, db, now, portal, today, transaction
from portal.web.skier.blueprint import bp
from portal.web.skier.day_forms import GlideForm
from portal.web.skier.forms import blame, offer


def comparable(pair: Any) -> list[Any]:
    """The person's other pairs of the same kind of skiing that have a structure of the workshop's on the base."""
    others = [
        one
        for one in find_pairs.of_person(db(), actor().person_id)
        if one.id != pair.id and one.discipline is pair.discipline
    ]
    known = find_notes.on_base(db(), [one.id for one in others], today())
    return [one for one in others if one.id in known]


def _own(pair_id: int) -> Any:
    """The pair, if it is the person's own; whoever else may look at it has nothing to write here."""
    pair = find_pairs.one(db(), actor(), pair_id)
    if pair.owner_id != actor().person_id or pair.archived_at is not None:
        raise NotFound
    return pair


@bp.route("/pairs/<int:pair_id>/glide-notes/new", methods=["GET", "POST"])
def new_glide_note(pair_id: int) -> str | Response:
    pair, here = _own(pair_id), today()
    others = comparable(pair)
    known = find_notes.on_base(db(), [pair.id, *(one.id for one in others)], here)
    if pair.id not in known or not others:
        return render_template(
            "skier/glide_note_not_yet.html",
            pair=pair,
            is_ground=pair.id in known,
            back_url=url_for("skier.pair", pair_id=pair.id),
        )
    form = GlideForm.posted(skied_on=here.isoformat())
    form["skied_on"].today = here
    offer(form, "other", [(str(one.id), _named(one, known[one.id])) for one in others])
    if form.is_sent_and_right() and isinstance(form, GlideForm) and _was_known(form, pair):
        facts = GlideFacts(
            pair.id,
            int(form["other"].data),
            form["skied_on"].day,
            form.conditions,
            Outcome(form["outcome"].data),
            form["remarks"].data or "",
        )
        with transaction() as session:
            glide_notes.add(session, actor(), facts, here, now())
        flash(say(N_("The note is kept. It counts for both structures.")))
        for odd in _odd(facts.conditions):
            flash(say(odd))
        return redirect(url_for("skier.pair", pair_id=pair.id), 303)
    return render_template(
        "skier/glide_note_form.html",
        form=form,
        pair=pair,
        grind=known[pair.id],
        back_url=url_for("skier.pair", pair_id=pair.id),
    )


def _named(pair: Any, grind: Any) -> Phrase:
    return Phrase(N_("%(pair)s, with %(structure)s"), {"pair": pair.title, "structure": grind.structure.name})


def _was_known(form: GlideForm, pair: Any) -> bool:
    """Whether both pairs had a structure of the workshop's on the day; blames the field that has to be changed."""
    other_id = int(form["other"].data)
    known = find_notes.on_base(db(), [pair.id, other_id], form["skied_on"].day)
    if pair.id not in known:
        blame(
            form,
            "skied_on",
            Phrase(N_("Enter a day on which this pair had a structure of the workshop's on it")),
        )
    elif other_id not in known:
        blame(
            form,
            "other",
            Phrase(N_("Choose a pair that had a structure of the workshop's on it that day, or another day")),
        )
    return pair.id in known and other_id in known


def _odd(day: Conditions) -> tuple[Phrase, ...]:
    """What in the note was never measured in a track; it is kept all the same."""
    if day.moisture is not Moisture.WET:
        return ()
    wet: WaterClass = next(one for one in portal().reference.tables.water if one.code == "W")
    # Snow is not warmer than the air, nor than its melting point.
    return outside_measured(snow_c=min(day.air_c, 0.0), water_pct=wet.low_pct)


@bp.post("/glide-notes/<int:note_id>/delete")
def delete_glide_note(note_id: int) -> Response:
    with transaction() as session:
        pair_id = glide_notes.delete(session, actor(), note_id)
    flash(say(N_("The note is deleted and counts no longer.")))
    return redirect(url_for("skier.pair", pair_id=pair_id), 303)
