"""A list of customers from elsewhere: sent, looked at, its columns and structures told, and loaded."""

from __future__ import annotations

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from portal.domain.importing.customer_verdicts import unknown_structures
from portal.domain.importing.readings import KEPT_DAYS, Subject
from portal.domain.importing.sheets import MOST_ROWS
from portal.domain.words import N_, Phrase
from portal.queries import customer_lists as find_customers
from portal.queries import imports as find_imports
from portal.queries import workshop as find_workshop
from portal.queries.customer_lists import options_of
from portal.services import customer_lists, imports
from portal.services.addresses import normal_email
from portal.web import listing
from portal.web.language import say
from portal.web.list_forms import SendListForm
from portal.web.listing import Way
from portal.web.request import actor, db, now, portal, today, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.import_forms import CustomerColumnsForm, structures_form
from portal.web.shop.import_structures import structure_choices
from portal.web.shop.refusals import leading_to

MOST_NAMES = 100


def _judged(it: find_imports.OpenImport) -> listing.Verdicts:
    test_names = portal().settings.demo
    judged = find_customers.judged(db(), it, lambda text: normal_email(text, test_names=test_names), today())
    return judged.verdicts


def _came_in(brought: dict[str, int]) -> Phrase:
    return Phrase(N_("%(people)s customers, %(pairs)s pairs, %(grinds)s grinds"), brought)


WAY = Way(
    "shop",
    Subject.CUSTOMERS,
    ("name", "first_name", "last_name", "email", "phone", "maker", "model", "day"),
    _judged,
    _came_in,
)


@bp.route("/import", methods=["GET", "POST"], endpoint="imports")
def all_imports() -> str | Response:
    rows = find_imports.lately(db(), actor())
    form = SendListForm.posted()
    return listing.send(WAY, form) or render_template(
        "shop/imports.html",
        way=WAY,
        form=form,
        rows=[(row, _came_in(row.brought) if row.brought else None) for row in rows],
        kept_days=KEPT_DAYS,
        most_rows=MOST_ROWS,
        back_url=url_for("shop.hub"),
    )


@bp.route("/import/<int:import_id>/reading", methods=["GET", "POST"])
def import_reading(import_id: int) -> str | Response:
    return listing.reading_page(WAY, import_id)


@bp.route("/import/<int:import_id>/columns", methods=["GET", "POST"])
def import_columns(import_id: int) -> str | Response:
    it = WAY.opened(import_id)
    meant, is_remembered = imports.meant_so_far(db(), it)
    form = CustomerColumnsForm.of(it, meant, find_workshop.the(db()).name)
    if form.is_sent_and_right():
        with transaction() as session:
            imports.take_columns(session, actor(), import_id, form.meant, form.options, now())
        unknown = _unknown(WAY.opened(import_id))
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
    return unknown_structures(it.sheet, it.reading.heading, it.places, find_customers.versions(db()))


@bp.route("/import/<int:import_id>/structures", methods=["GET", "POST"])
def import_structures(import_id: int) -> str | Response:
    it = WAY.opened(import_id)
    listed = list(_unknown(it).items())[:MOST_NAMES]
    chosen = options_of(it).structures
    form = structures_form(
        [(name, chosen.get(key, ""), rows) for key, (name, rows) in listed], structure_choices(db())
    )
    if form.is_sent_and_right():
        said = {key: form[f"name_{at}"].data for at, (key, _told) in enumerate(listed)}
        with transaction() as session:
            customer_lists.take_structures(session, actor(), import_id, said)
        return redirect(url_for("shop.import_rows", import_id=import_id), 303)
    return render_template(
        "shop/import_structures.html",
        form=form,
        it=it,
        questions=[(form[f"name_{at}"], rows) for at, (_key, (_name, rows)) in enumerate(listed)],
        back_url=url_for("shop.import_columns", import_id=import_id),
    )


@bp.get("/import/<int:import_id>")
def import_rows(import_id: int) -> str | Response:
    row = WAY.row(import_id)
    if row.content is None:
        return render_template("shop/import_done.html", row=row, back_url=url_for("shop.imports"))
    return listing.rows_page(WAY, row)


@bp.post("/import/<int:import_id>/load")
def load_import(import_id: int) -> Response:
    WAY.opened(import_id)
    here = url_for("shop.import_rows", import_id=import_id)
    day, test_names = today(), portal().settings.demo
    with leading_to(here, N_("Look at the list again")), transaction() as session:
        loaded = customer_lists.load(session, actor(), import_id, now(), day, test_names=test_names)
    told = {"people": loaded.people, "pairs": loaded.pairs, "grinds": loaded.grinds}
    flash(say(Phrase(N_("Loaded: %(people)s customers, %(pairs)s pairs, %(grinds)s grinds."), told)))
    return redirect(here, 303)


@bp.get("/import/<int:import_id>/left-out.<kind>")
def left_out(import_id: int, kind: str) -> Response:
    return listing.left_out_file(WAY, import_id, kind)


@bp.route("/import/<int:import_id>/drop", methods=["GET", "POST"])
def drop_import(import_id: int) -> str | Response:
    return listing.drop_page(WAY, import_id)
