"""What skiers found of the structures, beside what the workshop states; the notes behind it, and which of them count."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, TypeVar

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response
from wtforms import TextAreaField

from portal.domain.access import Action, insist
from portal.domain.conditions import Moisture, mirrored
from portal.domain.errors import NotFound
from portal.domain.found_on_snow import Found, found
from portal.domain.set_aside import SetAside
from portal.domain.shares import hundred
from portal.domain.snow import SnowKind
from portal.domain.timed_runs import TimedRuns
from portal.domain.words import N_, Phrase
from portal.queries import catalogue as find_structures
from portal.queries import glide_notes as find_notes
from portal.services import glide_notes
from portal.web.evidence import class_words, difference_words, evidence_now, told
from portal.web.forms import PortalForm, at_most, said, trimmed
from portal.web.language import say
from portal.web.range_words import signed
from portal.web.request import actor, db, now, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.refusals import leading_to

if TYPE_CHECKING:
    from portal.db.catalogue import Structure
    from portal.db.glide_notes import GlideNote

WORDS_LENGTH = 500
E = TypeVar("E", bound=StrEnum)


@dataclass(frozen=True)
class ClassRow:
    """One class of snow of a structure, as the pages write it."""

    found: Found
    url: str

    @property
    def snow(self) -> Phrase:
        return class_words(self.found.kind, self.found.moisture)

    @property
    def won(self) -> Phrase:
        return told(self.found.tally)

    @property
    def stated(self) -> int:
        """Of 100."""
        return hundred(self.found.stated)

    @property
    def believed(self) -> Phrase:
        """What the advice goes by: the statement, moved by the notes."""
        one = self.found
        low, high = one.tally.interval(one.stated)
        return Phrase(
            N_("%(mean)s of 100 (95 %% interval: %(low)s to %(high)s)"),
            {"mean": hundred(one.tally.believed(one.stated)), "low": hundred(low), "high": hundred(high)},
        )

    @property
    def drawn(self) -> int | None:
        """The share won once it is drawn towards the family, of 100."""
        return None if self.found.drawn is None else hundred(self.found.drawn)


@dataclass(frozen=True)
class NoteRow:
    """One note as the workshop reads it: from the side of one structure, and without a name."""

    note: GlideNote
    skier: int
    turned: bool

    @property
    def air(self) -> str:
        return signed(self.note.air_c)

    @property
    def ran(self) -> Phrase:
        """How the structure ran, and beside which one."""
        other = self.note.structure if self.turned else self.note.other_structure
        outcome = mirrored(self.note.outcome) if self.turned else self.note.outcome
        return Phrase(
            N_("%(outcome)s, beside %(other)s"),
            {"outcome": Phrase(outcome.label), "other": other.name if other is not None else "–"},
        )

    @property
    def timed(self) -> Phrase | None:
        """What its times tell."""
        if not self.note.timed:
            return None
        runs = TimedRuns.from_json(self.note.timed)
        return difference_words(runs.mirrored if self.turned else runs)

    @property
    def why(self) -> Phrase | str:
        """Why it does not count."""
        aside = self.note.set_aside
        if aside is None or aside is SetAside.WORKSHOP:
            return self.note.set_aside_words
        return Phrase(aside.label)


def _rows() -> tuple[list[Structure], dict[str, tuple[Found, ...]]]:
    """The structures on offer, and what was found of each."""
    insist(actor(), Action.SEE_CATALOGUE, None)
    offered = find_structures.all_current(db())
    return offered, found(evidence_now(db()), [find_structures.value(row) for row in offered])


def _classes(key: str, some: Sequence[Found]) -> list[ClassRow]:
    return [
        ClassRow(one, url_for("shop.notes_behind", key=key, kind=one.kind.value, moisture=one.moisture.value))
        for one in some
    ]


@bp.get("/found-on-snow", endpoint="found_on_snow")
def all_found() -> str:
    offered, rows = _rows()
    return render_template(
        "shop/found_on_snow.html",
        against=[
            (row, one)
            for row in offered
            for one in _classes(row.key, rows[row.key])
            if one.found.verdict.contradicts
        ],
        structures=[(row, _classes(row.key, rows[row.key])) for row in offered],
        back_url=url_for("shop.hub"),
    )


@bp.get("/found-on-snow/<key>")
def found_of_structure(key: str) -> str:
    offered, rows = _rows()
    row = next((one for one in offered if one.key == key), None)
    if row is None:
        raise NotFound
    return render_template(
        "shop/found_of_structure.html",
        row=row,
        classes=_classes(key, rows[key]),
        back_url=url_for("shop.found_on_snow"),
    )


@bp.get("/found-on-snow/<key>/<kind>/<moisture>")
def notes_behind(key: str, kind: str, moisture: str) -> str:
    snow, wet = _member(SnowKind, kind), _member(Moisture, moisture)
    offered, rows = _rows()
    row = next((one for one in offered if one.key == key), None)
    if row is None:
        raise NotFound
    notes = find_notes.behind(db(), key, snow, wet)
    # Whoever wrote first is skier 1: who it is, nobody needs to know to judge a note.
    people = list(dict.fromkeys(note.person_id for note in reversed(notes)))
    listed = [NoteRow(note, people.index(note.person_id) + 1, note.structure.key != key) for note in notes]
    return render_template(
        "shop/notes_behind.html",
        row=row,
        snow=class_words(snow, wet),
        one=next((one for one in _classes(key, rows[key]) if one.url.endswith(f"/{kind}/{moisture}")), None),
        counted=[one for one in listed if one.note.set_aside is None],
        aside=[one for one in listed if one.note.set_aside is not None],
        most=find_notes.LISTED_AT_MOST if len(notes) == find_notes.LISTED_AT_MOST else None,
        back_url=url_for("shop.found_of_structure", key=key),
    )


def _member(members: type[E], value: str) -> E:
    try:
        return members(value)
    except ValueError:
        raise NotFound from None


class AsideForm(PortalForm):
    """Why a note does not count."""

    words = TextAreaField(
        N_("Why does it not count?"),
        [said(N_("Write why the note does not count: whoever wrote it reads it")), at_most(WORDS_LENGTH)],
        filters=[trimmed],
        description=N_("The skier reads it word for word beside the note"),
    )


def _url_of(note: GlideNote) -> str:
    return url_for(
        "shop.notes_behind", key=note.structure.key, kind=note.kind.value, moisture=note.moisture.value
    )


@bp.route("/glide-notes/<int:note_id>/set-aside", methods=["GET", "POST"])
def set_note_aside(note_id: int) -> str | Response:
    insist(actor(), Action.JUDGE_NOTE, None)
    note = find_notes.at_the_workshop(db(), note_id)
    here, form = _url_of(note), AsideForm.posted()
    if form.is_sent_and_right():
        words = form.words.data or ""
        with leading_to(here, N_("Back to the notes"), [(N_("Reason"), words)]), transaction() as session:
            glide_notes.set_aside(session, actor(), note_id, words, now())
        flash(say(N_("The note is kept and counts no longer.")))
        return redirect(here, 303)
    return render_template(
        "shop/set_note_aside.html", form=form, one=NoteRow(note, 0, turned=False), note=note, back_url=here
    )


@bp.post("/glide-notes/<int:note_id>/count")
def count_note(note_id: int) -> Response:
    insist(actor(), Action.JUDGE_NOTE, None)
    here = _url_of(find_notes.at_the_workshop(db(), note_id))
    with leading_to(here, N_("Back to the notes")), transaction() as session:
        glide_notes.count_again(session, actor(), note_id, now())
    flash(say(N_("The note counts again.")))
    return redirect(here, 303)
