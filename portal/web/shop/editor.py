"""The editor of a structure: a new one, a new version, or one that was read from a file; nothing is stored until it is saved."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import flash, make_response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response
from wtforms import FileField

from portal.domain import structure_file
from portal.domain.access import Action, insist
from portal.domain.checked import BadValue
from portal.domain.errors import NotFound, NotNow
from portal.domain.layers import MOST_LAYERS
from portal.domain.snow import SnowKind
from portal.domain.structures import Structure
from portal.domain.words import N_, Phrase
from portal.queries import catalogue as find_structures
from portal.queries import diamonds as find_diamonds
from portal.services import catalogue
from portal.web.forms import PortalForm
from portal.web.language import say
from portal.web.request import actor, db, now, row_number, transaction
from portal.web.shop import faults
from portal.web.shop.about_form import suits_name
from portal.web.shop.blueprint import bp
from portal.web.shop.refusals import leading_to
from portal.web.shop.structure_form import Editor
from portal.web.shop.surfaces import preview

if TYPE_CHECKING:
    from portal.db.catalogue import Structure as StructureRow


class ReadForm(PortalForm):
    """A file with one structure."""

    file = FileField(N_("File of a structure"))


@bp.route("/catalogue/new", methods=["GET", "POST"])
def new_structure() -> str | Response:
    insist(actor(), Action.EDIT_CATALOGUE, None)
    if request.method == "GET":
        return _opened(None, None)
    editor = _sent(is_new=True)
    if _act() != "save":
        return _answer(editor, None)
    structure = editor.structure()
    if structure is not None and _is_there(structure.key):
        editor.about.blame("key", Phrase(N_("Another structure has this key. Choose another")))
        structure = None
    if structure is None:
        return _page(editor, None)
    try:
        with transaction() as session:
            catalogue.add_structure(session, actor(), structure, now())
    except NotNow as refusal:
        return _refused(editor, None, refusal)
    flash(say(Phrase(N_("%(name)s is on offer now."), {"name": structure.name})))
    return redirect(url_for("shop.structure", key=structure.key), 303)


@bp.route("/catalogue/structures/<key>/change", methods=["GET", "POST"])
def change_structure(key: str) -> str | Response:
    insist(actor(), Action.EDIT_CATALOGUE, None)
    row = find_structures.newest(db(), key)
    if request.method == "GET":
        with leading_to(url_for("shop.structure", key=key), N_("See the structure")):
            if not row.current:
                raise NotNow(N_("This structure is retired. Bring it back before you change it."))
        return _opened(find_structures.value(row), row)
    editor = _sent(is_new=False)
    if _act() != "save":
        return _answer(editor, row)
    structure = editor.structure(key)
    if structure is None:
        return _page(editor, row)
    try:
        with transaction() as session:
            made = catalogue.change_structure(
                session, actor(), row_number(request.form.get("seen")) or 0, structure, now()
            )
            version = made.version
    except NotNow as refusal:
        return _refused(editor, find_structures.newest(db(), key), refusal)
    text = (
        N_("%(name)s is saved as version %(version)s.")
        if version != row.version
        else N_("Nothing differs from version %(version)s of %(name)s, so it stays.")
    )
    flash(say(Phrase(text, {"name": structure.name, "version": version})))
    return redirect(url_for("shop.structure", key=key), 303)


@bp.route("/catalogue/read", methods=["GET", "POST"])
def read_structure() -> str | Response:
    insist(actor(), Action.EDIT_CATALOGUE, None)
    form = ReadForm.posted()
    sent = request.files.get("file")
    if request.method == "POST":
        if sent is None or not sent.filename:
            form.file.errors = [N_("Choose the file of a structure")]
        else:
            try:
                return _from_file(structure_file.read(sent.stream.read(structure_file.MOST_BYTES + 1)))
            except BadValue as fault:
                form.file.errors = [faults.said_with_place(fault)]  # type: ignore[list-item]
    return render_template("shop/read_structure.html", form=form, back_url=url_for("shop.catalogue"))


def _from_file(structure: Structure) -> str:
    """The editor with what was read: as a further version where the workshop has such a structure, else as a new one."""
    row = find_structures.newest(db(), structure.key) if _is_there(structure.key) else None
    if row is not None and not row.current:
        row = None
    return _opened(structure, row, told=N_("This was read from the file. Nothing is saved yet."))


@bp.get("/catalogue/structures/<key>/versions/<int:number>.json")
def structure_json(key: str, number: int) -> Response:
    insist(actor(), Action.SEE_CATALOGUE, None)
    row = next((row for row in find_structures.versions(db(), key) if row.version == number), None)
    if row is None:
        raise NotFound
    answer = make_response(structure_file.written(find_structures.value(row)))
    answer.mimetype = "application/json"
    answer.headers["Content-Disposition"] = f'attachment; filename="{key}.json"'
    return answer


def _act() -> str:
    return request.form.get("do", "preview")


def _sent(*, is_new: bool) -> Editor:
    return Editor.sent(find_structures.families(db()), find_diamonds.in_use(db()), is_new=is_new)


def _is_there(key: str) -> bool:
    try:
        find_structures.newest(db(), key)
    except NotFound:
        return False
    return True


def _answer(editor: Editor, row: StructureRow | None) -> str:
    """After a button that saves nothing: a preview names what is wrong, the others leave that for later."""
    editor.structure(row.key if row is not None else None)
    if _act() != "preview":
        editor.forget_problems()
    return _page(editor, row)


def _opened(structure: Structure | None, row: StructureRow | None, told: str | None = None) -> str:
    """The editor as it opens: what follows from the layers is shown, nothing is called wrong yet."""
    editor = Editor.filled(
        find_structures.families(db()), find_diamonds.in_use(db()), structure, is_new=row is None
    )
    editor.structure(row.key if row is not None else None)
    editor.forget_problems()
    return _page(editor, row, told=told)


def _refused(editor: Editor, row: StructureRow | None, refusal: NotNow) -> Response:
    """Somebody else was faster: everything stays as it was typed, beside what stands now."""
    return make_response(_page(editor, row, refusal), 409)


def _page(
    editor: Editor,
    row: StructureRow | None,
    refusal: NotNow | None = None,
    told: str | None = None,
) -> str:
    key = row.key if row is not None else editor.about.key.data or ""
    return render_template(
        "shop/structure_form.html",
        editor=editor,
        row=row,
        seen=_seen(row, refusal),
        refusal=refusal,
        problems=[("meanwhile" if row else "key", refusal.reason)] if refusal else editor.problems,
        preview=preview(key, editor.cuts, editor.stated) if editor.cuts else None,
        told=told,
        suits=[editor.about[suits_name(kind)] for kind in SnowKind],
        most_layers=MOST_LAYERS,
        action=url_for("shop.change_structure", key=row.key) if row else url_for("shop.new_structure"),
        back_url=url_for("shop.structure", key=row.key) if row else url_for("shop.catalogue"),
    )


def _seen(row: StructureRow | None, refusal: NotNow | None) -> int:
    """The version the editor was opened on; after a refusal the newest, which the page then names."""
    if row is None:
        return 0
    sent = row_number(request.form.get("seen")) if refusal is None else None
    return sent or row.version
