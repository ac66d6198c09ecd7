"""Everything about oneself, in one archive to take along."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from flask import render_template, stream_with_context, url_for
from werkzeug.wrappers import Response

from portal.documents import history, receipt
from portal.documents.archives import zipped
from portal.domain.audit import Act
from portal.domain.file_names import readable
from portal.domain.tags import tag_of
from portal.domain.taken_along import FORMAT, PARTS, VERSION
from portal.domain.words import N_
from portal.queries import invoices as find_invoices
from portal.queries import pairs as find_pairs
from portal.queries import payments as find_payments
from portal.queries import personal as find_personal
from portal.queries import workshop as find_workshop
from portal.services import audit, invoices, taking_along
from portal.web.account.blueprint import bp
from portal.web.history import history_of
from portal.web.invoice_files import printed
from portal.web.language import say, speak
from portal.web.papers import fallback_fonts
from portal.web.receipts import receipt_of
from portal.web.request import actor, db, insist_on_fresh_sign_in, now, portal, today, transaction

Files = Iterator[tuple[str, bytes]]
NAME = "everything-about-me"
# What stands in the archive beside me.json, as its own README says it.
FOLDERS = (
    ("me.json", N_("everything that is kept, in one file for programs")),
    ("me.schema.json", N_("what may stand in it, as JSON Schema")),
    ("pairs/", N_("the service history of each of your pairs, as PDF")),
    ("photos/", N_("photos of your pairs")),
    ("receipts/", N_("receipts, as PDF")),
    ("invoices/", N_("invoices and credit notes, as PDF and as XML")),
    ("letters/", N_("files that went with letters")),
)


@bp.get("/account/data")
def your_data() -> str:
    who = actor()
    return render_template(
        "account/data.html", who=who, folders=FOLDERS, name=f"{NAME}.zip", back_url=url_for(".account")
    )


@bp.get("/account/data/format")
def data_format() -> str:
    actor()
    parts = [(part, title, taking_along.fields_of(part)) for part, title in PARTS.items()]
    return render_template(
        "account/data_format.html",
        format=FORMAT,
        version=VERSION,
        parts=[
            (part, title, [taking_along.field_name(column) for column in columns])
            for part, title, columns in parts
        ],
        back_url=url_for(".your_data"),
    )


@bp.get("/account/everything-about-me.zip")
def take_along() -> Response:
    who = actor()
    insist_on_fresh_sign_in(url_for(".your_data"))
    with transaction() as session:
        audit.note(session, who, Act.TAKEN_ALONG, now())
    return Response(
        stream_with_context(zipped(_files(), now())),
        mimetype="application/zip",
        headers={"Content-Disposition": f'attachment; filename="{NAME}.zip"', "Cache-Control": "no-store"},
    )


def _files() -> Files:
    workshop = find_workshop.the_or_none(db())
    made = taking_along.everything(
        db(), actor(), speak(), workshop.name if workshop else "", portal().settings.base_url, now()
    )
    yield "README.txt", _readme(made).encode()
    yield "me.json", _json(made)
    yield "me.schema.json", _json(taking_along.schema())
    records = made["records"]
    yield from _contents("photo", "data", records["photo"])
    yield from _contents("outbox_enclosure", "content", records["outbox_enclosure"])
    if workshop is None:
        return
    # Papers as everybody gets them, but for the names of the workshop's people.
    fonts = fallback_fonts()
    for row in records["pair"]:
        pair = find_pairs.one(db(), actor(), row["id"])
        told = history_of(db(), pair, today())
        if pair.frozen_at is not None:
            # As long as it is not clear whose the pair is, no paper says so with a seal.
            told = replace(told, seal=None, pair=replace(told.pair, owner=""))
        told = replace(told, grinds=tuple(replace(one, technician="") for one in told.grinds))
        yield (
            f"pairs/{readable(pair.title, tag_of(pair.id))}.pdf",
            history.render(told, speak(), fallback_fonts=fonts),
        )
    for row in records["payment"]:
        paid = receipt_of(find_payments.one(db(), actor(), row["id"]), is_copy=True)
        paid = replace(paid, taken_by=say(N_("The workshop")))
        yield f"receipts/{paid.number}.pdf", receipt.render(paid, speak(), fallback_fonts=fonts)
    for row in records["invoice"]:
        for file in printed(invoices.content_of(find_invoices.one(db(), actor(), row["id"]))):
            yield f"invoices/{file.file_name}", file.content


def _contents(part: str, column: str, rows: list[dict[str, Any]]) -> Files:
    for row in rows:
        content = find_personal.content_of(db(), part, column, row["id"])
        if content is not None:
            yield row["file"], content


def _json(made: dict[str, Any]) -> bytes:
    return json.dumps(made, ensure_ascii=False, indent=1).encode()


def _readme(made: dict[str, Any]) -> str:
    lines = [
        say(N_("Everything that %(workshop)s keeps of you"), workshop=made["workshop"] or "Rillbook"),
        "",
        *(f"{path}: {say(what)}" for path, what in FOLDERS),
        "",
        say(
            N_(
                "me.json is UTF-8 text in the format %(format)s, version %(version)s. Days and moments are written after ISO 8601, moments in UTC; amounts of money are text with a point; a field that ends in _um, _mm, _cm, _kg or _c is in micrometres, millimetres, centimetres, kilograms or degrees Celsius."
            ),
            format=made["format"],
            version=made["version"],
        ),
        say(
            N_(
                "What is other people's is not in it: the workshop's people stand in it as somebody else. Clubs' rosters and orders are the clubs' and are taken along from the club's own pages."
            )
        ),
        "",
        *(f"{part}: {say(title)}" for part, title in PARTS.items()),
        "",
    ]
    return "\r\n".join(lines)
