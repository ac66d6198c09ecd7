"""From stored answers to advice, the same for whoever asks: a visitor, a skier on the way to a booking, a club."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from markupsafe import Markup
from sqlalchemy.orm import Session

from portal.domain.advice import Advice, advise
from portal.domain.advice_words import listed
from portal.domain.answers import Answers, Discipline, Purpose
from portal.domain.coverage import CoverageMap, coverage, coverage_map
from portal.domain.draws import seed_of
from portal.domain.evidence import Evidence
from portal.domain.questions import answers_from, first_open
from portal.domain.shares import hundred
from portal.domain.snow_tables import Tables
from portal.domain.structures import Catalogue, Structure
from portal.domain.words import N_, Phrase
from portal.i18n import Voice
from portal.pictures import coverage_map as picture
from portal.pictures.ink import Table
from portal.queries import catalogue as find_structures
from portal.queries import grinds as find_grinds
from portal.queries import pairs as find_pairs
from portal.reference import Reference
from portal.web.evidence import EvidenceRow, evidence_now, rows_of
from portal.web.kept import Kept
from portal.web.language import speak
from portal.web.shown import on_page

# An advice is some hundred kilobytes; the answers of one day's visitors fit.
KEPT = 128


@dataclass(frozen=True)
class Advised:
    """The advice with what a page asks of it: names, and days of 100."""

    advice: Advice
    # How many of a skier's days each structure suits, 0 to 1, by its key.
    shares: Mapping[str, float]
    purpose: Purpose
    # What glide notes say of the structure that suits best.
    evidence: tuple[EvidenceRow, ...]
    # The days that count by air and kind of snow, and what of them it covers.
    map: CoverageMap
    # What all glide notes say.
    notes: Evidence

    @property
    def best(self) -> str:
        """The key of the structure that suits most days."""
        return self.advice.families[0].structure.key

    def share_of(self, structure: Structure) -> float:
        """How many of the days a structure suits, 0 to 1, a version that is no longer offered too."""
        return coverage(structure, self.advice.weighed, self.notes, self.advice.covered)

    @property
    def headline(self) -> Phrase:
        """The advice in one sentence."""
        if self.purpose is not Purpose.ALL_ROUND:
            return self.headline_of_pair
        return self._headline(N_("The %(family)s family suits %(days)s of 100 of your days"))

    @property
    def headline_of_pair(self) -> Phrase:
        """The same for answers that were given for one pair: its days need not be all of its skier's days."""
        return self._headline(N_("The %(family)s family suits %(days)s of 100 of the days this pair is for"))

    def _headline(self, text: str) -> Phrase:
        best = self.advice.families[0]
        return Phrase(text, {"family": Phrase(best.family.name), "days": hundred(best.coverage)})

    @property
    def reasons(self) -> Sequence[Phrase]:
        """Why it fits, without the sentence that only says the headline again."""
        return self.advice.families[0].reasons[1:]

    @property
    def sure(self) -> Phrase:
        """How sure it is, in one sentence."""
        best = self.advice.families[0]
        return Phrase(
            N_(
                "Nobody knows their snow to the degree. In %(ways)s of 100 ways in which your answers could be meant, %(family)s comes out best."
            ),
            {"ways": hundred(best.sure or 0.0), "family": Phrase(best.family.name)},
        )

    @property
    def tie(self) -> Phrase | None:
        """Which families are as good as the first one, in one sentence; nothing when it stands alone."""
        others = [Phrase(one.family.name) for one in self.advice.tie[1:]]
        if not others:
            return None
        return Phrase(
            N_(
                "As good for you: %(others)s. The difference is smaller than anyone can measure on snow or than your answers can tell, so take the one whose weak spots matter less."
            ),
            {"others": listed(others)},
        )

    @property
    def beside(self) -> Phrase | None:
        """What the pair adds to the others, in one sentence; nothing where they do not count."""
        beside = self.advice.beside
        if beside is None:
            return None
        return Phrase(
            N_("Your other pairs cover %(others)s of 100 of your days; with this one it is %(together)s."),
            {"others": hundred(beside.others), "together": hundred(beside.together)},
        )

    def drawn(self) -> tuple[Markup, Table]:
        """The coverage map to stand in a page, and the table that says the same."""
        return drawn(self.map)


def drawn(shown: CoverageMap, part: str = "") -> tuple[Markup, Table]:
    """A coverage map to stand in a page, and the table that says the same; two on one page need two names of a part."""
    return _drawn(shown, speak(), f"coverage-map-{part}" if part else "coverage-map")


@lru_cache(maxsize=KEPT)
def _drawn(shown: CoverageMap, voice: Voice, uid: str) -> tuple[Markup, Table]:
    title = voice.say(N_("Your days and what of them is covered"))
    svg = on_page(picture.draw(shown, voice), uid, title, picture.describe(shown, voice))
    return svg, picture.table(shown, voice)


_kept: Kept[bytes, Advised | None] = Kept(KEPT)


def forget() -> None:
    """Make every advice anew from now on; for who measures what that takes."""
    _kept.forget()
    _drawn.cache_clear()


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
    if answers.purpose is not Purpose.SPECIAL:
        # The other pairs change nothing then, so the same advice serves whoever has which.
        others = ()
    catalogue = find_structures.catalogue(session)
    evidence = evidence_now(session)
    tables = reference.tables
    made_from = (seed_of(answers), id(tables), repr(catalogue), repr(others), evidence.key)
    key = hashlib.sha256(repr(made_from).encode()).digest()
    return _kept.get(key, lambda: _made(answers, catalogue, tables, others, evidence))


def _made(
    answers: Answers,
    catalogue: Catalogue,
    tables: Tables,
    others: Sequence[Structure],
    evidence: Evidence,
) -> Advised | None:
    made = advise(answers, catalogue, tables, others, evidence)
    if made.best is None:
        return None
    shares = {
        one.key: coverage(one, made.weighed, evidence, made.covered)
        for one in catalogue.structures
        if answers.discipline is None or answers.discipline in one.disciplines
    }
    structure = made.best.structure
    return Advised(
        made,
        shares,
        answers.purpose,
        rows_of(evidence, structure.key),
        coverage_map([structure], made.weighed, evidence, made.covered),
        evidence,
    )


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
