"""The roster as a file to take along, which can be loaded again as it is."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

from flask import url_for
from werkzeug.wrappers import Response

from portal.documents.tables import Cell, Table
from portal.domain.tags import grouped, tag_of
from portal.domain.words import N_
from portal.queries import clubs as find_clubs
from portal.queries import pairs as find_pairs
from portal.web.club.blueprint import bp
from portal.web.exports import sent
from portal.web.language import say
from portal.web.request import actor, db, insist_on_fresh_sign_in

# The second of two alike is about the pair.
HEADS = (
    N_("Name"),
    N_("Birth year"),
    N_("Discipline"),
    N_("Body weight"),
    N_("Maker"),
    N_("Model"),
    N_("Discipline"),
    N_("Length"),
    N_("Mark"),
    N_("Tag"),
)


@bp.get("/<int:club_id>/roster.<kind>")
def roster_file(club_id: int, kind: str) -> Response:
    club = find_clubs.one(db(), actor(), club_id)
    insist_on_fresh_sign_in(url_for("club.club", club_id=club_id))
    pairs: dict[int | None, list[Any]] = defaultdict(list)
    for pair in find_pairs.of_club(db(), club_id):
        pairs[pair.junior_id].append(pair)
    rows = [(*_junior(junior), *_pair(pair)) for junior in club.roster for pair in pairs[junior.id] or [None]]
    return sent(Table(say(N_("Roster")), tuple(say(head) for head in HEADS), tuple(rows)), "roster", kind)


def _junior(junior: Any) -> tuple[Cell, ...]:
    skis = say(junior.discipline.label) if junior.discipline else say(N_("Both"))
    return junior.display_name, junior.birth_year, skis, junior.weight_kg


def _pair(pair: Any) -> tuple[Cell, ...]:
    if pair is None:
        return ("", "", "", None, "", "")
    kind = say(pair.discipline.label)
    return pair.maker, pair.model, kind, pair.length_cm, pair.mark, grouped(tag_of(pair.id))
