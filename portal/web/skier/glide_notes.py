"""Glide notes: a skier writes in three steps how pairs ran beside each other; what was answered stands in the address."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from secrets import token_urlsafe
from typing import Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.datastructures import MultiDict
from werkzeug.wrappers import Response

from portal.domain.answers import Discipline
from portal.domain.errors import NotFound
from portal.domain.words import N_, Phrase
from portal.queries import glide_notes as find_notes
from portal.queries import pairs as find_pairs
from portal.services import glide_notes
from portal.services.glide_notes import Outing
from portal.web.evidence import snow_words
from portal.web.forms import trimmed
from portal.web.language import say, speak
from portal.web.request import actor, db, now, portal, row_number, today, transaction
from portal.web.skier.blueprint import bp
from portal.web.skier.day_forms import ABOUT_C, DayForm, kept_snow
from portal.web.skier.forms import offer
from portal.web.skier.note_forms import AS_IT_IS, LEAST_PAIRS, MEANT, PairsForm, RanForm, ran_form
from portal.web.skier.note_lines import told

# ``ON`` is the first step that still has something to ask.
SNOW, PAIRS, RAN, ON = "snow", "pairs", "ran", "on"
SNOW_FIELDS = ("skied_on", "about", "air", "kind", "moisture", "humidity")
KEY_LENGTH = 43


@dataclass
class Steps:
    """What has been answered so far, and what can be chosen."""

    given: MultiDict[str, str]
    mine: Sequence[Any]
    day: DayForm
    # The numbers of the pairs, in the order in which they came; the first is the one that is asked about.
    chosen: list[str]

    def address(self, step: str, **more: Any) -> str:
        """A step with all that was answered."""
        kept = {name: self.day[name].data for name in SNOW_FIELDS if self.day[name].data}
        return url_for("skier.how_they_ran", **{**kept, "pair": self.chosen, **more, "step": step})

    @property
    def hidden(self) -> list[tuple[str, str]]:
        """The snow of the day, for the forms of the later steps."""
        return [(name, self.day[name].data) for name in SNOW_FIELDS if self.day[name].data]

    @property
    def words(self) -> tuple[Phrase, str]:
        """The snow of the day in words, and the day."""
        return snow_words(self.day.conditions), speak().date(self.day["skied_on"].day)


@bp.route("/glide-notes/new", methods=["GET", "POST"], endpoint="how_they_ran")
def how_they_ran() -> str | Response:
    given = request.form if request.method == "POST" else request.args
    mine = find_pairs.of_person(db(), actor().person_id)
    if not {row_number(number) for number in given.getlist("pair")} <= {pair.id for pair in mine}:
        raise NotFound
    if not _comparable(mine, today())[0]:
        return render_template("skier/glide_note_not_yet.html", back_url=url_for("skier.pairs"), mine=mine)
    steps = Steps(given, mine, _day(given), list(dict.fromkeys(given.getlist("pair"))))
    step = given.get("step", ON if steps.day.is_whole else SNOW)
    if step == SNOW or not steps.day.validate():
        return _ask_snow(steps)
    if step == ON:
        _take_the_only_ones(steps)
        step = RAN if len(steps.chosen) >= LEAST_PAIRS else PAIRS
    return _ask_pairs(steps) if step == PAIRS else _ask_how(steps)


def _take_the_only_ones(steps: Steps) -> None:
    """Where a kind of skiing has two pairs to compare, nothing else can be chosen."""
    found, _bases = _comparable(steps.mine, steps.day["skied_on"].day)
    kind = _kind_of_skiing(steps, found)
    alike = [str(pair.id) for pair in found if kind is None or pair.discipline is kind]
    if len(alike) == LEAST_PAIRS and len({pair.discipline for pair in found if str(pair.id) in alike}) == 1:
        first = [number for number in steps.chosen if number in alike]
        steps.chosen = [*first, *(number for number in alike if number not in first)]


def _kind_of_skiing(steps: Steps, found: Sequence[Any]) -> Discipline | None:
    """The kind of skiing of what is chosen, else the one that was asked for; none where nothing says."""
    chosen = next((pair.discipline for pair in steps.mine if str(pair.id) in steps.chosen[:1]), None)
    asked = steps.given.get("skiing")
    there = {pair.discipline.value: pair.discipline for pair in found}
    return chosen or there.get(asked or "")


def _day(given: MultiDict[str, str]) -> DayForm:
    """The snow as it was answered; else as it was in the last note of today or asked about today, so that it is quick."""
    if any(name in given for name in ("kind", "moisture", "about", "air")):
        form = DayForm(formdata=given)
    else:
        last = next(iter(find_notes.counted_on(db(), actor(), today())), None)
        form = (
            DayForm(data=_as_answered(last))
            if last is not None
            else DayForm(formdata=MultiDict(kept_snow(today())))
        )
    form.take_step()
    if not form["skied_on"].data:
        form["skied_on"].data = today().isoformat()
    form["skied_on"].today = today()
    return form


def _as_answered(note: Any) -> dict[str, Any]:
    air = {"about": f"{note.air_c:g}"} if note.air_c in ABOUT_C else {"air": note.air_c}
    return {
        **air,
        "kind": note.kind.value,
        "moisture": note.moisture.value,
        "humidity": note.humidity.value,
    }


def _ask_snow(steps: Steps) -> str:
    return render_template(
        "skier/glide_note_snow.html",
        form=steps.day,
        chosen=steps.chosen,
        skiing=steps.given.get("skiing"),
        back_url=url_for("skier.pairs"),
    )


def _comparable(mine: Sequence[Any], day: Any) -> tuple[list[Any], dict[int, Any]]:
    """The pairs that have another one to be compared with that day, and what was on the base of each."""
    bases = find_notes.on_base(db(), [pair.id for pair in mine], day)
    known = [pair for pair in mine if pair.id in bases]
    kinds = [pair.discipline for pair in known]
    return [pair for pair in known if kinds.count(pair.discipline) > 1], bases


def _pairs_form(steps: Steps) -> tuple[PairsForm, dict[int, Any], list[Discipline]]:
    """The form with the pairs of one kind of skiing, what is on their bases, and the other kinds there are."""
    found, bases = _comparable(steps.mine, steps.day["skied_on"].day)
    kinds = list(dict.fromkeys(pair.discipline for pair in found))
    shown = _kind_of_skiing(steps, found) or next(iter(kinds), None)
    form = PairsForm(formdata=MultiDict([("pair", number) for number in steps.chosen]))
    form.kinds = {str(pair.id): pair.discipline for pair in found}
    offer(
        form,
        "pair",
        [
            (str(pair.id), _named(pair, bases[pair.id]))
            for pair in sorted(found, key=lambda pair: _place(pair, steps.chosen))
            if pair.discipline is shown
        ],
    )
    return form, bases, [kind for kind in kinds if kind is not shown]


def _place(pair: Any, chosen: Sequence[str]) -> int:
    """What is chosen already stands first."""
    number = str(pair.id)
    return chosen.index(number) if number in chosen else len(chosen)


def _named(pair: Any, grind: Any) -> Phrase:
    """A pair by all that tells it from another of the same make."""
    return Phrase(
        N_("%(pair)s: %(structure)s since %(day)s"),
        {
            "pair": ", ".join(filter(None, (pair.title, pair.mark))),
            "structure": grind.structure.name,
            "day": speak().short_date(grind.ground_on),
        },
    )


def _ask_pairs(steps: Steps, form: PairsForm | None = None) -> str:
    blank, _bases, others = _pairs_form(steps)
    form = form or blank
    return render_template(
        "skier/glide_note_pairs.html",
        form=form,
        steps=steps,
        others=[(kind, steps.address(PAIRS, pair=[], skiing=kind.value)) for kind in others],
        left_out=[pair for pair in steps.mine if str(pair.id) not in form.kinds],
        back_url=steps.address(SNOW),
    )


def _ask_how(steps: Steps) -> str | Response:
    asked, bases, _others = _pairs_form(steps)
    if not asked.validate():
        return _ask_pairs(steps, asked)
    by_number = {str(pair.id): pair for pair in steps.mine}
    pairs = [by_number[number] for number in steps.chosen]
    beside = _beside(steps, pairs)
    ran = [pair for pair in pairs if pair is not beside]
    form = ran_form(beside, ran).posted()
    is_right = form.is_sent_and_right()
    # Asked once: what is kept all the same is set aside with its reason.
    doubts = form.doubts if is_right and steps.given.get(MEANT) != AS_IT_IS else []
    if is_right and not doubts:
        return _keep(steps, form, ran[0] if len(ran) == 1 else beside)
    return render_template(
        "skier/glide_note_ran.html",
        form=form,
        doubts=doubts,
        steps=steps,
        beside=beside,
        ran=ran,
        bases=bases,
        others=[(pair, steps.address(RAN, beside=pair.id)) for pair in ran],
        key=steps.given.get("key") or token_urlsafe(16),
        back_url=steps.address(PAIRS),
    )


def _beside(steps: Steps, pairs: Sequence[Any]) -> Any:
    """The pair that the others are held against: the chosen one, else the last of two and the first of more."""
    wanted = row_number(steps.given.get("beside"))
    usual = pairs[1] if len(pairs) == 2 else pairs[0]
    return next((pair for pair in pairs if pair.id == wanted), usual)


def _keep(steps: Steps, form: RanForm, shown: Any) -> Response:
    outing = Outing(
        form.beside.id,
        form.found,
        steps.day["skied_on"].day,
        steps.day.conditions,
        form["remarks"].data or "",
        # What a page made is short; whatever else comes is cut, and still stands for what was sent.
        trimmed(steps.given.get("key"))[:KEY_LENGTH] or token_urlsafe(16),
    )
    with transaction() as session:
        made = glide_notes.write(session, actor(), outing, portal().reference.tables, today(), now())
        told_of = [phrase for note in made for phrase in told(note)]
    kept = speak().plural(N_("The note is kept."), N_("%(num)s notes are kept."), len(made))
    flash(kept % {"num": len(made)})
    for phrase in told_of:
        flash(say(phrase))
    return redirect(url_for("skier.pair", pair_id=shown.id), 303)


@bp.post("/glide-notes/<int:note_id>/delete")
def delete_glide_note(note_id: int) -> Response:
    with transaction() as session:
        pair_id = glide_notes.delete(session, actor(), note_id)
    flash(say(N_("The note is deleted and counts no longer.")))
    return redirect(url_for("skier.pair", pair_id=pair_id), 303)
