"""What is done with a run at the bench: begun, dressed, signed off, its pairs recorded; answered as a page, or as data to the page's script."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from flask import flash, jsonify, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.errors import NotFound, NotNow
from portal.domain.reasons import Use
from portal.domain.runs import PairState
from portal.domain.tags import number_of
from portal.domain.words import N_, Phrase
from portal.queries import runs as find_runs
from portal.services import run_pairs, runs
from portal.web.forms import trimmed
from portal.web.language import say
from portal.web.request import LARGEST_ROW, actor, db, now, row_number, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.reasons import ReasonForm
from portal.web.shop.refusals import NotAnyMore, Written, leading_to
from portal.web.shop.run_forms import AddForm, DressForm, PairForm
from portal.web.shop.runs import reject_form, run_page, sign_off_form
from portal.web.shop.runs_shown import layer_of, new_key, shown_run
from portal.web.shop.stone import may_plan

if TYPE_CHECKING:
    from portal.db.runs import BenchRun, RunPair

JSON = "application/json"
SEE_RUN = N_("See how the run stands")


def wants_data() -> bool:
    """Whether the page's own script asks, which shows by itself what became of it."""
    return bool(request.accept_mimetypes.best == JSON)


def answered(told: Phrase | str, run_id: int, pair: int | None = None) -> Response:
    """It is done: the run's page with what was done, open at a pair, or the same as data."""
    words = say(told)
    if wants_data():
        return jsonify(told=words)
    flash(words)
    return redirect(url_for("shop.run", run_id=run_id, pair=pair), 303)


def unanswered(problems: list[tuple[Any, Any]], page: str) -> str | Response:
    """Something that was sent needs changing: the page with it, or the same as data."""
    if not wants_data():
        return page
    answer = jsonify(problems=[[anchor, say(words)] for anchor, words in problems])
    answer.status_code = 422
    return answer


class Refused(NotNow):
    """A refusal that the page's script reads."""


@bp.errorhandler(Refused)
def refused(error: Refused) -> Response:
    answer = jsonify(refused=say(error.reason))
    answer.status_code = 409
    return answer


@contextmanager
def leading_to_run(run_id: int, written: Written = ()) -> Iterator[None]:
    """A refusal within leads back to the run and keeps what was written; the page's script hears it as data."""
    try:
        with leading_to(url_for("shop.run", run_id=run_id), SEE_RUN, written):
            yield
    except NotAnyMore as refusal:
        if wants_data():
            raise Refused(refusal.reason) from refusal
        raise


def key_sent() -> str:
    """The key of a form that asks nothing else."""
    return trimmed(request.form.get("key"))[:100]


@bp.post("/bench/begin")
def begin_run() -> Response:
    may_plan()
    plan, number = row_number(request.form.get("plan")), row_number(request.form.get("number"))
    grinder = row_number(request.form.get("grinder"))
    with leading_to(url_for("shop.bench_day"), N_("See the runs of today")), transaction() as session:
        if plan is not None and number is not None:
            made = runs.begin_planned(session, actor(), plan, number, now(), key=key_sent())
        else:
            layer = request.form.get("layer", "").replace("\0", "")[:80]
            at = LARGEST_ROW if grinder is None else grinder
            made = runs.begin(session, actor(), at, layer, now(), key=key_sent())
        run_id = made.id
    return redirect(url_for("shop.run", run_id=run_id), 303)


def _run(run_id: int) -> BenchRun:
    may_plan()
    return find_runs.one(db(), run_id)


@bp.post("/bench/runs/<int:run_id>/dress")
def dress_run(run_id: int) -> str | Response:
    row = _run(run_id)
    form = DressForm.for_layer(layer_of(row), new_key())
    if not form.is_sent_and_right():
        return unanswered(form.problems, run_page(shown_run(row), dress=form))
    facts = form.facts
    written = [(N_("The remarks you wrote"), facts.remarks)]
    with leading_to_run(run_id, written), transaction() as session:
        runs.dress(session, actor(), run_id, facts, now(), key=form.key.data or "")
    return answered(N_("The stone is dressed. Make a test cut and look at it."), run_id)


@bp.post("/bench/runs/<int:run_id>/go-on")
def go_on_with_run(run_id: int) -> Response:
    _run(run_id)
    with leading_to_run(run_id), transaction() as session:
        runs.go_on(session, actor(), run_id, now(), key=key_sent())
    return answered(N_("The run goes on with what is on the stone. Make a test cut and look at it."), run_id)


@bp.post("/bench/runs/<int:run_id>/sign-off")
def sign_off_run(run_id: int) -> str | Response:
    row = _run(run_id)
    form = sign_off_form(row)
    if not form.is_sent_and_right():
        return unanswered(form.problems, run_page(shown_run(row), sign_off=form))
    facts, key, number = form.facts, form.key.data or "", form.dressing
    with leading_to_run(run_id, [(form.seen.label.text, facts.seen)]), transaction() as session:
        runs.sign_off(session, actor(), run_id, facts, now(), key=key, number=number)
    return answered(N_("The test cut is signed off. The pairs can be ground."), run_id)


@bp.post("/bench/runs/<int:run_id>/reject")
def reject_run(run_id: int) -> str | Response:
    row = _run(run_id)
    form = reject_form(row)
    if not form.is_sent_and_right():
        return unanswered(form.problems, run_page(shown_run(row), reject=form))
    facts, key, number, reason = form.facts, form.key.data or "", form.dressing, form.reason
    written = [(form.seen.label.text, facts.seen), (form.own.label.text, reason)]
    with leading_to_run(run_id, written), transaction() as session:
        runs.reject(session, actor(), run_id, facts, reason, now(), key=key, number=number)
    return answered(N_("The test cut is rejected. Dress the stone again."), run_id)


@bp.post("/bench/runs/<int:run_id>/add")
def add_to_run(run_id: int) -> str | Response:
    row = _run(run_id)
    form = AddForm.posted(key=new_key())
    form.validate()
    try:
        pair_id = number_of((form.code.data or "")[:500])
    except NotFound:
        form.code.errors = [
            N_("No pair has this code. Scan it again, or compare it with the tag sign by sign")
        ]
        return unanswered(form.problems, run_page(shown_run(row), add=form))
    key, instead = form.key.data or "", bool(form.instead.data)
    with leading_to_run(run_id), transaction() as session:
        made = run_pairs.add(session, actor(), run_id, pair_id, now(), key=key, instead=instead)
        session.flush()  # The page opens at the pair, by its number.
        number = made.id
    return answered(N_("The pair is added to the run."), run_id, number)


def _pair(run_pair_id: int) -> tuple[BenchRun, RunPair]:
    may_plan()
    row = find_runs.one(db(), find_runs.run_of(db(), run_pair_id))
    return row, next(one for one in row.pairs if one.id == run_pair_id)


@bp.post("/bench/pairs/<int:run_pair_id>/done")
def pair_done(run_pair_id: int) -> str | Response:
    row, one = _pair(run_pair_id)
    # Read from what was sent, whatever became of the pair: a repeat of what is done has to be heard as such.
    form = PairForm.for_pair(run_pair_id, "")
    if not form.is_right():
        return unanswered(form.problems, run_page(shown_run(row, run_pair_id, form)))
    facts, key, title, run_id = form.facts, form.key.data or "", one.item.pair.title, row.id
    with leading_to_run(run_id, list(form.written())), transaction() as session:
        run_pairs.done(session, actor(), run_pair_id, facts, now(), key=key)
    return answered(Phrase(N_("%(pair)s is done."), {"pair": title}), run_id)


@bp.post("/bench/pairs/<int:run_pair_id>/undo")
def pair_undo(run_pair_id: int) -> Response:
    row, one = _pair(run_pair_id)
    title, run_id = one.item.pair.title, row.id
    with leading_to_run(run_id), transaction() as session:
        run_pairs.undo(session, actor(), run_pair_id, now(), key=key_sent())
    told = N_("%(pair)s is undone. Whoever was told that it is ready has to be told that it is not.")
    return answered(Phrase(told, {"pair": title}), run_id, run_pair_id)


@bp.post("/bench/pairs/<int:run_pair_id>/put-back")
def pair_put_back(run_pair_id: int) -> Response:
    row, one = _pair(run_pair_id)
    title, run_id = one.item.pair.title, row.id
    with leading_to_run(run_id), transaction() as session:
        run_pairs.put_back(session, actor(), run_pair_id, now(), key=key_sent())
    return answered(Phrase(N_("%(pair)s is back in the run."), {"pair": title}), run_id, run_pair_id)


@bp.route("/bench/pairs/<int:run_pair_id>/take-out", methods=["GET", "POST"])
def pair_take_out(run_pair_id: int) -> str | Response:
    row, one = _pair(run_pair_id)
    form = ReasonForm.for_use(Use.TAKEN_OUT)
    run_id, title = row.id, one.item.pair.title
    with leading_to_run(run_id):
        if one.state is not PairState.WAITING and request.method == "GET":
            raise NotNow(N_("Only a pair that waits in the run is taken out of it."))
    if form.is_sent_and_right():
        reason = form.reason
        with leading_to_run(run_id, [(N_("Reason"), reason)]), transaction() as session:
            run_pairs.take_out(session, actor(), run_pair_id, reason, now(), key=key_sent())
        return answered(Phrase(N_("%(pair)s is taken out of the run."), {"pair": title}), run_id)
    return render_template(
        "shop/run_take_out.html",
        form=form,
        pair=one,
        key=request.form.get("key") or new_key(),
        back_url=url_for("shop.run", run_id=run_id, pair=run_pair_id),
    )
