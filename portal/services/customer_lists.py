"""A list of customers, their pairs and the grinds they had: what is new in it comes in, all at once or not at all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from portal.db.people import Person
from portal.domain.access import Actor
from portal.domain.audit import Act
from portal.domain.errors import NotNow
from portal.domain.importing.customer_verdicts import Brought, OwnedPair
from portal.domain.importing.customers import ListedGrind, ListedPair, compared
from portal.domain.words import N_, Phrase
from portal.i18n import voice
from portal.queries import customer_lists as find_customers
from portal.queries import imports as find_imports
from portal.services import audit, grinds, imports, pairs
from portal.services.addresses import normal_email
from portal.services.grinds import GrindFacts
from portal.services.pairs import PairFacts


@dataclass(frozen=True)
class Loaded:
    """How many people, pairs and grinds came in, and how many rows were left out."""

    people: int = 0
    pairs: int = 0
    grinds: int = 0
    left_out: int = 0


def take_structures(session: Session, actor: Actor, import_id: int, structures: Mapping[str, str]) -> None:
    """Say which of our structures the names in the list mean; names as they are compared, "" for none."""
    it = find_imports.opened(session, actor, import_id, to_write=True)
    kept = find_customers.options_of(it).to_json()
    it.row.options = {**kept, "structures": {**kept["structures"], **structures}}


def load(
    session: Session, actor: Actor, import_id: int, now: datetime, today: date, *, test_names: bool = False
) -> Loaded:
    """Let in what is new in the rows that can be used; when none is left out, the file goes too.

    Nobody gets a letter: a person without a password can have one by mail whenever they ask for it.
    """
    it = find_imports.opened(session, actor, import_id, to_write=True)
    if not it.places:
        raise NotNow(N_("Say first what the columns of the list hold."))
    judged = find_customers.judged(session, it, lambda text: normal_email(text, test_names=test_names), today)
    brought = [one.brought for one in judged.verdicts if one.brought is not None]
    owners, many_people = _add_people(session, brought, judged.people, actor.language, now)
    pair_ids, many_pairs = _add_pairs(session, brought, owners, judged.pairs, now)
    many_grinds = _add_grinds(session, brought, pair_ids, judged.names, actor, now)
    told = {"people": many_people, "pairs": many_pairs, "grinds": many_grinds}
    words = Phrase(N_("%(people)s customers, %(pairs)s pairs, %(grinds)s grinds"), told)
    audit.note(session, actor, Act.IMPORTED, now, it.row.file_name, words)
    return Loaded(**told, left_out=imports.came_in(it.row, told, judged.verdicts, now))


def _add_people(
    session: Session, brought: Sequence[Brought], here: Mapping[str, int], language: str, now: datetime
) -> tuple[dict[str, int], int]:
    """Everybody of the list by who they are, and how many of them are new."""
    people = [
        Person(email=one.email or None, name=one.name, phone=one.phone, language=language, created_at=now)
        for one in brought
        if one.name is not None
    ]
    try:
        # Thousands at once, which would otherwise be a statement each.
        session.bulk_save_objects(people)
    except IntegrityError:
        told = N_(
            "Somebody from the list has signed up at this very moment. Nothing was loaded. Load it once more."
        )
        raise NotNow(told) from None
    emails = [person.email for person in people if person.email]
    new = find_customers.people_known(session, emails, [person.name for person in people if not person.email])
    return {**{one.who: one.id for one in new}, **here}, len(people)


def _add_pairs(
    session: Session,
    brought: Sequence[Brought],
    owners: Mapping[str, int],
    here: Mapping[OwnedPair, int],
    now: datetime,
) -> tuple[dict[OwnedPair, int], int]:
    made = {
        (one.who, one.key): pairs.of_owner(owners[one.who], _facts(one.pair), now)
        for one in brought
        if one.pair is not None and one.key is not None
    }
    session.bulk_save_objects(list(made.values()))
    new = find_customers.pairs_of(session, {owners[who]: who for who, _key in made})
    return {**new, **here}, len(made)


def _facts(pair: ListedPair) -> PairFacts:
    return PairFacts(**vars(pair))


def _add_grinds(
    session: Session,
    brought: Sequence[Brought],
    pair_ids: Mapping[OwnedPair, int],
    versions: Mapping[int, str],
    actor: Actor,
    now: datetime,
) -> int:
    rows = [
        grinds.written(
            pair_ids[(one.who, one.key)],
            _grind(one.grind, one.version_id, versions[one.version_id], actor),
            now,
        )
        for one in brought
        if one.grind is not None and one.key is not None and one.version_id is not None
    ]
    session.bulk_save_objects(rows)
    return len(rows)


def _grind(grind: ListedGrind, version_id: int, name: str, actor: Actor) -> GrindFacts:
    remarks = grind.remarks
    if compared(name) != compared(grind.structure):
        # What the list called it is not lost by saying which of ours it was.
        told = Phrase(N_("In the older list: %(name)s."), {"name": grind.structure})
        remarks = f"{voice(actor.language).say(told)} {remarks}".strip()
    return GrindFacts(
        structure_id=version_id,
        ground_on=grind.day,
        technician=grind.technician,
        before_um=grind.before_um,
        after_um=grind.after_um,
        flattened=grind.flattened,
        saturated=grind.saturated,
        remarks=remarks,
    )
