"""Tags of pairs on the workshop's sheet of stickers, as a paper for whoever may see the pairs."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from flask import request, url_for
from werkzeug.wrappers import Response

from portal.documents.tag_sheet import Tag, TagPaper, render
from portal.domain.errors import NotFound
from portal.domain.tag_sheets import TagSheet
from portal.domain.tags import grouped, tag_of
from portal.queries import workshop as find_workshop
from portal.web.language import speak
from portal.web.papers import fallback_fonts, pdf
from portal.web.request import db, portal

if TYPE_CHECKING:
    from portal.db.pairs import Pair

# A pair, and what its tag says of its booking.
Tagged = tuple["Pair", str]


def tag_paper_of(reference: str, tagged: Iterable[Tagged], name: str) -> Response:
    """The paper of what ``reference`` says; the request says how many stickers are ``used``, and whether ``frames`` are printed."""
    here = find_workshop.the(db())
    sheet = TagSheet.from_json(here.tag_sheet)
    used = request.args.get("used", 0, type=int)
    made = tuple(_tag(pair, booked, here.name) for pair, booked in tagged)
    if not 0 <= used < sheet.many or not made:
        raise NotFound
    paper = TagPaper(here.name, reference, made, sheet, used, "frames" in request.args)
    return pdf(render(paper, speak(), fallback_fonts=fallback_fonts()), f"tags-{name}")


def _tag(pair: Pair, booked: str, workshop_name: str) -> Tag:
    code = tag_of(pair.id)
    lines = (pair.title, pair.mark, booked, workshop_name)
    return Tag(
        grouped(code),
        portal().settings.base_url + url_for("public.tag", code=code),
        tuple(line for line in lines if line),
    )
