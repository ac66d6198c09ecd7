"""Lists from elsewhere: a file is staged, its columns are told, and what is new in it comes in, all at once or not at all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from portal.db.imports import ColumnMeaning, ListImport
from portal.db.people import Person
from portal.domain.access import Action, Actor, insist
from portal.domain.audit import Act
from portal.domain.errors import NotNow
from portal.domain.importing.columns import Column, guess, headings_key
from portal.domain.importing.customer_verdicts import Brought, OwnedPair
from portal.domain.importing.customers import ListedGrind, ListedPair, Options, compared
from portal.domain.importing.readings import KEPT_DAYS, Content, Reading, Subject, first_reading, read
from portal.domain.importing.verdicts import REASONS, Standing
from portal.domain.words import N_, Phrase
from portal.i18n import voice
from portal.queries import imports as find_imports
from portal.queries.imports import OpenImport
from portal.services import audit, grinds, pairs
from portal.services.addresses import normal_email
from portal.services.grinds import GrindFacts
from portal.services.pairs import PairFacts

FILE_NAME_LENGTH = 200


@dataclass(frozen=True)
class Loaded:
    """How many people, pairs and grinds came in, and how many rows were left out."""

    people: int = 0
    pairs: int = 0
    grinds: int = 0
    left_out: int = 0

    def to_json(self) -> dict[str, int]:
        return dict(vars(self))

    def after(self, earlier: Mapping[str, int] | None) -> Loaded:
        """All that came in, with what did ``earlier``; left out is what is left out now."""
        before = earlier or {}
        return Loaded(
            before.get("people", 0) + self.people,
            before.get("pairs", 0) + self.pairs,
            before.get("grinds", 0) + self.grinds,
            self.left_out,
        )


def stage(
    session: Session, actor: Actor, subject: Subject, file_name: str, content: Content, now: datetime
) -> ListImport:
    """Keep a file until its import is finished; nothing of it is stored anywhere else. ``BadTable`` when it cannot be read."""
    insist(actor, Action.LOAD_LIST, None)
    forget_old(session, now)
    row = ListImport(
        subject=subject,
        file_name=file_name[-FILE_NAME_LENGTH:],
        is_text=content.is_text,
        content=content.kept,
        reading=first_reading(content, subject).to_json(),
        sent_by=actor.name,
        created_at=now,
    )
    session.add(row)
    session.flush()  # Its page is found by its number.
    return row


def read_as(session: Session, actor: Actor, import_id: int, reading: Reading) -> None:
    """Read the file in another way; what was said of its columns is forgotten. ``BadTable`` when it cannot be read so."""
    it = find_imports.opened(session, actor, import_id, to_write=True)
    read(it.content, reading)
    if reading != it.reading:
        it.row.reading, it.row.meant = reading.to_json(), None


def meant_so_far(session: Session, it: OpenImport) -> tuple[dict[int, str], bool]:
    """What each column holds: as it was said, else as for the last list with these headings (then true), else a guess."""
    if it.row.meant is not None:
        return {int(at): key for at, key in it.row.meant.items()}, False
    last = find_imports.remembered(session, it.row.subject, headings_key(it.columns))
    if last is not None:
        return {int(at): key for at, key in last.meant.items()}, True
    return guess(it.columns, it.row.subject.fields), False


def take_columns(
    session: Session,
    actor: Actor,
    import_id: int,
    meant: Mapping[int, str],
    options: Options,
    now: datetime,
) -> None:
    """Say what the columns hold and how their cells are meant; it is remembered for lists with the same headings."""
    it = find_imports.opened(session, actor, import_id, to_write=True)
    plain = {str(at): key for at, key in meant.items() if key}
    it.row.meant, it.row.options = plain, options.to_json()
    _remember(session, it.row.subject, headings_key(it.columns), plain, now)
    # The file of what is left out has a column more and no gaps; mended and sent again it is known too.
    again = [Column(at, column.title, ()) for at, column in enumerate(it.columns)]
    reasons = Column(len(again), voice(actor.language).say(REASONS), ())
    shifted = {str(at): meant[column.at] for at, column in enumerate(it.columns) if meant.get(column.at)}
    _remember(session, it.row.subject, headings_key([*again, reasons]), shifted, now)


def _remember(
    session: Session, subject: Subject, headings: str, meant: Mapping[str, str], now: datetime
) -> None:
    last = find_imports.remembered(session, subject, headings)
    if last is None:
        last = ColumnMeaning(subject=subject, headings=headings)
        session.add(last)
    last.meant, last.used_at = dict(meant), now


def take_structures(session: Session, actor: Actor, import_id: int, structures: Mapping[str, str]) -> None:
    """Say which of our structures the names in the list mean; names as they are compared, "" for none."""
    it = find_imports.opened(session, actor, import_id, to_write=True)
    kept = it.options.to_json()
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
    judged = find_imports.judged(session, it, lambda text: normal_email(text, test_names=test_names), today)
    brought = [one.brought for one in judged.verdicts if one.brought is not None]
    owners, many_people = _add_people(session, brought, judged.people, actor.language, now)
    pair_ids, many_pairs = _add_pairs(session, brought, owners, judged.pairs, now)
    many_grinds = _add_grinds(session, brought, pair_ids, judged.names, actor, now)
    left_out = sum(one.standing is Standing.REJECTED for one in judged.verdicts)
    loaded = Loaded(many_people, many_pairs, many_grinds, left_out)
    it.row.brought = loaded.after(it.row.brought).to_json()
    told = {"people": many_people, "pairs": many_pairs, "grinds": many_grinds}
    words = Phrase(N_("%(people)s customers, %(pairs)s pairs, %(grinds)s grinds"), told)
    audit.note(session, actor, Act.IMPORTED, now, it.row.file_name, words)
    if not left_out:
        _close(it.row, now)
    return loaded


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
    new = find_imports.people_known(session, emails, [person.name for person in people if not person.email])
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
    new = find_imports.pairs_of(session, {owners[who]: who for who, _key in made})
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


def drop(session: Session, actor: Actor, import_id: int, now: datetime) -> str:
    """Finish an import, whatever is left of its list, delete the file, and give back its name."""
    row = find_imports.one(session, actor, import_id, to_write=True)
    if row.content is not None:
        _close(row, now)
    return row.file_name


def forget_old(session: Session, now: datetime) -> int:
    """Delete the files that are kept too long; gives back how many."""
    old = find_imports.too_old(session, now - timedelta(days=KEPT_DAYS))
    for row in old:
        _close(row, now)
    return len(old)


def _close(row: ListImport, now: datetime) -> None:
    row.content, row.meant, row.options, row.closed_at = None, None, None, now
