"""Care advice: what to do with a pair after a grind, before it is put away, and when it wants grinding again."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from portal.domain.answers import Discipline
from portal.domain.pairs import Grip
from portal.domain.words import N_


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
            CareStage.IN_USE: N_("While you ski on it"),
            CareStage.BEFORE_STORAGE: N_("Before you put the pair away"),
            CareStage.REGRIND: N_("When to grind again"),
        }[self]


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


def care_for(
    rules: tuple[CareRule, ...],
    stage: CareStage,
    family: str | None = None,
    discipline: Discipline | None = None,
    grip: Grip | None = None,
) -> tuple[CareRule, ...]:
    """The rules of a stage that apply to a pair, in the order of the file; what is not known of a pair shuts nothing out."""
    return tuple(
        rule
        for rule in rules
        if rule.stage is stage
        and (family is None or not rule.families or family in rule.families)
        and (discipline is None or not rule.disciplines or discipline in rule.disciplines)
        and (grip is None or not rule.grips or grip in rule.grips)
    )
