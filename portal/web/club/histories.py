"""The histories of all pairs of the club on one paper, and those of an order in one archive."""

from __future__ import annotations

from collections.abc import Iterator

from flask import stream_with_context, url_for
from werkzeug.wrappers import Response

from portal.documents.archives import zipped
from portal.documents.history import render
from portal.domain.audit import Act
from portal.domain.file_names import readable
from portal.domain.tags import grouped, tag_of
from portal.domain.words import N_
from portal.queries import clubs as find_clubs
from portal.queries import pairs as find_pairs
from portal.services import audit
from portal.web.club.blueprint import bp
from portal.web.club.standing import order_of
from portal.web.fleet_papers import fleet_paper
from portal.web.history import history_of
from portal.web.language import say, speak
from portal.web.papers import fallback_fonts
from portal.web.request import actor, db, insist_on_fresh_sign_in, now, today, transaction


@bp.get("/<int:club_id>/histories.pdf")
def all_histories(club_id: int) -> Response:
    club = find_clubs.one(db(), actor(), club_id)
    insist_on_fresh_sign_in(url_for("club.club", club_id=club_id))
    pairs = find_pairs.of_club(db(), club_id)
    return fleet_paper(pairs, club.name, is_club=True)


@bp.get("/<int:club_id>/orders/<int:booking_id>/histories.zip")
def histories(club_id: int, booking_id: int) -> Response:
    order = order_of(club_id, booking_id)
    insist_on_fresh_sign_in(url_for("club.order", club_id=club_id, booking_id=booking_id))
    name = readable("histories", order.reference)
    # A pair that its family has claimed is not the club's to hand on.
    pairs = [item.pair for item in order.items if item.pair.club_id == club_id]
    with transaction() as session:
        audit.note(session, actor(), Act.EXPORTED, now(), f"{name}.zip")
    return Response(
        stream_with_context(
            zipped(_papers([(pair.id, pair.frozen_at is not None) for pair in pairs]), now())
        ),
        mimetype="application/zip",
        headers={"Content-Disposition": f'attachment; filename="{name}.zip"', "Cache-Control": "no-store"},
    )


def _papers(pairs: list[tuple[int, bool]]) -> Iterator[tuple[str, bytes]]:
    """A paper for each pair; those in dispute are named instead."""
    day = today()
    left_out = []
    for pair_id, is_frozen in pairs:
        pair = find_pairs.one(db(), actor(), pair_id)
        if is_frozen:
            left_out.append(f"{pair.title} ({grouped(tag_of(pair.id))})")
            continue
        paper = render(history_of(db(), pair, day), speak(), fallback_fonts=fallback_fonts())
        who = pair.junior.display_name if pair.junior else ""
        yield f"{readable(who, pair.title, tag_of(pair.id))}.pdf", paper
    if left_out:
        why = say(
            N_("No paper of these pairs is given out: the workshop is clearing up whom they belong to.")
        )
        yield f"{readable(say(N_('Left out')))}.txt", "\n".join([why, "", *left_out, ""]).encode()
