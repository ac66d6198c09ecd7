"""Who did what at the workshop, as a list and as a file."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from flask import render_template, request, url_for
from werkzeug.wrappers import Response

from portal.documents.tables import Table
from portal.domain.errors import NotNow
from portal.domain.words import N_, Phrase
from portal.queries import audit as find_audit
from portal.queries.audit import Entry, Filter, Place
from portal.web import exports
from portal.web.language import called, say, speak
from portal.web.request import db, insist_on_fresh_sign_in, today
from portal.web.shop.audit_form import AuditForm
from portal.web.shop.blueprint import bp, insist_on_manager
from portal.web.shop.refusals import leading_to

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
# As many lines as a file holds; more would keep others waiting.
MOST_EXPORTED = 10_000
FILE_NAME = "who-did-what"


def written(place: Place) -> str:
    """A place of the list as it stands in an address."""
    return f"{(place.at - EPOCH) // timedelta(microseconds=1)}-{place.table}-{place.id}"


def read(text: str | None) -> Place | None:
    """The place that an address names; nothing when it names none."""
    parts = (text or "").split("-")
    if len(parts) != 3 or not all(part.isascii() and part.isdecimal() and len(part) < 18 for part in parts):
        return None
    micros, table, number = (int(part) for part in parts)
    try:
        return Place(EPOCH + timedelta(microseconds=micros), table, number)
    except OverflowError:
        return None


def asked() -> AuditForm:
    form = AuditForm(formdata=request.values)
    form.offer([(person.id, person.name) for person in find_audit.doers(db())])
    return form


def neighbours(wanted: Filter, found: list[Entry]) -> tuple[str | None, str | None]:
    """The addresses of the pages with newer and with older entries, where there are any."""
    if not found:
        return None, None
    # What is looked for, and not where in the list.
    kept = {key: value for key, value in request.args.items() if key not in {"before", "after"} and value}

    def address(**place: str) -> str:
        return url_for("shop.audit", **kept, **place)  # type: ignore[arg-type]

    first, last = found[0].place, found[-1].place
    newer = find_audit.entries(db(), wanted, after=first, most=1)
    older = find_audit.entries(db(), wanted, before=last, most=1)
    return (
        address(after=written(first)) if newer else None,
        address(before=written(last)) if older else None,
    )


@bp.get("/audit", endpoint="audit")
def who_did_what() -> str:
    insist_on_manager()
    form = asked()
    wanted, found = Filter(), []
    if form.validate():
        wanted = form.wanted(ZoneInfo(speak().timezone), today())
        before, after = read(request.args.get("before")), read(request.args.get("after"))
        found = find_audit.entries(db(), wanted, before, after)
    newer, older = neighbours(wanted, found)
    return render_template(
        "shop/audit.html",
        form=form,
        listed=found,
        is_narrowed=wanted.narrows,
        newer=newer,
        older=older,
        most=MOST_EXPORTED,
    )


@bp.post("/audit/export")
def export_audit() -> Response:
    insist_on_manager()
    kept = {key: value for key, value in request.form.items() if key in AuditForm()._fields and value}
    here = url_for("shop.audit", **kept)  # type: ignore[arg-type]
    insist_on_fresh_sign_in(here)
    form, kind = asked(), request.form.get("as", "")
    with leading_to(here, N_("Choose fewer days")):
        found = _to_export(form)
        return exports.sent(_table(found), FILE_NAME, kind)


def _to_export(form: AuditForm) -> list[Entry]:
    if not form.validate():
        raise NotNow(N_("These days cannot be read. Enter them again."))
    found = find_audit.entries(db(), form.wanted(ZoneInfo(speak().timezone), today()), most=MOST_EXPORTED + 1)
    if len(found) > MOST_EXPORTED:
        raise NotNow(
            Phrase(N_("A file holds at most %(most)s lines, and these are more."), {"most": MOST_EXPORTED})
        )
    return found


def _table(found: list[Entry]) -> Table:
    heads = (N_("When"), N_("Who"), N_("What"), N_("About"), N_("Words"))
    return Table(
        say(N_("Who did what")),
        tuple(say(head) for head in heads),
        tuple(
            (
                entry.place.at,
                called(entry.name or "Rillbook"),
                say(entry.kind.label),
                entry.about,
                entry.words,
            )
            for entry in found
        ),
    )
