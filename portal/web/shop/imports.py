"""A list from elsewhere is sent, its way of being read is looked at, and its columns are told."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.documents.workbooks import is_workbook, read_workbook
from portal.domain.importing.columns import as_words
from portal.domain.importing.customer_verdicts import unknown_structures
from portal.domain.importing.readings import KEPT_DAYS, Content, Reading, Subject, with_heading
from portal.domain.importing.sheets import MOST_ROWS, BadTable, Row
from portal.domain.words import N_, Phrase
from portal.queries import imports as find_imports
from portal.queries import workshop as find_workshop
from portal.services import imports
from portal.web.language import say
from portal.web.request import actor, db, now, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.import_forms import (
    ColumnsForm,
    ReadingForm,
    SendListForm,
    samples,
    structures_form,
)
from portal.web.shop.import_structures import structure_choices

NO_FILE = Phrase(N_("Choose a file"))
SHOWN_ROWS, SHOWN_COLUMNS = 8, 12
MOST_NAMES = 100


@bp.route("/import", methods=["GET", "POST"], endpoint="imports")
def all_imports() -> str | Response:
    rows = find_imports.lately(db(), actor())
    form = SendListForm.posted()
    if form.is_sent_and_right():
        sent = form.sent()
        if sent is None:
            form.file.errors = [NO_FILE]  # type: ignore[list-item]
        else:
            try:
                return _staged(*sent)
            except BadTable as bad:
                form.file.errors = [bad.reason]  # type: ignore[list-item]
    return render_template(
        "shop/imports.html",
        form=form,
        rows=rows,
        kept_days=KEPT_DAYS,
        most_rows=MOST_ROWS,
        back_url=url_for("shop.hub"),
    )


def _staged(name: str, data: bytes) -> Response:
    content = Content.of_sheets(read_workbook(data)) if is_workbook(data) else Content.of_text(data)
    with transaction() as session:
        made = imports.stage(session, actor(), Subject.CUSTOMERS, name, content, now()).id
    return redirect(url_for("shop.import_reading", import_id=made), 303)


@bp.route("/import/<int:import_id>/reading", methods=["GET", "POST"])
def import_reading(import_id: int) -> str | Response:
    it = find_imports.opened(db(), actor(), import_id)
    form = ReadingForm.about(it.content, it.reading)
    if form.is_sent_and_right():
        try:
            reading = _as_asked(it.content, form.read(it.reading), it.reading, it.row.subject)
            with transaction() as session:
                imports.read_as(session, actor(), import_id, reading)
            on = "shop.import_reading" if "look" in request.form else "shop.import_columns"
            return redirect(url_for(on, import_id=import_id), 303)
        except BadTable as bad:
            next(iter(form)).errors = [bad.reason]  # type: ignore[list-item]
    return render_template(
        "shop/import_reading.html",
        form=form,
        it=it,
        samples=samples(it.content) if it.content.is_text else {},
        shown=_shown(it.sheet.rows, it.reading.heading),
        heading=it.reading.heading,
        back_url=url_for("shop.imports"),
    )


def _as_asked(content: Content, asked: Reading, before: Reading, subject: Subject) -> Reading:
    """Another sheet or another way of reading has its headings elsewhere, unless somebody said where."""
    if asked.heading == before.heading and asked != before:
        return with_heading(content, asked, subject)
    return asked


def _shown(rows: tuple[Row, ...], heading: int) -> list[tuple[int, list[str]]]:
    """A few rows from a little above the headings on, each with its number and equally many cells."""
    first = max(0, heading - 3)
    some = rows[first : first + SHOWN_ROWS]
    width = min(SHOWN_COLUMNS, max((len(row) for row in some), default=0))
    return [
        (number, [as_words(row[at])[:40] if at < len(row) else "" for at in range(width)])
        for number, row in enumerate(some, first + 1)
    ]


@bp.route("/import/<int:import_id>/columns", methods=["GET", "POST"])
def import_columns(import_id: int) -> str | Response:
    it = find_imports.opened(db(), actor(), import_id)
    meant, is_remembered = imports.meant_so_far(db(), it)
    form = ColumnsForm.about(it, meant, find_workshop.the(db()).name)
    if form.is_sent_and_right():
        with transaction() as session:
            imports.take_columns(session, actor(), import_id, form.meant, form.options, now())
        unknown = _unknown(find_imports.opened(db(), actor(), import_id))
        on = "shop.import_structures" if unknown else "shop.import_rows"
        return redirect(url_for(on, import_id=import_id), 303)
    return render_template(
        "shop/import_columns.html",
        form=form,
        it=it,
        is_remembered=is_remembered,
        back_url=url_for("shop.import_reading", import_id=import_id),
    )


def _unknown(it: find_imports.OpenImport) -> dict[str, tuple[str, int]]:
    return unknown_structures(it.sheet, it.reading.heading, it.places, find_imports.versions(db()))


@bp.route("/import/<int:import_id>/structures", methods=["GET", "POST"])
def import_structures(import_id: int) -> str | Response:
    it = find_imports.opened(db(), actor(), import_id)
    listed = list(_unknown(it).items())[:MOST_NAMES]
    chosen = it.options.structures
    form = structures_form(
        [(name, chosen.get(key, ""), rows) for key, (name, rows) in listed], structure_choices(db())
    )
    if form.is_sent_and_right():
        said = {key: form[f"name_{at}"].data for at, (key, _told) in enumerate(listed)}
        with transaction() as session:
            imports.take_structures(session, actor(), import_id, said)
        return redirect(url_for("shop.import_rows", import_id=import_id), 303)
    return render_template(
        "shop/import_structures.html",
        form=form,
        it=it,
        questions=[(form[f"name_{at}"], rows) for at, (_key, (_name, rows)) in enumerate(listed)],
        back_url=url_for("shop.import_columns", import_id=import_id),
    )


@bp.route("/import/<int:import_id>/drop", methods=["GET", "POST"])
def drop_import(import_id: int) -> str | Response:
    it = find_imports.opened(db(), actor(), import_id)
    if request.method == "POST":
        with transaction() as session:
            name = imports.drop(session, actor(), import_id, now())
        flash(say(Phrase(N_("The import of %(name)s is finished, and the file is deleted."), {"name": name})))
        return redirect(url_for("shop.imports"), 303)
    return render_template(
        "shop/drop_import.html", row=it.row, back_url=url_for("shop.import_reading", import_id=import_id)
    )
