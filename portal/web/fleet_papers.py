"""The histories of all pairs of a skier or a club as one paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from sqlalchemy.orm import Session
from werkzeug.wrappers import Response

from portal.documents.history import Fleet, FleetPair, GlideShown, SurfaceShown, render_fleet
from portal.domain.audit import Act
from portal.queries import grinds as find_grinds
from portal.queries import workshop as find_workshop
from portal.services import audit
from portal.web.history import bare_history
from portal.web.history_parts import care_of, facts_of_care, surface_of
from portal.web.language import speak
from portal.web.paper_seals import seal_of_fleet
from portal.web.papers import fallback_fonts, letterhead, pdf
from portal.web.request import actor, db, now, today, transaction

NAME = "histories"


def fleet_paper(pairs: Sequence[Any], owner: str, *, is_club: bool = False) -> Response:
    """The paper as a file to keep; whoever took it along is kept too, and of which club."""
    made = fleet_of(db(), pairs, owner, today(), is_club=is_club)
    paper = render_fleet(made, speak(), fallback_fonts=fallback_fonts())
    with transaction() as session:
        # A skier's own name stands beside the act already, and nowhere else.
        about = f"{NAME}.pdf, {owner}" if is_club else f"{NAME}.pdf"
        audit.note(session, actor(), Act.EXPORTED, now(), about)
    return pdf(paper, NAME, to_keep=True)


def fleet_of(
    session: Session, pairs: Sequence[Any], owner: str, day: date, *, is_club: bool = False
) -> Fleet:
    """All that the paper shows to whoever asks for it; a club's pairs in the order of its roster.

    A pair of which it is not clear whose it is stands on no paper that says so.
    """
    left_out = sum(pair.frozen_at is not None for pair in pairs)
    pairs = [pair for pair in pairs if pair.frozen_at is None]
    latest = find_grinds.latest_of_pairs(session, [pair.id for pair in pairs])
    surfaces: dict[int, SurfaceShown] = {}
    for grind in latest.values():
        surface = surface_of(grind.structure)
        if surface is not None:
            surfaces[grind.structure_id] = surface
    families = {pair_id: grind.structure.family.key for pair_id, grind in latest.items()}
    shown = tuple(_pair(session, pair, day) for pair in pairs)
    cared = [
        (pair, families.get(pair.id), one.history.base_life) for pair, one in zip(pairs, shown, strict=True)
    ]
    return Fleet(
        workshop=letterhead(find_workshop.the(session)),
        owner=owner,
        is_club=is_club,
        pairs=shown,
        care=care_of(session, cared),
        made_on=day,
        surfaces=tuple(sorted(surfaces.values(), key=lambda one: one.structure)),
        seal=seal_of_fleet(session, pairs, day) if pairs else None,
        care_facts=facts_of_care(),
        left_out=left_out,
    )


def _pair(session: Session, pair: Any, day: date) -> FleetPair:
    it = bare_history(session, pair, day)
    # Whose they are stands on the first page, and what all skiers say of a structure is not this pair's.
    own = GlideShown(it.glide.rows, aside=it.glide.aside) if it.glide is not None else None
    shown = replace(it, pair=replace(it.pair, owner=""), glide=own)
    return FleetPair(shown, pair.junior.display_name if pair.junior else "")
