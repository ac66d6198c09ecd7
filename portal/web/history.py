"""A pair's history as the paper and the page show it, the same for a skier's pair and for a club's."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from markupsafe import Markup
from sqlalchemy.orm import Session
from werkzeug.wrappers import Response

from portal.documents.history import GrindLine, History, PairFacts, StructureNow, render
from portal.domain.base_life import BaseLife
from portal.domain.errors import NotNow
from portal.domain.next_grind import Judgement
from portal.domain.personal import ERASED
from portal.domain.tags import grouped, tag_of
from portal.domain.words import N_, Phrase
from portal.pictures import base_life as picture
from portal.pictures.ink import Table
from portal.queries import grinds as find_grinds
from portal.queries import workshop as find_workshop
from portal.services import base_lives
from portal.web import advising, next_grind
from portal.web.history_parts import care_of, facts_of_care, glide_of, snow_of, surface_of
from portal.web.language import called, say, speak
from portal.web.paper_seals import seal_of_pair
from portal.web.papers import fallback_fonts, letterhead, pdf
from portal.web.request import actor, portal
from portal.web.reworking import Told, lines_of
from portal.web.shown import on_page


def paper_of(session: Session, pair: Any, today: date) -> Response:
    """The service history of a pair as a PDF to keep; of one in dispute only staff get it, since it says whose it is."""
    if pair.frozen_at is not None and not actor().is_staff:
        raise NotNow(_frozen(session))
    made = history_of(session, pair, today)
    return pdf(
        render(made, speak(), fallback_fonts=fallback_fonts()), f"pair-{pair.id}-history", to_keep=True
    )


def _frozen(session: Session) -> Phrase:
    workshop = find_workshop.the(session)
    ways = " \N{MIDDLE DOT} ".join(filter(None, (workshop.name, workshop.phone, workshop.email)))
    return Phrase(
        N_(
            "The workshop is clearing up whom this pair belongs to. Until then no paper of it is given out. Ask the workshop: %(ways)s"
        ),
        {"ways": ways},
    )


def history_of(session: Session, pair: Any, today: date) -> History:
    """All that the paper of a pair shows to whoever asks for it, as things stand ``today``."""
    bare = bare_history(session, pair, today)
    grinds = find_grinds.of_pair(session, pair.id)
    latest = grinds[0] if grinds else None
    return replace(
        bare,
        care=care_of(session, [(pair, latest.structure.family.key if latest else None, bare.base_life)]),
        care_facts=facts_of_care(),
        surface=surface_of(latest.structure) if latest else None,
        seal=seal_of_pair(session, pair, bare.base_life, today),
        next_grind=_worth(session, pair, grinds, bare.base_life, today),
    )


def _worth(
    session: Session, pair: Any, grinds: Sequence[Any], life: BaseLife, today: date
) -> Judgement | None:
    """Whether the next grind is worth it; nothing where there is nothing to say but that it is not known."""
    if not grinds:
        return None
    advised = advising.for_pair(session, portal().reference, pair)
    worth = next_grind.of_pair(session, grinds, life, advised, today)
    return worth if advised is not None or worth.worth.warns else None


def bare_history(session: Session, pair: Any, today: date) -> History:
    """The same without what several pairs have in common, and without a seal of its own."""
    grinds = find_grinds.of_pair(session, pair.id)
    latest = grinds[0] if grinds else None
    now = (
        StructureNow(latest.structure.name, latest.structure.family.name, latest.ground_on)
        if latest is not None
        else None
    )
    again = lines_of(session, grinds)
    return History(
        workshop=letterhead(find_workshop.the(session)),
        pair=_facts(pair),
        structure_now=now,
        grinds=tuple(_line(grind, again.get(grind.id, ())) for grind in reversed(grinds)),
        base_life=life_of(session, pair.id, grinds),
        care=(),
        made_on=today,
        measured=tuple(find_grinds.measured_besides(session, [pair.id]).get(pair.id, ())),
        snow=snow_of(session, pair, latest) if latest is not None else None,
        glide=glide_of(session, pair, latest),
    )


def life_of(session: Session, pair_id: int, grinds: Sequence[Any]) -> BaseLife:
    """The life of a base from its grinds, the newest first; the next grind is taken to cost what the last one states."""
    return lives_of(session, {pair_id: grinds})[pair_id]


def lives_of(session: Session, grinds: Mapping[int, Sequence[Any]]) -> dict[int, BaseLife]:
    """The same for several pairs at once: pair id -> its life."""
    workshop = find_workshop.the(session)
    measured = find_grinds.measured_besides(session, list(grinds))
    return {
        pair_id: base_lives.life(workshop, made, measured.get(pair_id, []))
        for pair_id, made in grinds.items()
    }


def drawn(life: BaseLife) -> Markup | None:
    """The base-life line to stand in a page; nothing for a base that was never measured or never ground."""
    if life.reading is None or not life.grinds:
        return None
    voice = speak()
    title, described = say(N_("Base life")), picture.describe(life, voice)
    wide = on_page(picture.draw(life, voice), "base-life", title, described)
    narrow = on_page(picture.draw_narrow(life, voice), "base-life-narrow", title, described)
    # The style sheet shows one of them, and the other is no part of the page for anybody.
    return Markup('<div class="on-wide">{}</div><div class="on-narrow">{}</div>').format(wide, narrow)


def ranged(life: BaseLife) -> str:
    """How far the grinds left can be off, in one sentence; no words where there is nothing to say."""
    return " ".join(picture.say_range(life, speak()))


def in_numbers(life: BaseLife) -> Table | None:
    """What is expected of the base, grind by grind; nothing where none is left."""
    made = picture.table(life, speak())
    return made if made.rows else None


def _facts(pair: Any) -> PairFacts:
    owner = called(pair.owner.name) if pair.owner else pair.club.name if pair.club else say(ERASED)
    return PairFacts(
        maker=pair.maker,
        model=pair.model,
        discipline=pair.discipline.label,
        length_cm=pair.length_cm,
        year=pair.year,
        mark=pair.mark,
        base=pair.base.label if pair.base else "",
        grip=pair.grip.label if pair.grip else "",
        owner=owner,
        reference=say(N_("Pair %(number)s"), number=pair.id),
        tag=grouped(tag_of(pair.id)),
    )


def _line(grind: Any, again: Sequence[Told]) -> GrindLine:
    return GrindLine(
        day=grind.ground_on,
        structure=grind.structure.name,
        family=grind.structure.family.name,
        before_um=find_grinds.before(grind),
        after_um=find_grinds.after(grind),
        technician=called(grind.technician),
        flattened=grind.flattened,
        saturated=grind.saturated,
        remarks=grind.remarks,
        again=tuple(line.words for line in again),
    )
