"""Care advice: the right rules for a pair, each with its caution and its source."""

from __future__ import annotations

import re
from datetime import date

import pytest

from portal.domain.answers import Discipline
from portal.domain.care import CareRule, CareStage, Known, care_for, counting
from portal.domain.pairs import Grip
from portal.domain.snow import SnowKind
from portal.reference import default_folder, load

CARE = load(default_folder()).care
RULES = CARE.rules


@pytest.mark.parametrize("stage", CareStage)
def test_every_stage_has_a_name_and_advice(stage: CareStage) -> None:
    assert stage.label
    assert care_for(RULES, stage)


@pytest.mark.parametrize("rule", RULES, ids=lambda one: one.key)
def test_every_rule_says_what_to_do_and_where_it_comes_from(rule: CareRule) -> None:
    assert rule.condition
    assert rule.advice.endswith(".")
    assert rule.source


def test_a_grip_wax_pair_is_not_told_of_skins() -> None:
    keys = {
        rule.key
        for rule in care_for(
            RULES, CareStage.AFTER_GRIND, Known(discipline=Discipline.CLASSIC, grip=Grip.WAX)
        )
    }
    assert "grip-zone" in keys
    assert "no-wax-on-skin" not in keys


def test_a_skate_pair_is_told_of_no_kick_zone() -> None:
    keys = {rule.key for rule in care_for(RULES, CareStage.AFTER_GRIND, Known("draining", Discipline.SKATE))}
    assert not keys & {"grip-zone", "no-wax-on-skin", "brush-fine-lines"}


@pytest.mark.parametrize("word", ["iron", "cleaner", "remover"])
def test_hot_and_flammable_work_carries_a_caution(word: str) -> None:
    named = [
        rule
        for rule in RULES
        if word in rule.advice.lower() or (word == "iron" and "hot wax " in rule.advice.lower())
    ]
    assert named or any(word in rule.caution.lower() for rule in RULES)
    assert all(rule.caution for rule in named)


def test_the_cautions_speak_of_heat_fumes_solvents_and_edges() -> None:
    cautions = " ".join(rule.caution.lower() for rule in RULES)
    for word in ("ventilated", "fumes", "flammable", "edges", "gloves", "manual", "local rules", "trained"):
        assert word in cautions


def keys(stage: CareStage, known: Known) -> set[str]:
    return {rule.key for rule in care_for(RULES, stage, known)}


def test_what_is_said_of_wet_snow_is_for_those_who_meet_it() -> None:
    assert "dry-after-wet" in keys(CareStage.IN_USE, Known(snow=frozenset({SnowKind.WET})))
    assert "dry-after-wet" not in keys(CareStage.IN_USE, Known(snow=frozenset({SnowKind.NEW})))
    assert "dry-after-wet" in keys(CareStage.IN_USE, Known()), "what is not known shuts nothing out"


def test_a_thin_base_is_spoken_of_where_it_is_thin_or_nobody_knows() -> None:
    assert "thin-base" in keys(CareStage.REGRIND, Known(is_thin=True))
    assert "thin-base" not in keys(CareStage.REGRIND, Known(is_thin=False))
    assert "thin-base" in keys(CareStage.REGRIND, Known())


def test_snow_counts_from_one_day_in_ten() -> None:
    assert counting({SnowKind.NEW: 0.1, SnowKind.WET: 0.099, SnowKind.ICY: 0.801}) == {
        SnowKind.NEW,
        SnowKind.ICY,
    }


def test_no_number_stands_without_a_named_source() -> None:
    """A rule with a figure names who measured it; "two or three times" in words is practice and says so."""
    for rule in RULES:
        if re.search(r"\d", rule.condition + rule.advice + rule.caution):
            assert not rule.is_common_practice, rule.key
            assert re.search(r"\b(19|20)\d\d\b", rule.source), rule.key


def test_the_facts_on_wax_are_dated_and_name_what_can_be_read() -> None:
    """The limits as they stand in Regulation (EU) 2019/1021 as amended by 2020/784, 2021/1297 (entry 68) and 2024/2462 (entry 79)."""
    facts = {fact.key: fact for fact in CARE.facts}
    assert facts["pfoa"].day == date(2020, 7, 4)
    assert facts["pfhxa"].day == date(2026, 10, 10)
    assert facts["pfca"].day == date(2023, 2, 25)
    assert "0.26 mg/kg" in facts["pfca"].text
    for key in ("pfoa", "pfca", "pfhxa"):
        assert "0.025 mg/kg" in facts[key].text
        assert "1 mg/kg" in facts[key].text or key == "pfca"
    assert "2024/2462" in facts["pfhxa"].source
    assert all(fact.day <= CARE.facts_as_of for fact in CARE.facts)
    assert not any(fact.is_from_memory for fact in CARE.facts)


def test_no_advice_claims_that_a_grind_takes_fluorine_out() -> None:
    assert not any("fluor" in (rule.advice + rule.condition).lower() for rule in RULES)
