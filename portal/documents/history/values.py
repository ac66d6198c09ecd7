"""What a service history shows: frozen values, and nothing else is looked up."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from portal.documents.letterhead import Letterhead
from portal.domain.base_life import BaseLife, Measured, Thickness
from portal.domain.layers import Layer
from portal.domain.next_grind import Judgement
from portal.domain.words import Phrase

Words = str | Phrase


@dataclass(frozen=True)
class PairFacts:
    """What is said of the pair; an empty value is left out."""

    maker: str
    model: str
    discipline: str
    length_cm: int | None
    year: int | None
    mark: str
    base: str
    grip: str
    owner: str
    reference: str
    tag: str = ""

    @property
    def name(self) -> str:
        """Maker, model and length."""
        length = f"{self.length_cm} cm" if self.length_cm else ""
        return " ".join(part for part in (self.maker, self.model, length) if part)


@dataclass(frozen=True)
class StructureNow:
    """The structure on the base."""

    name: str
    family: str
    since: date


@dataclass(frozen=True)
class GrindLine:
    """One grind as the bench recorded it."""

    day: date
    structure: str
    family: str
    before_um: Thickness | None
    after_um: Thickness | None
    technician: str
    flattened: bool = False
    saturated: bool = False
    remarks: str = ""
    # That it was bad and made good, or what it makes good.
    again: tuple[Words, ...] = ()


@dataclass(frozen=True)
class Number:
    """A number of a surface: what it is, the symbol of the standard or nothing, the value with its unit."""

    label: str
    symbol: str
    value: str


@dataclass(frozen=True)
class SurfaceShown:
    """What the structure on a base looks like: its layers as they are cut, and what is computed from them."""

    structure: str
    layers: tuple[Layer, ...]
    numbers: tuple[Number, ...]


@dataclass(frozen=True)
class SnowShown:
    """The snow that the structure was chosen for: what was answered on which day, and how many of 100 days it suits."""

    answered_on: date
    answers: tuple[tuple[Words, Words], ...]
    structure: str
    # Nothing where the structure is for another kind of skiing than the answers.
    days: int | None
    # For races or for one kind of snow only, not all days count alike.
    is_special: bool = False


@dataclass(frozen=True)
class GlideRow:
    """How the pair ran beside pairs with one other structure, in so many notes."""

    structure: str
    other: str
    faster: int
    same: int
    slower: int

    @property
    def notes(self) -> int:
        return self.faster + self.same + self.slower


@dataclass(frozen=True)
class EvidenceLine:
    """What all skiers' notes say of the structure in one class of snow."""

    snow: Words
    notes: int
    skiers: int
    told: Words


@dataclass(frozen=True)
class GlideShown:
    """The glide notes of whoever the paper is for, and what all notes say of the structure on the base."""

    rows: tuple[GlideRow, ...] = ()
    structure: str = ""
    evidence: tuple[EvidenceLine, ...] = ()
    # So many more of the reader's notes are kept and not counted.
    aside: int = 0


@dataclass(frozen=True)
class CareStep:
    """One thing to do; without a source it is common practice, and the paper says so."""

    when: Words
    text: Words
    caution: Words = ""
    source: Words = ""
    # The source says why; how it is done is common practice.
    steps_are_practice: bool = False


@dataclass(frozen=True)
class CareFact:
    """Something that is ruled about wax, from a day on, and where it can be read."""

    day: date
    text: Words
    source: Words
    is_from_memory: bool = False


@dataclass(frozen=True)
class CareFacts:
    """All of that, as it was gathered on a day."""

    as_of: date
    lines: tuple[CareFact, ...]


@dataclass(frozen=True)
class CareGroup:
    """What to do at one time in the life of a grind."""

    title: str
    steps: tuple[CareStep, ...]


@dataclass(frozen=True)
class Seal:
    """How to tell that a paper is genuine: the address that its square code says, a code to compare, the page to type it on."""

    address: str
    code: str
    page: str = ""


@dataclass(frozen=True)
class History:
    """All that the paper of a pair shows."""

    workshop: Letterhead
    pair: PairFacts
    structure_now: StructureNow | None
    grinds: tuple[GrindLine, ...]
    base_life: BaseLife
    care: tuple[CareGroup, ...]
    made_on: date
    # Measurements without a grind, as when the pair came in.
    measured: tuple[Measured, ...] = ()
    surface: SurfaceShown | None = None
    snow: SnowShown | None = None
    glide: GlideShown | None = None
    seal: Seal | None = None
    care_facts: CareFacts | None = None
    # Whether the next grind is worth it.
    next_grind: Judgement | None = None


@dataclass(frozen=True)
class FleetPair:
    """A pair among others, and who skis it, where it is a club's."""

    history: History
    skier: str = ""


@dataclass(frozen=True)
class Fleet:
    """The pairs of a skier or of a club on one paper; what is the same for several of them is printed once."""

    workshop: Letterhead
    owner: str
    is_club: bool
    pairs: tuple[FleetPair, ...]
    care: tuple[CareGroup, ...]
    made_on: date
    surfaces: tuple[SurfaceShown, ...] = field(default=())
    seal: Seal | None = None
    care_facts: CareFacts | None = None
    # So many pairs more, as long as it is not clear whose they are.
    left_out: int = 0
