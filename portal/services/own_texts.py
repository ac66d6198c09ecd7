"""The workshop's own wording: which texts there are, and changing one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime
from functools import lru_cache

from sqlalchemy.orm import Session

from portal.db.own_texts import OwnText
from portal.domain.access import Actor
from portal.domain.arrivals import CONDITIONS
from portal.domain.audit import Act
from portal.domain.care import CareRule
from portal.domain.errors import NotAllowed, NotNow
from portal.domain.own_texts import LONGEST_SUBJECT, LONGEST_TEXT, Kind, Slot, places_in, problem
from portal.domain.public_words import TITLES
from portal.domain.reasons import SHIPPED, Use
from portal.domain.words import N_, Phrase
from portal.mail import messages, openings, season_letters
from portal.mail.season_letters import KIND
from portal.queries import own_texts as find_own_texts
from portal.services import audit

# Lists of short words that may be reworded: a key that never changes -> the shipped words. Another list is one line here.
WORD_LISTS: dict[Kind, Mapping[str, str]] = {Kind.CONDITION: CONDITIONS}


# What of an advice its source speaks for; a caution is the portal's own.
SOURCED = ("condition", "advice")


@lru_cache(maxsize=4)
def slots(care: tuple[CareRule, ...]) -> dict[str, Slot]:
    """Every text that may be reworded, by its key, in the order in which they are listed; without ``care``, all the others."""
    made = (*_public(), *_letters(), *_season_letter(), *_care(care), *_reasons(), *_listed())
    return {slot.key: slot for slot in made}


def _public() -> Iterator[Slot]:
    for key, title in TITLES.items():
        yield Slot(key, Kind.PUBLIC, Phrase(title), "")


def _letters() -> Iterator[Slot]:
    for kind, (subject, _to_workshop) in messages.SUBJECTS.items():
        if subject is None:
            continue
        name = Phrase(openings.TITLES.get(kind, subject))
        yield Slot(
            openings.subject_slot(kind),
            Kind.LETTER,
            Phrase(N_("%(letter)s: subject"), {"letter": name}),
            subject,
            openings.PLACES,
            places_in(subject),
            LONGEST_SUBJECT,
            is_one_line=True,
        )
        for opening, title in openings.of_kind(kind).items():
            yield Slot(
                openings.opening_slot(opening),
                Kind.LETTER,
                Phrase(title, {"letter": name}),
                openings.OPENINGS[opening],
                openings.PLACES,
            )
        yield Slot(
            openings.closing_slot(kind),
            Kind.LETTER,
            Phrase(N_("%(letter)s: a closing paragraph"), {"letter": name}),
            "",
            openings.PLACES,
        )


def _season_letter() -> Iterator[Slot]:
    """Its subject, opening and closing, in which other places can be filled than in a letter about a booking."""
    named = {"letter": Phrase(season_letters.TITLE)}
    for key, title, shipped, most in (
        (openings.subject_slot(KIND), N_("%(letter)s: subject"), season_letters.SUBJECT, LONGEST_SUBJECT),
        (openings.opening_slot(KIND), N_("%(letter)s: opening"), season_letters.OPENING, LONGEST_TEXT),
        (openings.closing_slot(KIND), N_("%(letter)s: a closing paragraph"), "", LONGEST_TEXT),
    ):
        yield Slot(
            key,
            Kind.LETTER,
            Phrase(title, named),
            shipped,
            season_letters.PLACES,
            most=most,
            is_one_line=most == LONGEST_SUBJECT,
        )


def _care(care: tuple[CareRule, ...]) -> Iterator[Slot]:
    for rule in care:
        named = {"stage": Phrase(rule.stage.label), "rule": Phrase(rule.condition)}
        for part, title, shipped in (
            ("condition", N_("%(stage)s: %(rule)s (when)"), rule.condition),
            ("advice", N_("%(stage)s: %(rule)s (what to do)"), rule.advice),
            # A caution can be reworded, and never left out.
            ("caution", N_("%(stage)s: %(rule)s (caution)"), rule.caution),
        ):
            if shipped:
                yield Slot(
                    f"care.{rule.key}.{part}",
                    Kind.CARE,
                    Phrase(title, named),
                    shipped,
                    has_no_numbers=part in SOURCED,
                )


def sourced_slots(rule: CareRule) -> tuple[str, ...]:
    """The texts of an advice for which its source stands."""
    return tuple(f"care.{rule.key}.{part}" for part in SOURCED)


def _reasons() -> Iterator[Slot]:
    for use in Use:
        for key, shipped in SHIPPED[use].items():
            yield Slot(
                f"reason.{use}.{key}",
                Kind.REASON,
                Phrase(use.label),
                shipped,
                most=300,
                is_one_line=True,
            )


def _listed() -> Iterator[Slot]:
    for kind, words in WORD_LISTS.items():
        for key, shipped in words.items():
            yield Slot(f"{kind}.{key}", kind, Phrase(kind.label), shipped, most=120, is_one_line=True)


def reword(session: Session, actor: Actor, slot: Slot, language: str, words: str, now: datetime) -> bool:
    """Say a text in own words from now on; ``NotNow`` where they cannot be used. Tells whether anything changed."""
    if not actor.is_manager:
        raise NotAllowed
    why_not = problem(slot, words)
    if why_not is not None:
        raise NotNow(why_not)
    if find_own_texts.current(session).of(slot.key, language) == words:
        return False
    _keep(session, actor, slot, language, words, now)
    return True


def back_to_shipped(session: Session, actor: Actor, slot: Slot, language: str, now: datetime) -> bool:
    """Say a text as it was shipped again; the own words stay among the versions. Tells whether anything changed."""
    if not actor.is_manager:
        raise NotAllowed
    if find_own_texts.current(session).of(slot.key, language) is None:
        return False
    _keep(session, actor, slot, language, "", now)
    return True


def _keep(session: Session, actor: Actor, slot: Slot, language: str, words: str, now: datetime) -> None:
    session.add(
        OwnText(
            slot=slot.key,
            language=language,
            words=words,
            changed_at=now,
            changed_by_id=actor.person_id,
        )
    )
    audit.note(session, actor, Act.TEXT_CHANGED, now, _named(slot, language), words)


def _named(slot: Slot, language: str) -> Phrase:
    return Phrase(N_("%(text)s (%(language)s)"), {"text": slot.title, "language": language})
