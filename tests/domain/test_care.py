"""Care advice: the right rules for a pair, each with its caution and its source."""

from __future__ import annotations

import pytest

from portal.domain.answers import Discipline
from portal.domain.care import CareRule, CareStage, care_for
from portal.domain.pairs import Grip
from portal.reference import default_folder, load

RULES = load(default_folder()).care


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
        for rule in care_for(RULES, CareStage.AFTER_GRIND, discipline=Discipline.CLASSIC, grip=Grip.WAX)
    }
    assert "grip-zone" in keys
    assert "no-wax-on-skin" not in keys


def test_a_skate_pair_is_told_of_no_kick_zone() -> None:
    keys = {rule.key for rule in care_for(RULES, CareStage.AFTER_GRIND, "draining", Discipline.SKATE)}
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
