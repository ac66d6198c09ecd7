"""What becomes of each row of a list: looked at first, then loaded; what was left out comes back as a file."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.documents.tables import Table
from portal.domain.importing.columns import as_words, cell_at
from portal.domain.importing.customer_verdicts import CustomerVerdict
from portal.domain.importing.verdicts import REASONS, Standing, counted, rejected_rows
from portal.domain.words import N_, Phrase
from portal.queries import imports as find_imports
from portal.queries.imports import OpenImport
from portal.services import imports
from portal.services.addresses import normal_email
from portal.web.exports import sent
from portal.web.language import say
from portal.web.request import actor, db, now, portal, today, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.refusals import leading_to

PAGE = 50
SHOWN_CELLS = 4


def _judged(it: OpenImport) -> list[CustomerVerdict]:
    test_names = portal().settings.demo
    judged = find_imports.judged(db(), it, lambda text: normal_email(text, test_names=test_names), today())
    return list(judged.verdicts)


@bp.get("/import/<int:import_id>")
def import_rows(import_id: int) -> str | Response:
    row = find_imports.one(db(), actor(), import_id)
    if row.content is None:
        return render_template("shop/import_done.html", row=row, back_url=url_for("shop.imports"))
    it = find_imports.opened(db(), actor(), import_id)
    if not it.places:
        return redirect(url_for("shop.import_columns", import_id=import_id), 303)
    verdicts = _judged(it)
    wanted = next((one for one in Standing if one.value == request.args.get("only")), None)
    listed = [one for one in verdicts if wanted in (None, one.standing)]
    pages = max(1, -(-len(listed) // PAGE))
    page = min(max(1, request.args.get("page", 1, type=int)), pages)

    def address(number: int) -> str:
        return url_for("shop.import_rows", import_id=import_id, only=wanted, page=number)

    return render_template(
        "shop/import_rows.html",
        it=it,
        counts=counted(verdicts),
        Standing=Standing,
        wanted=wanted,
        listed=[(one, _shown(it, one)) for one in listed[(page - 1) * PAGE : page * PAGE]],
        total=len(verdicts),
        page=page,
        pages=pages,
        before=address(page - 1) if page > 1 else None,
        after=address(page + 1) if page < pages else None,
        back_url=url_for("shop.import_columns", import_id=import_id),
    )


def _shown(it: OpenImport, verdict: CustomerVerdict) -> str:
    """Enough of a row to know it by."""
    row = it.sheet.row(verdict.row)
    keys = ("name", "first_name", "last_name", "email", "phone", "maker", "model", "day")
    cells = (as_words(cell_at(row, it.places[key].at))[:60] for key in keys if key in it.places)
    return ", ".join(filter(None, cells)) or ", ".join(filter(None, map(as_words, row[:SHOWN_CELLS])))


@bp.post("/import/<int:import_id>/load")
def load_import(import_id: int) -> Response:
    here = url_for("shop.import_rows", import_id=import_id)
    day, test_names = today(), portal().settings.demo
    with leading_to(here, N_("Look at the list again")), transaction() as session:
        loaded = imports.load(session, actor(), import_id, now(), day, test_names=test_names)
    told = {"people": loaded.people, "pairs": loaded.pairs, "grinds": loaded.grinds}
    flash(say(Phrase(N_("Loaded: %(people)s customers, %(pairs)s pairs, %(grinds)s grinds."), told)))
    return redirect(here, 303)


@bp.get("/import/<int:import_id>/left-out.<kind>")
def left_out(import_id: int, kind: str) -> Response:
    it = find_imports.opened(db(), actor(), import_id)
    rows = rejected_rows(it.sheet, it.columns, _judged(it), say)
    heads = (*(column.title for column in it.columns), say(REASONS))
    stem = it.row.file_name.rpartition(".")[0] or it.row.file_name
    name = "".join(one if one.isascii() and (one.isalnum() or one in "-_") else "-" for one in stem)[:60]
    return sent(Table(say(N_("Left out")), heads, rows), f"{name.strip('-') or 'list'}-left-out", kind)
