"""The snow questions: walked from the first to the last, read forgivingly, shown in words."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portal.domain import questions
from portal.domain.answers import Answers, Discipline, HowOften, Purpose, parse_answers
from portal.domain.errors import NotFound
from portal.domain.questions import QUESTIONS, Question, by_key, read, shown, temperature
from portal.domain.snow import SnowKind
from portal.domain.words import Phrase

GOOD: dict[str, dict[str, list[str]]] = {
    "air": {"cold": ["-15"], "ordinary": ["−6,5 °C"], "mild": ["+1"]},
    "humidity": {"humidity": ["dry"]},
    "snow": {"new": ["often"], "settled": ["mostly"], "wet": ["never"]},
    "track_wet": {"track_wet": ["sometimes"]},
    "place": {"place": ["  Hollowmere   valley "]},
    "discipline": {"discipline": ["skate"]},
    "purpose": {"purpose": ["special"], "special_kind": ["icy"]},
    "weak": {"weak": ["iced_up", "slow_cold"]},
}
UNSURE: dict[str, dict[str, list[str]]] = {
    "air": {"cold": [""], "ordinary": [" "], "mild": [""], "unsure": ["unsure"]},
    "humidity": {"humidity": ["unsure"]},
    "snow": {kind.value: ["unsure"] for kind in SnowKind},
    "track_wet": {"track_wet": ["unsure"]},
    "place": {"place": [""]},
    "discipline": {"discipline": ["unsure"]},
    "purpose": {"purpose": ["unsure"]},
    "weak": {"weak": ["unsure"]},
}


def walked(posted: dict[str, dict[str, list[str]]]) -> dict[str, Any]:
    """What is stored after every question is answered in turn."""
    stored: dict[str, Any] = {}
    while (question := questions.first_open(stored)) is not None:
        value, problems = read(question, posted[question.key])
        assert problems == ()
        stored[question.key] = value
    return stored


def fault(key: str, posted: dict[str, list[str]]) -> tuple[str, str]:
    _value, problems = read(by_key(key), posted)
    ((field, text),) = problems
    return field, str(text)


# --- walking -----------------------------------------------------------------------------------------------------


def test_all_questions_are_asked_once_and_end() -> None:
    assert set(walked(GOOD)) == {question.key for question in QUESTIONS}


def test_forward_and_back_are_the_same_way() -> None:
    at: Question | None = QUESTIONS[0]
    assert questions.before(QUESTIONS[0], {}) is None
    seen = 0
    while at is not None:
        seen += 1
        after = questions.next_after(at, {})
        if after is not None:
            assert questions.before(after, {}) is at
        at = after
    assert seen == len(QUESTIONS)


def test_a_question_that_is_not_there_is_not_found() -> None:
    with pytest.raises(NotFound):
        by_key("weight")


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda one: one.key)
def test_every_question_says_why_it_is_asked_and_labels_its_fields(question: Question) -> None:
    assert question.title.endswith("?")
    assert question.why.endswith(".")
    assert question.fields
    for field in question.fields:
        assert field.label
        assert bool(field.choices) is (field.kind in ("choice", "choices"))
        assert all(label for _value, label in field.choices)


# --- reading -----------------------------------------------------------------------------------------------------


def test_answers_come_out_as_they_were_given() -> None:
    answers = questions.answers_from(walked(GOOD))
    assert answers == parse_answers(
        {
            "air_c": {"cold": -15, "ordinary": -6.5, "mild": 1},
            "humidity": "dry",
            "snow": {"new": "often", "settled": "mostly", "wet": "never"},
            "track_wet": "sometimes",
            "discipline": "skate",
            "purpose": "special",
            "special_kind": "icy",
            "weak": ["slow_cold", "iced_up"],
            "place": "Hollowmere valley",
        }
    )


def test_not_being_sure_of_anything_is_an_answer_everywhere() -> None:
    assert questions.answers_from(walked(UNSURE)) == Answers()
    assert questions.answers_from({}) == Answers()


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("-6", -6),
        ("\u22126", -6),
        ("\u20136,5", -6.5),
        ("- 12 °C", -12),
        ("+3", 3),
        ("3.5C", 3.5),
        ("0", 0),
        (",5", 0.5),
        ("-7 \u2103", -7),
        ("4 degrees", 4),
        ("\u00a0-2\u00a0°", -2),
        ("-60", -60),
        ("25", 25),
    ],
)
def test_a_temperature_is_read_as_people_write_it(written: str, value: float) -> None:
    assert temperature(written) == value


@pytest.mark.parametrize(
    ("written", "what_to_do"),
    [
        ("cold", "as a number"),
        ("-", "as a number"),
        ("1-2-3", "as a number"),
        ("nan", "as a number"),
        ("1e1", "as a number"),
        ("-10 - -5", "not a span"),
        ("-10 to -5", "not a span"),
        ("20 °F", "not in °F"),
        ("-61", "-60 °C or above"),
        ("26", "25 °C or below"),
    ],
)
def test_each_fault_of_a_temperature_says_what_to_do(written: str, what_to_do: str) -> None:
    said = temperature(written)
    assert isinstance(said, Phrase)
    assert what_to_do in str(said)


@settings(deadline=None)
@given(st.text(max_size=12))
def test_no_text_breaks_the_reading_of_a_temperature(written: str) -> None:
    value = temperature(written)
    assert isinstance(value, Phrase) or -60 <= value <= 25


@settings(deadline=None)
@given(st.floats(-60, 25))
def test_every_number_is_read_back(value: float) -> None:
    assert temperature(f"{value:.2f}".replace(".", ",")) == float(f"{value:.2f}")


def test_some_days_may_stay_empty() -> None:
    value, problems = read(by_key("air"), {"cold": [""], "ordinary": ["-4"], "mild": [""]})
    assert problems == ()
    assert value == {"cold": None, "ordinary": -4, "mild": None}


def test_three_empty_days_need_a_tick() -> None:
    assert fault("air", {"cold": [""]}) == (
        "cold",
        "Enter at least one temperature, or tick that you are not sure",
    )


@pytest.mark.parametrize(
    ("posted", "field"),
    [
        ({"cold": ["-2"], "ordinary": ["-6"], "mild": ["1"]}, "ordinary"),
        ({"cold": ["-9"], "ordinary": ["2"], "mild": ["1"]}, "mild"),
        ({"cold": ["3"], "ordinary": [""], "mild": ["1"]}, "mild"),
        ({"cold": ["-9"], "ordinary": ["x"], "mild": ["1"]}, "ordinary"),
    ],
)
def test_a_day_that_is_out_of_order_is_named(posted: dict[str, list[str]], field: str) -> None:
    assert fault("air", posted)[0] == field


@pytest.mark.parametrize("key", ["humidity", "track_wet", "discipline", "purpose", "weak"])
def test_nothing_chosen_is_not_an_answer(key: str) -> None:
    field, text = fault(key, {})
    assert field in {one.name for one in by_key(key).fields}
    assert text.startswith(("Choose", "Tick"))


def test_a_choice_that_was_never_offered_is_not_taken() -> None:
    assert fault("humidity", {"humidity": ["soggy"]})[0] == "humidity"
    assert fault("snow", {"new": ["always"], "wet": ["often"]})[0] == "new"


def test_snow_that_is_left_out_counts_as_not_sure() -> None:
    value, problems = read(by_key("snow"), {"new": ["often"]})
    assert problems == ()
    assert value["settled"] == "unsure"


def test_no_kind_at_all_and_all_never_have_to_be_changed() -> None:
    assert "or “I am not sure”" in fault("snow", {})[1]
    assert "at least one kind" in fault("snow", {kind.value: ["never"] for kind in SnowKind})[1]


def test_a_special_pair_needs_its_snow_and_another_pair_forgets_it() -> None:
    assert fault("purpose", {"purpose": ["special"]})[0] == "special_kind"
    value, _ = read(by_key("purpose"), {"purpose": ["race"], "special_kind": ["icy"]})
    assert value == {"purpose": "race", "special_kind": None}


def test_nothing_went_badly_stands_alone() -> None:
    assert "not both" in fault("weak", {"weak": ["nothing", "iced_up"]})[1]
    value, problems = read(by_key("weak"), {"weak": ["nothing"]})
    assert (value, problems) == (["nothing"], ())
    assert questions.answers_from({"weak": value}).weak == ()


def test_a_place_is_not_a_story() -> None:
    assert "at most 80" in fault("place", {"place": ["x" * 81]})[1]


# --- showing -----------------------------------------------------------------------------------------------------


def test_the_check_page_says_every_answer_in_words() -> None:
    stored = walked(GOOD)
    said = {question.key: [str(value) for _label, value in shown(question, stored)] for question in QUESTIONS}
    assert said["air"] == ["\u221215 °C", "\u22126.5 °C", "1 °C"]
    assert said["snow"][:3] == ["Often", "Mostly", "I am not sure"]
    assert said["humidity"] == ["Dry"]
    assert said["place"] == ["Hollowmere valley"]
    assert said["discipline"] == [Discipline.SKATE.label]
    assert said["purpose"] == [Purpose.SPECIAL.label, SnowKind.ICY.label]
    assert said["weak"] == ["Slow in cold new snow; Iced up or clogged near zero"]


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda one: one.key)
def test_a_question_without_an_answer_is_shown_as_such(question: Question) -> None:
    for stored in ({}, walked(UNSURE)):
        for _label, value in shown(question, stored):
            assert str(value) in {"I am not sure", "Not given", "Not decided yet"}


@settings(deadline=None)
@given(
    st.sampled_from(list(HowOften)),
    st.sampled_from(list(Purpose)),
    st.none() | st.sampled_from(list(Discipline)),
)
def test_answers_given_before_begin_the_next_walk(
    often: HowOften, purpose: Purpose, discipline: Discipline | None
) -> None:
    answers = parse_answers(
        {
            "air_c": {"ordinary": -4},
            "snow": {"new": often.value},
            "purpose": purpose.value,
            "special_kind": "wet" if purpose is Purpose.SPECIAL else None,
            "discipline": discipline.value if discipline else None,
            "weak": ["wore_smooth"],
            "place": "Hollowmere",
        }
    )
    assert questions.answers_from(questions.stored_from(answers)) == answers
