"""What a history says beside the grinds: the surface, the snow it was chosen for, glide notes, care."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from typing import Any

from sqlalchemy.orm import Session

from portal.documents.history import (
    CareFact,
    CareFacts,
    CareGroup,
    CareStep,
    EvidenceLine,
    GlideRow,
    GlideShown,
    Number,
    SnowShown,
    SurfaceShown,
)
from portal.domain.advice import advise
from portal.domain.age_classes import class_of
from portal.domain.answers import HowOften, Purpose
from portal.domain.base_life import BaseLife
from portal.domain.care import CareRule, CareStage, care_for
from portal.domain.conditions import Outcome, mirrored
from portal.domain.questions import QUESTIONS, answers_from, shown
from portal.domain.shares import hundred
from portal.domain.snow import SnowKind
from portal.domain.structures import Catalogue, Family
from portal.domain.words import N_, Phrase
from portal.queries import age_classes as find_classes
from portal.queries import catalogue as find_structures
from portal.queries import glide_notes as find_notes
from portal.queries import pairs as find_pairs
from portal.queries import reworks as find_reworks
from portal.web import caring, evidence
from portal.web.language import speak
from portal.web.request import actor, portal
from portal.web.structure_pictures import paper_numbers

# Where the skier skis most is nobody's business who gets the paper with the skis.
UNTOLD = frozenset({"place", "discipline", "weak"})
EVIDENCE_LINES = 5


def surface_of(structure: Any) -> SurfaceShown | None:
    """What a structure looks like; nothing where its layers are not known."""
    layers = find_structures.value(structure).layers
    if not layers:
        return None
    numbers = tuple(Number(row.label, row.symbol, row.value) for row in paper_numbers(layers))
    return SurfaceShown(structure.name, layers, numbers)


def snow_of(session: Session, pair: Any, grind: Any) -> SnowShown | None:
    """The snow that the structure of a grind was chosen for; nothing where nobody had answered."""
    booked = find_reworks.first_bookings(session, [grind.item_id]).get(grind.item_id)
    end_of_day = datetime.combine(grind.ground_on, time(), UTC) + timedelta(days=1)
    moment = booked.created_at if booked is not None else end_of_day
    row = find_pairs.answers_standing(session, pair, moment, _class_id(session, pair))
    if row is None or row.finished_at is None:
        return None
    answers = replace(answers_from(row.stored), discipline=pair.discipline)
    structure, family = find_structures.value(grind.structure), grind.structure.family
    only = Catalogue(
        (Family(family.key, family.name, family.summary, family.position, family.working_model),),
        (structure,),
    )
    best = advise(answers, only, portal().reference.tables, redraws=0).best
    return SnowShown(
        answered_on=row.finished_at.astimezone(speak().zone).date(),
        answers=tuple(_in_short(row.stored)),
        structure=structure.name,
        days=hundred(best.coverage) if best is not None else None,
        is_special=answers.purpose is not Purpose.ALL_ROUND,
    )


def _class_id(session: Session, pair: Any) -> int | None:
    if pair.club_id is None or pair.junior is None:
        return None
    found = class_of(pair.junior.birth_year, find_classes.of_club(session, pair.club_id))
    return found.id if found is not None else None


def _in_short(stored: Any) -> Iterable[tuple[str, Phrase | str]]:
    for question in QUESTIONS:
        if question.key in UNTOLD or not question.applies(stored) or question.key not in stored:
            continue
        if question.key == "snow":
            yield from _kinds(stored)
        else:
            yield from shown(question, stored)


def _kinds(stored: Any) -> Iterable[tuple[str, Phrase]]:
    """How often, with the kinds of snow that are met so: four lines instead of seven."""
    often = answers_from(stored).often
    for how in (HowOften.MOSTLY, HowOften.OFTEN, HowOften.SOMETIMES):
        kinds = [kind.label for kind in SnowKind if often(kind) is how]
        if kinds:
            said = Phrase(kinds[0])
            for kind in kinds[1:]:
                said = Phrase(N_("%(one)s; %(more)s"), {"one": said, "more": Phrase(kind)})
            yield how.label, said


def glide_of(session: Session, pair: Any, latest: Any) -> GlideShown:
    """The reader's own notes of a pair that count, and what all notes say of the structure on its base."""
    counts: dict[tuple[str, str], dict[Outcome, int]] = defaultdict(lambda: dict.fromkeys(Outcome, 0))
    notes = find_notes.of_pair(session, actor(), pair.id)
    counted = [note for note in notes if note.set_aside is None]
    for note in counted:
        is_own = note.pair_id == pair.id
        here, there = (
            (note.structure, note.other_structure) if is_own else (note.other_structure, note.structure)
        )
        names = here.name if here else "", there.name if there else ""
        counts[names][note.outcome if is_own else mirrored(note.outcome)] += 1
    rows = tuple(
        GlideRow(own, other, told[Outcome.FASTER], told[Outcome.SAME], told[Outcome.SLOWER])
        for (own, other), told in sorted(counts.items())
    )
    aside = len(notes) - len(counted)
    if latest is None:
        return GlideShown(rows, aside=aside)
    lines = tuple(
        EvidenceLine(row.snow, row.tally.notes, row.tally.skiers, row.told)
        for row in evidence.of_structure(session, latest.structure.key)[:EVIDENCE_LINES]
    )
    return GlideShown(rows, latest.structure.name, lines, aside)


def care_of(session: Session, pairs: Sequence[tuple[Any, str | None, BaseLife]]) -> tuple[CareGroup, ...]:
    """What to do with these pairs, each with the family on its base and its life: what is for any of them, once."""
    rules = caring.rules(session)
    known = [caring.known_of(session, pair, family, life) for pair, family, life in pairs]
    groups = []
    for stage in CareStage:
        wanted = {rule.key for one in known for rule in care_for(rules, stage, one)}
        steps = tuple(_step(rule) for rule in rules if rule.stage is stage and rule.key in wanted)
        groups.append(CareGroup(stage.label, steps))
    return tuple(groups)


def _step(rule: CareRule) -> CareStep:
    # The paper itself says where a step is common practice.
    source = "" if rule.is_common_practice else rule.source
    return CareStep(rule.condition, rule.advice, rule.caution, source, rule.steps_are_practice)


def facts_of_care() -> CareFacts:
    """What is ruled about wax, and as of which day."""
    care = portal().reference.care
    lines = tuple(CareFact(one.day, one.text, one.source, one.is_from_memory) for one in care.facts)
    return CareFacts(care.facts_as_of, lines)
