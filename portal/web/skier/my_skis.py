"""My skis: what each pair is for, what all of them cover and what none does, what is due, and which one today."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from flask import render_template
from markupsafe import Markup

from portal.domain.answers import Discipline
from portal.domain.base_life import BaseLife
from portal.domain.conditions import Outcome, mirrored
from portal.domain.next_grind import base_said
from portal.domain.pair_sets import PairSet
from portal.domain.shares import hundred
from portal.domain.words import N_, Phrase
from portal.pictures.ink import Table
from portal.queries import bookings as find_bookings
from portal.queries import catalogue as find_structures
from portal.queries import glide_notes as find_notes
from portal.queries import grinds as find_grinds
from portal.queries import pairs as find_pairs
from portal.web import advising, covering, handing_over, history
from portal.web.language import speak
from portal.web.request import actor, db, portal, today
from portal.web.skier.blueprint import bp
from portal.web.skier.day_forms import ShortTodayForm
from portal.web.skier.due import booking_url, due


@dataclass(frozen=True)
class Line:
    """One pair: its last grind, its base, what it covers, the last glide note, and where it stands in a booking."""

    pair: Any
    grind: Any
    life: BaseLife
    share: float | None
    note: Any
    item: Any

    @property
    def base(self) -> Phrase:
        """How much base is left."""
        return base_said(self.life)

    @property
    def days(self) -> int | None:
        """Days of 100 that it suits."""
        return None if self.share is None else hundred(self.share)

    @property
    def ran(self) -> Outcome | None:
        """How it ran on the day of its last note."""
        if self.note is None:
            return None
        own = self.note.pair_id == self.pair.id
        outcome: Outcome = self.note.outcome if own else mirrored(self.note.outcome)
        return outcome

    @property
    def booking_url(self) -> str | None:
        return booking_url(self)


@dataclass(frozen=True)
class Part:
    """The pairs of one discipline, and what they cover of the skier's usual snow, where that is known."""

    discipline: Discipline
    lines: tuple[Line, ...]
    answers: Any
    covers: PairSet | None
    # Numbers of pairs with answers of their own: their pages speak of other days.
    own_answers: frozenset[int] = frozenset()

    @property
    def can_compare(self) -> bool:
        """Whether two pairs have something on their bases that can be held against each other."""
        return sum(line.grind is not None for line in self.lines) > 1

    @property
    def together(self) -> int | None:
        """Days of 100 that all pairs cover together; nothing where it is not known of any what is on its base."""
        return hundred(self.covers.together) if self.covers is not None and self.covers.shares else None

    @property
    def source(self) -> Phrase | None:
        """From which answers the usual snow is taken."""
        if self.answers is None:
            return None
        day = speak().day_of(self.answers.finished_at)
        if self.answers.pair is None:
            return Phrase(N_("Your usual snow is taken from your answers of %(day)s."), {"day": day})
        return Phrase(
            N_("Your usual snow is taken from your answers of %(day)s for %(pair)s."),
            {"day": day, "pair": self.answers.pair.title},
        )

    @property
    def elsewhere(self) -> int:
        """Days of 100 that are not covered beside the gaps that are named."""
        return round(100 * self.covers.elsewhere) if self.covers is not None else 0

    @property
    def further(self) -> Phrase | None:
        """Which further pair would help most, and by how much."""
        found = self.covers.addition if self.covers is not None else None
        if found is None:
            return None
        if not found.is_measurable:
            return Phrase(
                N_(
                    "No further structure would add more days than anyone could measure. What you have is enough."
                )
            )
        return Phrase(
            N_(
                "A pair with a structure of the %(family)s family, such as %(structure)s, would add most: %(days)s of 100 days."
            ),
            {
                "family": Phrase(found.family.name),
                "structure": found.structure.name,
                "days": hundred(found.gain),
            },
        )

    def drawn(self) -> tuple[Markup, Table] | None:
        """The coverage map of all pairs together, and the same as a table."""
        if self.covers is None or not self.covers.shares:
            return None
        return advising.drawn(self.covers.map, self.discipline.value)


@bp.get("/pairs", endpoint="pairs")
def my_skis() -> str:
    mine = find_pairs.of_person(db(), actor().person_id)
    lines = _lines(mine)
    parts = _parts(lines) if mine else []
    whole = [line for part in parts for line in part.lines]
    return render_template(
        "skier/pairs.html",
        mine=mine,
        parts=parts,
        due=due(whole, today()),
        form=ShortTodayForm() if any(line.grind for line in whole) else None,
        archived=find_pairs.of_person(db(), actor().person_id, archived=True),
        handed_over=handing_over.given_away(person_id=actor().person_id),
    )


def _lines(mine: Sequence[Any]) -> list[Line]:
    """A line for each pair, without what it covers."""
    ids = [pair.id for pair in mine]
    grinds = find_grinds.of_pairs(db(), ids)
    lives = history.lives_of(db(), grinds)
    notes = find_notes.latest_of_pairs(db(), actor(), ids)
    items = find_bookings.items_with_pairs(db(), ids)
    return [
        Line(
            pair,
            grinds[pair.id][0] if grinds[pair.id] else None,
            lives[pair.id],
            None,
            notes.get(pair.id),
            items.get(pair.id),
        )
        for pair in mine
    ]


def _parts(lines: Sequence[Line]) -> list[Part]:
    answers = find_pairs.answers_of_person(db(), actor().person_id)
    by = covering.grounds(db(), portal().reference)
    found = []
    for discipline in Discipline:
        own = [line for line in lines if line.pair.discipline is discipline]
        if own:
            row = covering.usual_answers(answers, discipline)
            part = _part(discipline, own, row, by)
            found.append(replace(part, own_answers=_answered(answers, own)))
    return found


def _answered(answers: Sequence[Any], lines: Sequence[Line]) -> frozenset[int]:
    return frozenset(
        line.pair.id
        for line in lines
        if any(row.pair_id == line.pair.id and row.finished_at is not None for row in answers)
    )


def _part(discipline: Discipline, lines: Sequence[Line], row: Any, by: covering.Grounds) -> Part:
    if row is None:
        return Part(discipline, tuple(lines), None, None)
    ground = [line for line in lines if line.grind is not None]
    on_bases = [find_structures.value(line.grind.structure) for line in ground]
    covers = covering.covers(row, discipline, on_bases, by)
    shares: Mapping[int, float] = {
        line.pair.id: share for line, share in zip(ground, covers.shares, strict=True)
    }
    whole = (replace(line, share=shares.get(line.pair.id)) for line in lines)
    # The pair that suits most days comes first; those of which nothing is known stand at the end.
    ordered = sorted(whole, key=lambda line: -1.0 if line.share is None else line.share, reverse=True)
    return Part(discipline, tuple(ordered), row, covers)
