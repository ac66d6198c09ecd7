"""Whether a paper of a pair is genuine: for whoever holds it, and without a word about whose it is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Any

from flask import make_response, render_template, request
from werkzeug.wrappers import Response
from wtforms import StringField
from wtforms.form import BaseForm

from portal.domain.errors import NotFound
from portal.domain.paper_facts import FleetStatement, PairStatement, Record, Since, digest_of, since, state
from portal.domain.tags import grouped, number_of, tag_of
from portal.domain.words import N_
from portal.pictures.base_life_words import places_of
from portal.queries import handovers as find_handovers
from portal.queries import pairs as find_pairs
from portal.queries import workshop as find_workshop
from portal.services import throttle
from portal.services.addresses import network_of
from portal.web.errors import page
from portal.web.forms import PortalForm, Problem, said, trimmed
from portal.web.language import speak
from portal.web.paper_seals import paper_seals, record_of
from portal.web.public.blueprint import bp
from portal.web.request import db, now, transaction


class DayOnPaper(StringField):
    """The day that stands on the paper."""

    day: date | None = None

    def pre_validate(self, form: BaseForm) -> None:
        try:
            self.day = date.fromisoformat((self.data or "").strip())
        except ValueError:
            raise Problem(N_("Enter the day as year-month-day, for example 2026-12-05")) from None


class PaperForm(PortalForm):
    """What stands on the paper, for who has no camera at hand."""

    tag = StringField(
        N_("Tag of the pair"),
        [said(N_("Enter the tag of the pair, as it stands on the paper"))],
        filters=[trimmed],
        description=N_("Six letters and digits; spaces and small letters do not matter"),
    )
    day = DayOnPaper(
        N_("Day of the paper"),
        [said(N_("Enter the day that stands at the foot of the paper"))],
        description=N_("It stands at the foot of each page"),
    )
    code = StringField(
        N_("Check code"),
        [said(N_("Enter the check code that stands at the foot of the paper"))],
        filters=[trimmed],
        description=N_("Eight letters and digits, beside the day"),
    )


@dataclass(frozen=True)
class Kept:
    """A pair of a paper: its tag, and what was recorded since; nothing where there is no record any more.

    ``then`` is the record that the paper was made from, as long as it is still the same, and ``places`` are those of its
    millimetres.
    """

    tag: str
    since: Since | None
    then: Record | None = None
    places: int = 2


@bp.get("/paper/<token>")
def paper(token: str) -> Response:
    found = paper_seals().read(token)
    if found is None:
        return _unknown()
    statement, code = found
    if isinstance(statement, FleetStatement):
        return _fleet(statement, code)
    return _pair(statement, code)


@bp.route("/paper", methods=["GET", "POST"])
def check_paper() -> Response:
    form = PaperForm.posted()
    if not form.is_sent_and_right() or form.day.day is None:
        return _closed(make_response(render_template("public/paper_check.html", form=form)))
    if _must_wait():
        return page(429, "429")
    found = _typed(form.tag.data or "", form.day.day, form.code.data or "")
    return _unknown() if found is None else _pair(found, form.code.data or "", is_typed=True)


def _typed(tag: str, day: date, code: str) -> PairStatement | None:
    """What a paper of that day stated, known again from the record; nothing where it had another code."""
    try:
        pair = number_of(tag)
    except NotFound:
        return None
    # How many grinds were left was not kept, and nobody vouches for it here.
    statement = state(pair, record_of(db(), pair).until(day), day)
    return statement if paper_seals().has_code(statement, code) else None


def _pair(statement: PairStatement, code: str, *, is_typed: bool = False) -> Response:
    record: Record | None = None
    told: Since | None = None
    pair = find_pairs.known(db(), statement.pair)
    if pair is not None:
        record = record_of(db(), pair.id)
        if is_typed:
            # The code says nothing of how many reworks there were.
            statement = replace(statement, reworks=record.reworks)
        told = _told(pair, since(statement, record), statement.issued_on)
    shown = record.first(statement.grinds, statement.measured) if record and told and told.is_same else None
    return _closed(
        make_response(
            render_template(
                "public/paper.html",
                statement=statement,
                tag=grouped(tag_of(statement.pair)),
                code=code,
                since=told,
                numbered=list(enumerate(shown.grinds, 1)) if shown else [],
                is_typed=is_typed,
                places=_places(statement.thinnest_um, shown),
            )
        )
    )


def _places(thinnest_um: int | None, shown: Record | None) -> int:
    """Decimals of the millimetres, as many as the paper has, so that nobody takes it for changed."""
    readings = [find_workshop.the(db()).minimum_um, thinnest_um or 0]
    for grind in shown.grinds if shown else ():
        readings += [um for side in (grind.before, grind.after) if side for um in side.measured.values()]
    return places_of(readings)


def _fleet(statement: FleetStatement, code: str) -> Response:
    records = [record_of(db(), number) for number in statement.pairs]
    thens = [record.until(statement.issued_on) for record in records]
    is_same = digest_of(thens) == statement.digest
    kept = []
    for number, record, then in zip(statement.pairs, records, thens, strict=True):
        told = None
        pair = find_pairs.known(db(), number)
        if pair is not None:
            newer = Since(True, record.grinds[len(then.grinds) :], record.measured[len(then.measured) :])
            told = _told(pair, newer, statement.issued_on)
        um = then.reading.um if then.reading else None
        kept.append(Kept(grouped(tag_of(number)), told, then if is_same else None, _places(um, then)))
    return _closed(
        make_response(
            render_template("public/papers.html", statement=statement, code=code, kept=kept, is_same=is_same)
        )
    )


def _told(pair: Any, it: Since, issued_on: date) -> Since:
    """What whoever holds the paper reads of later: nothing of an owner who has had the pair only since."""
    begins = datetime.combine(issued_on, time(), speak().zone)
    theirs = find_handovers.was_theirs(db(), pair)
    return it.told(was_theirs=theirs(begins), is_theirs=theirs(begins + timedelta(days=1)))


def _unknown() -> Response:
    """The same for whatever was not made here, so that nothing can be learned by trying."""
    if _must_wait():
        return page(429, "429")
    with transaction() as session:
        throttle.count(session, throttle.PAPERS_FROM, _network(), now())
    return _closed(make_response(render_template("public/paper_unknown.html"), 404))


def _must_wait() -> bool:
    return throttle.free_at(db(), throttle.PAPERS_FROM, _network(), now()) is not None


def _network() -> str:
    return network_of(request.remote_addr or "")


def _closed(answer: Response) -> Response:
    answer.headers["X-Robots-Tag"] = "noindex"
    answer.headers["Cache-Control"] = "no-store"
    return answer
