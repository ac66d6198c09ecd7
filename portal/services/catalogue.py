"""The workshop's own catalogue: structures, each change of which is a new version, and their families."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from portal.db.catalogue import Structure, StructureFamily
from portal.db.diamonds import Diamond
from portal.domain import structures as domain
from portal.domain.access import Action, Actor, insist
from portal.domain.answers import Discipline
from portal.domain.audit import Act
from portal.domain.errors import NotNow
from portal.domain.surfaces import least_removal_um, worked_out
from portal.domain.words import N_, Phrase
from portal.queries import catalogue as find_structures
from portal.reference import Reference
from portal.services import audit

KEY = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
KEY_LENGTH = 40


@dataclass(frozen=True)
class FamilyFacts:
    """What a family is called and what it is for."""

    name: str
    summary: str
    working_model: str


def add_structure(session: Session, actor: Actor, structure: domain.Structure, now: datetime) -> Structure:
    """Offer a new structure as its version 1, with the numbers of its layers; ``NotNow`` when its key is taken."""
    insist(actor, Action.EDIT_CATALOGUE, None)
    if not KEY.fullmatch(structure.key) or len(structure.key) > KEY_LENGTH:
        raise ValueError("a key is made of lower-case words with hyphens between them")
    row = _version(session, actor, structure, 1, now)
    try:
        with session.begin_nested():
            session.add(row)
    except IntegrityError:
        raise NotNow(
            Phrase(N_("There is a structure with the key %(key)s already."), {"key": structure.key})
        ) from None
    audit.note(session, actor, Act.STRUCTURE_WRITTEN, now, row.name, _which(row))
    return row


def change_structure(
    session: Session, actor: Actor, seen_version: int, structure: domain.Structure, now: datetime
) -> Structure:
    """Offer ``structure`` instead of its version ``seen_version``; what was booked or ground keeps that row.

    ``NotNow`` when somebody else made a newer version meanwhile or took the structure off the list. Where nothing differs no
    version is made and the row is given back as it is.
    """
    insist(actor, Action.EDIT_CATALOGUE, None)
    old = find_structures.locked_newest(session, structure.key)
    if not old.current:
        raise NotNow(N_("This structure is retired. Bring it back before you change it."))
    if old.version != seen_version:
        raise NotNow(
            Phrase(
                N_("%(name)s made version %(version)s of this structure while you were at it."),
                {"name": old.made_by or Phrase(N_("Somebody")), "version": old.version},
            )
        )
    row = _version(session, actor, structure, old.version + 1, now)
    if find_structures.value(row) == find_structures.value(old):
        return old
    _insist_some_left(session, old.key, [structure])
    old.current = False
    session.add(row)
    session.flush()
    audit.note(session, actor, Act.STRUCTURE_WRITTEN, now, row.name, _which(row))
    return row


def _which(row: Structure) -> Phrase:
    return Phrase(N_("Version %(number)s"), {"number": row.version})


def retire(session: Session, actor: Actor, key: str, now: datetime) -> None:
    """Take a structure off the list; bookings and histories keep it. ``NotNow`` when it is the last of its kind."""
    insist(actor, Action.EDIT_CATALOGUE, None)
    row = find_structures.locked_newest(session, key)
    if not row.current:
        raise NotNow(N_("This structure is retired already."))
    _insist_some_left(session, key, [])
    row.current = False
    session.flush()
    audit.note(session, actor, Act.STRUCTURE_RETIRED, now, row.name)


def bring_back(session: Session, actor: Actor, key: str, now: datetime) -> None:
    """Offer the newest version of a retired structure again."""
    insist(actor, Action.EDIT_CATALOGUE, None)
    row = find_structures.locked_newest(session, key)
    if row.current:
        raise NotNow(N_("This structure is offered already."))
    row.current = True
    session.flush()
    audit.note(session, actor, Act.STRUCTURE_BROUGHT_BACK, now, row.name)


def add_family(
    session: Session, actor: Actor, key: str, facts: FamilyFacts, position: int, now: datetime
) -> StructureFamily:
    """Put a new family at ``position`` (1 is the most bearing); those from there on move one further."""
    insist(actor, Action.EDIT_CATALOGUE, None)
    rows = _locked_families(session)
    if any(row.key == key for row in rows):
        raise NotNow(N_("There is a family of this name already."))
    place = min(max(position, 1), len(rows) + 1)
    made = StructureFamily(
        key=key,
        position=place,
        name=facts.name,
        summary=facts.summary,
        working_model=facts.working_model,
    )
    rows.insert(place - 1, made)
    session.add(made)
    for number, row in enumerate(rows, 1):
        row.position = number
    session.flush()
    audit.note(session, actor, Act.FAMILY_WRITTEN, now, made.name)
    return made


def change_family(session: Session, actor: Actor, family_id: int, facts: FamilyFacts, now: datetime) -> None:
    """Call a family something else, or say better what it is for; its key and place stay."""
    insist(actor, Action.EDIT_CATALOGUE, None)
    row = find_structures.family(session, family_id)
    row.name, row.summary, row.working_model = facts.name, facts.summary, facts.working_model
    session.flush()
    audit.note(session, actor, Act.FAMILY_WRITTEN, now, row.name)


def _locked_families(session: Session) -> list[StructureFamily]:
    session.execute(select(StructureFamily.id).with_for_update())
    session.expire_all()
    return find_structures.families(session)


def _version(
    session: Session, actor: Actor, structure: domain.Structure, version: int, now: datetime
) -> Structure:
    """A row for a structure with the numbers of its layers; ``NotNow`` where a grind would take less than they need."""
    if structure.layers and structure.removal_um < least_removal_um(structure.layers):
        raise NotNow(
            Phrase(
                N_("A grind takes at least %(least)s µm off the base: that is how deep these layers cut."),
                {"least": least_removal_um(structure.layers)},
            )
        )
    families = {row.key: row for row in find_structures.families(session)}
    if structure.family not in families:
        raise NotNow(N_("There is no such family any more. Choose another."))
    return Structure(
        key=structure.key,
        version=version,
        current=True,
        family_id=families[structure.family].id,
        name=structure.name,
        stated=worked_out(structure).to_json(),
        made_at=now,
        made_by=actor.name,
    )


def _insist_some_left(session: Session, without: str, coming: list[domain.Structure]) -> None:
    """Somebody must find something for each discipline, or there is nothing to advise and nothing to book."""
    left = [
        find_structures.value(row) for row in find_structures.all_current(session) if row.key != without
    ] + coming
    for discipline, text in (
        (Discipline.CLASSIC, N_("This is the last structure for classic pairs. Add another one first.")),
        (Discipline.SKATE, N_("This is the last structure for skating pairs. Add another one first.")),
    ):
        if not any(discipline in one.disciplines for one in left):
            raise NotNow(text)


def fill_if_empty(session: Session, reference: Reference, now: datetime) -> int:
    """Begin the catalogue and the diamonds with those of ``shared/``; gives back how many structures, 0 when not empty."""
    if session.scalar(select(func.count()).select_from(StructureFamily)):
        return 0
    families = {}
    for family in reference.catalogue.families:
        families[family.key] = StructureFamily(
            key=family.key,
            position=family.order,
            name=family.name,
            summary=family.summary,
            working_model=family.working_model,
        )
        session.add(families[family.key])
    known = set(session.scalars(select(Diamond.mark)))
    for diamond in reference.diamonds:
        if diamond.mark not in known:
            session.add(
                Diamond(
                    mark=diamond.mark,
                    nominal_width_mm=diamond.nominal_width_mm,
                    nominal_tip_mm=diamond.nominal_tip_mm,
                    tip_radius_mm=diamond.tip_radius_mm,
                    tip_flat_mm=diamond.tip_flat_mm,
                    created_at=now,
                )
            )
    for structure in reference.catalogue.structures:
        session.add(
            Structure(
                key=structure.key,
                version=1,
                current=True,
                family=families[structure.family],
                name=structure.name,
                stated=structure.to_json(),
            )
        )
    return len(reference.catalogue.structures)
