"""Care advice: what to do with a pair after a grind, week by week, before it is put away, and when it wants grinding again."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from portal.domain.answers import Discipline
from portal.domain.pairs import Grip
from portal.domain.snow import SnowKind
from portal.domain.words import N_

# How a rule names the source of what the trade simply does.
COMMON = "common practice"
# A kind of snow counts from this share of a skier's days on. Our own choice: one day in ten.
COUNTS_FROM = 0.10


class CareStage(StrEnum):
    """When a piece of advice is due."""

    AFTER_GRIND = "after_grind"
    IN_USE = "in_use"
    BEFORE_STORAGE = "before_storage"
    REGRIND = "regrind"

    @property
    def label(self) -> str:
        return {
            CareStage.AFTER_GRIND: N_("After a grind"),
            CareStage.IN_USE: N_("Each week that you ski on it"),
            CareStage.BEFORE_STORAGE: N_("Before you put the pair away"),
            CareStage.REGRIND: N_("When to grind again"),
        }[self]


@dataclass(frozen=True)
class Known:
    """What is known of a pair and its skier; what is not known shuts no advice out.

    ``snow`` are the kinds that count among the skier's days, ``is_thin`` whether the base is near the workshop's minimum.
    """

    family: str | None = None
    discipline: Discipline | None = None
    grip: Grip | None = None
    snow: frozenset[SnowKind] | None = None
    is_thin: bool | None = None


# Of a pair nothing is known of.
ANY = Known()


@dataclass(frozen=True)
class CareRule:
    """One rule: for which pairs, on which condition, what to do, what can hurt, and where it comes from.

    Empty sets mean any; ``caution`` is empty where nothing can hurt; texts are marked for translation.
    """

    key: str
    stage: CareStage
    condition: str
    advice: str
    caution: str
    source: str
    families: frozenset[str] = frozenset()
    disciplines: frozenset[Discipline] = frozenset()
    grips: frozenset[Grip] = frozenset()
    snow: frozenset[SnowKind] = frozenset()
    # Said of a base near the workshop's minimum only.
    only_thin: bool = False
    # The source says why; how it is done is common practice.
    steps_are_practice: bool = False

    @property
    def is_common_practice(self) -> bool:
        """Whether no publication stands behind it."""
        return self.source.casefold() == COMMON

    def applies_to(self, known: Known) -> bool:
        """Whether it is for such a pair."""
        return (
            (known.family is None or not self.families or known.family in self.families)
            and (known.discipline is None or not self.disciplines or known.discipline in self.disciplines)
            and (known.grip is None or not self.grips or known.grip in self.grips)
            and (known.snow is None or not self.snow or bool(known.snow & self.snow))
            and (known.is_thin is None or not self.only_thin or known.is_thin)
        )


@dataclass(frozen=True)
class CareFact:
    """Something that was ruled or that begins on a day: what, and where it can be read.

    ``is_from_memory`` says that whoever wrote it down did not read the source again.
    """

    key: str
    day: date
    text: str
    source: str
    is_from_memory: bool = False


@dataclass(frozen=True)
class Care:
    """All that the reference data says of care; ``facts_as_of`` is the day on which the facts were gathered."""

    rules: tuple[CareRule, ...]
    facts: tuple[CareFact, ...]
    facts_as_of: date


def care_for(rules: Iterable[CareRule], stage: CareStage, known: Known = ANY) -> tuple[CareRule, ...]:
    """The rules of a stage that apply to a pair, in their order."""
    return tuple(rule for rule in rules if rule.stage is stage and rule.applies_to(known))


def counting(shares: Mapping[SnowKind, float]) -> frozenset[SnowKind]:
    """The kinds of snow that count among a skier's days, from each one's share of them (0 to 1)."""
    return frozenset(kind for kind, share in shares.items() if share >= COUNTS_FROM)
