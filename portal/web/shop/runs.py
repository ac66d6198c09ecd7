"""The bench: the runs of a grinder on a day in their order, and each run with its dressing, test cut and pairs."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from flask import redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.errors import NotFound
from portal.domain.reasons import Use
from portal.domain.runs import PairState, RunState
from portal.domain.tags import number_of
from portal.domain.words import N_
from portal.queries import catalogue as find_structures
from portal.queries import days as find_days
from portal.queries import diamonds as find_diamonds
from portal.queries import runs as find_runs
from portal.queries import workshop as find_workshop
from portal.services import stones
from portal.services.runs_planned import Planned, Waiting, planned, walk_in
from portal.web.language import say
from portal.web.request import db, row_number, today
from portal.web.shop.blueprint import bp
from portal.web.shop.day import day_of
from portal.web.shop.run_forms import AddForm, DressForm, PairForm, RejectForm, SignOffForm
from portal.web.shop.runs_shown import (
    RunShown,
    layer_of,
    layers_so_far,
    new_key,
    settings_of,
    shown_run,
    state_of,
    words_of,
)
from portal.web.shop.stone import may_plan
from portal.web.shop.stone_words import book_of, grinder_words
from portal.web.structure_pictures import structure_pictures

if TYPE_CHECKING:
    from portal.db.diamonds import Diamond
    from portal.db.runs import BenchRun


# Of the pictures of a structure, those that a base can be held beside.
SHOWN = 2


@bp.get("/bench")
@bp.get("/bench/<date>/<int:grinder>")
def bench_day(date: str | None = None, grinder: int = 1) -> str:
    """The work of one grinder, numbered from 1 in the address."""
    may_plan()
    here, workshop = today(), find_workshop.the(db())
    shown = here if date is None else day_of(date)
    number = grinder - 1
    if not 0 <= number < workshop.grinders:
        raise NotFound
    is_today = shown == here
    in_plan = planned(db(), shown)
    to_begin = [one for one in in_plan if one.grinder == number]
    beside = _beside(shown, in_plan) if is_today else {}
    rows = [
        *(one for each in to_begin for one in each.pairs),
        *(one for each in beside.values() for one in each),
    ]
    book = book_of([*find_structures.all_current(db()), *(one.item.structure for one in rows)])
    state = stones.on_stone(db(), number)
    return render_template(
        "shop/bench.html",
        day=shown,
        is_today=is_today,
        grinder=number,
        name=grinder_words(number, workshop.grinders),
        grinders=[(one, grinder_words(one, workshop.grinders)) for one in range(workshop.grinders)],
        begun=[
            (run, words_of(run), state_of(run))
            for run in find_runs.of_day(db(), shown)
            if run.grinder == number
        ],
        to_begin=to_begin,
        beside=beside,
        book=book,
        state=state,
        new_key=new_key,
        days=find_days.neighbours(db(), shown),
        PairState=PairState,
    )


def _beside(day: dt.date, in_plan: Sequence[Planned]) -> dict[str, list[Waiting]]:
    """Pairs that are here and get a layer next, without those that a run of today's plan has for the same step."""
    known = {(one.item.id, one.step) for each in in_plan for one in each.pairs}
    found = {
        layer: [one for one in rows if (one.item.id, one.step) not in known]
        for layer, rows in walk_in(db(), find_workshop.the(db()), day).items()
    }
    return {layer: rows for layer, rows in found.items() if rows}


@bp.get("/bench/runs/<int:run_id>")
def run(run_id: int) -> str | Response:
    """A run, open at the pair that is next, or whose number or tag the address names."""
    may_plan()
    found = find_runs.one(db(), run_id)
    code = request.args.get("code")
    if code is None:
        return run_page(shown_run(found, row_number(request.args.get("pair"))))
    try:
        pair_id = number_of(code[:500])
    except NotFound:
        pair_id = 0
    one = next((one for one in found.pairs if one.item.pair_id == pair_id), None)
    if one is not None:
        return redirect(url_for("shop.run", run_id=run_id, pair=one.id), 303)
    problem = (
        N_("No pair of this run has this code. Scan it again, or add the pair below")
        if code
        else N_("Scan a tag, or enter its code")
    )
    return run_page(shown_run(found), problems=[("code", problem)], code=code)


def run_page(
    it: RunShown,
    *,
    dress: DressForm | None = None,
    sign_off: SignOffForm | None = None,
    reject: RejectForm | None = None,
    add: AddForm | None = None,
    problems: list[tuple[str | None, Any]] | None = None,
    code: str = "",
) -> str:
    """The page of a run; a form that is given was sent and has its errors."""
    row = it.row
    layer, dressing = layer_of(row), row.dressing
    so_far = layers_so_far(row)
    state = stones.on_stone(db(), row.grinder)
    sent = next((form for form in (dress, sign_off, reject, add) if form is not None), None)
    return render_template(
        "shop/run.html",
        run=it,
        layer=layer,
        dressing=dressing,
        settings=[
            (label, say(value), None)
            for label, value in (
                settings_of(dressing) if dressing is not None and dressing.settings else it.words.settings
            )
        ],
        diamond=_diamond(
            dressing.diamond if dressing is not None else layer.diamond if layer is not None else ""
        ),
        pictures=structure_pictures(so_far).pictures[:SHOWN] if so_far else (),
        dress=dress or DressForm.for_layer(layer, new_key()),
        sign_off=sign_off or sign_off_form(row),
        reject=reject or reject_form(row),
        add=add or AddForm.posted(key=new_key()),
        may_go_on=state is not None and state.layer == row.layer and state.pairs_left > 0,
        pairs_left=state.pairs_left if state is not None and state.layer == row.layer else None,
        is_today=row.day == today(),
        told=[
            {"at": one.at, "what": one.act.label, "by": one.name, "note": one.words}
            for one in find_runs.notes(db(), row.id)
        ],
        problems=problems
        if problems is not None
        else (sent.problems if sent is not None else _pair_problems(it)),
        code=code,
        new_key=new_key,
        RunState=RunState,
        PairState=PairState,
        back_url=url_for("shop.bench_day", date=row.day.isoformat(), grinder=row.grinder + 1),
    )


def _diamond(mark: str) -> Diamond | None:
    return next((row for row in find_diamonds.in_use(db()) if row.mark == mark), None) if mark else None


def sign_off_form(row: BenchRun) -> SignOffForm:
    """The form for the test cut of the newest dressing."""
    return SignOffForm.posted(key=new_key(), number=str(len(row.dressings)))


def reject_form(row: BenchRun) -> RejectForm:
    """The other one for it."""
    return RejectForm.for_use(Use.TEST_CUT, key=new_key(), number=str(len(row.dressings)))


def _pair_problems(it: RunShown) -> list[tuple[str | None, Any]]:
    found: list[tuple[str | None, Any]] = []
    for pair in it.pairs:
        if isinstance(pair.form, PairForm):
            found += pair.form.problems
    return found
