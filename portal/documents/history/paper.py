"""The paper of one pair."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable

from portal.documents.fonts import faces
from portal.documents.history.care import Care
from portal.documents.history.genuine import Genuine
from portal.documents.history.grinds import Grinds
from portal.documents.history.now import Now
from portal.documents.history.snow import Glide, Snow
from portal.documents.history.surface import Surface
from portal.documents.history.values import Fleet, History
from portal.documents.layout import LEAD, SMALL, Sheet, Strong, Typesetter
from portal.documents.letterhead import Letterhead
from portal.domain.words import N_
from portal.i18n import Voice

# Care advice begins where most of it has room, so that the page can be put up on a wall.
CARE_ROOM = 190 * mm


def render(
    history: History, voice: Voice, *, paper: str = "A4", fallback_fonts: Sequence[Path] | None = None
) -> bytes:
    """The PDF on ``A4`` or ``letter``; ``fallback_fonts`` are TrueType files for letters that Fira Sans lacks."""
    setter = Typesetter(faces(fallback_fonts), paper)
    sheet = sheet_of(
        voice.say(N_("Service history: %(pair)s"), pair=history.pair.name),
        history.pair.reference,
        history,
        voice,
    )
    return setter.build(sheet, lambda: _story(history, setter, voice))


def sheet_of(title: str, reference: str, it: History | Fleet, voice: Voice) -> Sheet:
    """What stands on every page."""
    foot = voice.say(N_("As of %(day)s"), day=voice.date(it.made_on))
    if it.seal is not None:
        foot += " \N{MIDDLE DOT} " + voice.say(N_("Check code %(code)s"), code=it.seal.code)
    return Sheet(
        title=title,
        language=voice.language.replace("_", "-"),
        running=it.workshop.name,
        reference=reference,
        foot=foot,
        made_on=it.made_on,
        page=lambda number, total: voice.say(N_("Page %(number)s of %(total)s"), number=number, total=total),
    )


def reach(workshop: Letterhead) -> str:
    """Where the workshop is and how to reach it, in one line."""
    lines = (*workshop.address_lines, workshop.phone, workshop.email, workshop.web, workshop.hours)
    return " \N{MIDDLE DOT} ".join(filter(None, lines))


def of_pair(history: History, setter: Typesetter, voice: Voice, level: int = 2) -> list[Flowable]:
    """What is only this pair's: what matters now, the base, the snow, every grind, how it ran."""
    now = Now(history, setter, voice, level)
    parts = [*now.facts(), *now.now(), *now.life()]
    if history.surface is not None:
        parts += Surface(setter, voice, level).parts(history.surface)
    if history.snow is not None:
        parts += Snow(setter, voice, level).parts(history.snow)
    parts += Grinds(history, setter, voice, level).parts()
    if history.glide is not None:
        parts += Glide(setter, voice, level).parts(history.glide)
    return parts


def _story(history: History, setter: Typesetter, voice: Voice) -> list[Flowable]:
    name = setter.text(Strong(history.pair.name), LEAD)
    opening: Flowable = name
    if history.seal is not None:
        opening = Genuine(setter, voice).pair([name, setter.space(2)], history.seal)
    return [
        setter.text(reach(history.workshop), SMALL),
        setter.space(5),
        setter.heading(voice.say(N_("Service history")), 1),
        setter.space(1),
        opening,
        setter.space(4),
        *of_pair(history, setter, voice),
        CondPageBreak(CARE_ROOM),
        *Care(setter, voice).parts(history.care, history.care_facts),
    ]
