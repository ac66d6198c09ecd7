"""From stored answers to advice, the same for whoever asks: a visitor, a skier on the way to a booking, a club."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy.orm import Session

from portal.domain.advice import Advice, advise
from portal.domain.advice_words import hundred
from portal.domain.answers import Discipline, Purpose
from portal.domain.coverage import coverage
from portal.domain.questions import answers_from, first_open
from portal.domain.structures import Structure
from portal.domain.words import N_, Phrase
from portal.queries import catalogue as find_structures
from portal.queries import grinds as find_grinds
from portal.queries import pairs as find_pairs
from portal.reference import Reference


@dataclass(frozen=True)
class Advised:
    """The advice with what a page asks of it: names, and days of 100."""

    advice: Advice
    # How many of a skier's days each structure suits, 0 to 1, by its key.
    shares: Mapping[str, float]
    purpose: Purpose

    @property
    def best(self) -> str:
        """The key of the structure that suits most days."""
        return self.advice.families[0].structure.key

    @property
    def headline(self) -> Phrase:
        """The advice in one sentence."""
        text = (
            N_("The %(family)s family suits %(days)s of 100 of your days")
            if self.purpose is Purpose.ALL_ROUND
            else N_("The %(family)s family suits %(days)s of 100 of the days this pair is for")
        )
        best = self.advice.families[0]
        return Phrase(text, {"family": Phrase(best.family.name), "days": hundred(best.coverage)})

    @property
    def reasons(self) -> Sequence[Phrase]:
        """Why it fits, without the sentence that only says the headline again."""
        return self.advice.families[0].reasons[1:]


def advised(
    session: Session,
    reference: Reference,
    stored: Mapping[str, Any],
    discipline: Discipline | None = None,
    others: Sequence[Structure] = (),
) -> Advised | None:
    """The advice on stored answers, or nothing while a question is open or the workshop grinds nothing that could fit."""
    if first_open(stored) is not None:
        return None
    answers = answers_from(stored)
    if discipline is not None:
        answers = replace(answers, discipline=discipline)
    catalogue = find_structures.catalogue(session)
    made = advise(answers, catalogue, reference.tables, others)
    if not made.families:
        return None
    shares = {
        one.key: coverage(one, made.weighed)
        for one in catalogue.structures
        if answers.discipline is None or answers.discipline in one.disciplines
    }
    return Advised(made, shares, answers.purpose)


def for_answers(session: Session, reference: Reference, row: Any) -> Advised | None:
    """The advice on a row of answers; those for a pair know what the owner's other pairs cover."""
    pair = row.pair
    if pair is None:
        return advised(session, reference, row.stored)
    return advised(session, reference, row.stored, pair.discipline, _others(session, pair))


def for_pair(session: Session, reference: Reference, pair: Any) -> Advised | None:
    """The advice on the latest finished answers for a pair; nothing when there are none."""
    row = find_pairs.answers_of_pair(session, pair.id)
    if row is None:
        return None
    return advised(session, reference, row.stored, pair.discipline, _others(session, pair))


def _others(session: Session, pair: Any) -> list[Structure]:
    """What is on the bases of the owner's other pairs of the same discipline."""
    if pair.owner_id is None:
        return []
    ids = [
        one.id
        for one in find_pairs.of_person(session, pair.owner_id)
        if one.id != pair.id and one.discipline is pair.discipline
    ]
    return [
        find_structures.value(grind.structure) for grind in find_grinds.latest_of_pairs(session, ids).values()
    ]
