"""The way of a list into the portal, whatever it is a list of: sent, looked at, its rows judged, and what was left out taken back."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.documents.tables import Table
from portal.documents.workbooks import is_workbook, read_workbook
from portal.domain.errors import NotFound
from portal.domain.importing.columns import as_words, cell_at
from portal.domain.importing.readings import Content, Reading, Subject, with_heading
from portal.domain.importing.sheets import BadTable, Row
from portal.domain.importing.verdicts import REASONS, Standing, Verdict, counted, rejected_rows
from portal.domain.words import N_, Phrase
from portal.queries import imports as find_imports
from portal.queries.imports import OpenImport
from portal.services import imports
from portal.web.exports import sent
from portal.web.language import say
from portal.web.list_forms import ReadingForm, SendListForm, samples
from portal.web.request import actor, db, insist_on_fresh_sign_in, now, transaction

NO_FILE = Phrase(N_("Choose a file"))
SHOWN_ROWS, SHOWN_COLUMNS, SHOWN_CELLS = 8, 12, 4
PAGE = 50

Verdicts = Sequence[Verdict[Any]]


@dataclass(frozen=True)
class Way:
    """Where the pages of one kind of list are, and what only this kind knows.

    Its endpoints are ``imports``, ``import_reading``, ``import_columns``, ``import_rows``, ``load_import``, ``left_out`` and
    ``drop_import`` of a blueprint; ``fixed`` is what each of their addresses holds besides the import.
    """

    blueprint: str
    subject: Subject
    # By these fields people know a row again.
    known_by: tuple[str, ...]
    judged: Callable[[OpenImport], Verdicts]
    # What came in so far, in words.
    came_in: Callable[[dict[str, int]], Phrase]
    club_id: int | None = None
    # The page on which one sees what came in: its address and what it is called.
    onward: tuple[str, str] | None = None
    fixed: dict[str, Any] = field(default_factory=dict)

    def url(self, name: str, **more: Any) -> str:
        """The address of one of the pages."""
        return url_for(f"{self.blueprint}.{name}", **self.fixed, **more)

    def row(self, import_id: int) -> Any:
        """A list of this kind that was sent, open or not."""
        row = find_imports.one(db(), actor(), import_id)
        if row.club_id != self.club_id:
            raise NotFound
        return row

    def opened(self, import_id: int) -> OpenImport:
        """The same, while its file is still here."""
        return find_imports.as_opened(self.row(import_id))


def send(way: Way, form: SendListForm) -> Response | None:
    """Stage the file that was sent and go on to its page; nothing where there is none or it cannot be used, which the form tells."""
    if not form.is_sent_and_right():
        return None
    file = form.sent()
    if file is None:
        form.file.errors = [NO_FILE]  # type: ignore[list-item]
        return None
    name, data = file
    try:
        content = Content.of_sheets(read_workbook(data)) if is_workbook(data) else Content.of_text(data)
        with transaction() as session:
            made = imports.stage(session, actor(), way.subject, name, content, now(), way.club_id).id
    except BadTable as bad:
        form.file.errors = [bad.reason]  # type: ignore[list-item]
        return None
    return redirect(way.url("import_reading", import_id=made), 303)


def reading_page(way: Way, import_id: int) -> str | Response:
    """How the file is read, with its first rows."""
    it = way.opened(import_id)
    form = ReadingForm.about(it.content, it.reading)
    if form.is_sent_and_right():
        try:
            reading = _as_asked(it.content, form.read(it.reading), it.reading, it.row.subject)
            with transaction() as session:
                imports.read_as(session, actor(), import_id, reading)
            on = "import_reading" if "look" in request.form else "import_columns"
            return redirect(way.url(on, import_id=import_id), 303)
        except BadTable as bad:
            next(iter(form)).errors = [bad.reason]  # type: ignore[list-item]
    return render_template(
        "imports/reading.html",
        way=way,
        form=form,
        it=it,
        samples=samples(it.content) if it.content.is_text else {},
        shown=_first_rows(it.sheet.rows, it.reading.heading),
        heading=it.reading.heading,
        back_url=way.url("imports"),
    )


def _as_asked(content: Content, asked: Reading, before: Reading, subject: Subject) -> Reading:
    """Another sheet or another way of reading has its headings elsewhere, unless somebody said where."""
    if asked.heading == before.heading and asked != before:
        return with_heading(content, asked, subject)
    return asked


def _first_rows(rows: tuple[Row, ...], heading: int) -> list[tuple[int, list[str]]]:
    """A few rows from a little above the headings on, each with its number and equally many cells."""
    first = max(0, heading - 3)
    some = rows[first : first + SHOWN_ROWS]
    width = min(SHOWN_COLUMNS, max((len(row) for row in some), default=0))
    return [
        (number, [as_words(row[at])[:40] if at < len(row) else "" for at in range(width)])
        for number, row in enumerate(some, first + 1)
    ]


def rows_page(way: Way, row: Any) -> str | Response:
    """What becomes of each row of a list that is open; to the columns first while nobody has said what they hold."""
    it = find_imports.as_opened(row)
    import_id = it.row.id
    if not it.places:
        return redirect(way.url("import_columns", import_id=import_id), 303)
    verdicts = way.judged(it)
    wanted = next((one for one in Standing if one.value == request.args.get("only")), None)
    listed = [one for one in verdicts if wanted in (None, one.standing)]
    pages = max(1, -(-len(listed) // PAGE))
    page = min(max(1, request.args.get("page", 1, type=int)), pages)

    def address(number: int) -> str:
        return way.url("import_rows", import_id=import_id, only=wanted, page=number)

    return render_template(
        "imports/rows.html",
        way=way,
        it=it,
        came_in=way.came_in(it.row.brought) if it.row.brought else None,
        counts=counted(verdicts),
        Standing=Standing,
        wanted=wanted,
        listed=[(one, _known_by(way, it, one)) for one in listed[(page - 1) * PAGE : page * PAGE]],
        total=len(verdicts),
        page=page,
        pages=pages,
        before=address(page - 1) if page > 1 else None,
        after=address(page + 1) if page < pages else None,
        back_url=way.url("import_columns", import_id=import_id),
    )


def _known_by(way: Way, it: OpenImport, verdict: Verdict[Any]) -> str:
    """Enough of a row to know it by."""
    row = it.sheet.row(verdict.row)
    cells = (as_words(cell_at(row, it.places[key].at))[:60] for key in way.known_by if key in it.places)
    return ", ".join(filter(None, cells)) or ", ".join(filter(None, map(as_words, row[:SHOWN_CELLS])))


def left_out_file(way: Way, import_id: int, kind: str) -> Response:
    """What was left out as a file of its own, with one column more that says what to change."""
    it = way.opened(import_id)
    insist_on_fresh_sign_in(way.url("import_rows", import_id=import_id))
    rows = rejected_rows(it.sheet, it.columns, way.judged(it), say)
    heads = (*(column.title for column in it.columns), say(REASONS))
    stem = it.row.file_name.rpartition(".")[0] or it.row.file_name
    name = "".join(one if one.isascii() and (one.isalnum() or one in "-_") else "-" for one in stem)[:60]
    return sent(Table(say(N_("Left out")), heads, rows), f"{name.strip('-') or 'list'}-left-out", kind)


def drop_page(way: Way, import_id: int) -> str | Response:
    """Ask whether the import is finished, then delete its file."""
    it = way.opened(import_id)
    if request.method == "POST":
        with transaction() as session:
            name = imports.drop(session, actor(), import_id, now())
        flash(say(Phrase(N_("The import of %(name)s is finished, and the file is deleted."), {"name": name})))
        return redirect(way.url("imports"), 303)
    back = way.url("import_reading", import_id=import_id)
    return render_template("imports/drop.html", way=way, row=it.row, back_url=back)
