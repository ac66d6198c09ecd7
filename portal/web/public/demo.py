"""The demo's mailbox: letters that would have been sent, for whoever tries the portal out."""

from __future__ import annotations

import re

from flask import Response, abort, render_template, url_for

from portal.queries import letters as find_letters
from portal.web.public.blueprint import bp
from portal.web.request import db, portal

SITE = "{site}"
LINK = re.compile(r"https?://[^\s<>]+[^\s<>.,;:)]")


def insist_on_demo() -> None:
    """There is nothing here outside the demo: letters are other people's."""
    if not portal().settings.demo:
        abort(404)


def with_links(text: str) -> list[tuple[str, bool]]:
    """The text in pieces, each with whether it is an address."""
    pieces, end = [], 0
    for found in LINK.finditer(text):
        pieces += [(text[end : found.start()], False), (found.group(), True)]
        end = found.end()
    return [*pieces, (text[end:], False)]


@bp.get("/demo/letters")
def letters() -> str:
    insist_on_demo()
    return render_template("public/letters.html", letters=find_letters.newest(db()))


@bp.get("/demo/letters/<int:letter_id>")
def letter(letter_id: int) -> str:
    insist_on_demo()
    found = find_letters.one(db(), letter_id) or abort(404)
    body = found.body.replace(SITE, portal().settings.base_url)
    return render_template(
        "public/letter.html", letter=found, pieces=with_links(body), back_url=url_for("public.letters")
    )


@bp.get("/demo/letters/<int:letter_id>/files/<int:number>.<ending>")
def letter_file(letter_id: int, number: int, ending: str) -> Response:
    insist_on_demo()
    found = find_letters.one(db(), letter_id)
    enclosed = next((one for one in found.enclosed if one.id == number), None) if found else None
    if enclosed is None or not enclosed.file_name.endswith(f".{ending}"):
        abort(404)
    return Response(
        enclosed.content,
        mimetype=enclosed.media_type,
        headers={"Content-Disposition": f'attachment; filename="{enclosed.file_name}"'},
    )


@bp.get("/demo/letters/<int:letter_id>/ready.ics")
def letter_calendar(letter_id: int) -> Response:
    insist_on_demo()
    found = find_letters.one(db(), letter_id)
    if found is None or found.calendar is None:
        abort(404)
    return Response(
        found.calendar,
        mimetype="text/calendar",
        headers={"Content-Disposition": f'attachment; filename="letter-{found.id}.ics"'},
    )
