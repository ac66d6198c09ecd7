"""The snow questions in order: what each asks and why, how a posted answer is read, and what it says when shown.

What is stored is a plain JSON object keyed by question; every question takes "I am not sure" or nothing for an answer.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Literal

from portal.domain import venues
from portal.domain.answers import (
    COLDEST_C,
    PLACE_MOST,
    WARMEST_C,
    AirDays,
    Answers,
    Discipline,
    HowOften,
    Humidity,
    Purpose,
    TrackWet,
    Weakness,
    parse_answers,
)
from portal.domain.errors import NotFound
from portal.domain.snow import SnowKind
from portal.domain.words import N_, Phrase

Stored = Mapping[str, Any]
Posted = Mapping[str, Sequence[str]]
Problems = tuple[tuple[str, Phrase], ...]
Shown = list[tuple[str, "Phrase | str"]]
UNSURE = "unsure"
NOTHING = "nothing"
NOT_SURE = N_("I am not sure")


@dataclass(frozen=True)
class Field:
    """One input of a question; ``choices`` are (value, label) in the order shown."""

    name: str
    label: str
    kind: Literal["temperature", "choice", "choices", "text"]
    choices: tuple[tuple[str, str], ...] = ()
    hint: str = ""
    optional: bool = False


def _always(_stored: Stored) -> bool:
    return True


@dataclass(frozen=True)
class Question:
    """One page: ``title`` is the question, ``why`` says what its answer is good for."""

    key: str
    title: str
    why: str
    fields: tuple[Field, ...]
    hint: str = ""
    applies: Callable[[Stored], bool] = _always


def _labelled(kind: type[StrEnum], *more: tuple[str, str]) -> tuple[tuple[str, str], ...]:
    return (*((one.value, str(getattr(one, "label"))) for one in kind), *more)  # noqa: B009 - all of ours have a label


DAYS = (("cold", N_("A cold day")), ("ordinary", N_("An ordinary day")), ("mild", N_("A mild day")))

QUESTIONS: tuple[Question, ...] = (
    Question(
        key="air",
        title=N_("How cold is it where you ski?"),
        why=N_(
            "Cold snow wants wide flats, snow near melting wants room for water. Air temperature is the best first guess."
        ),
        hint=N_(
            "Take the days on which you ski: one day in ten is colder than a cold day, one in ten milder than a mild one"
        ),
        fields=(
            *(Field(day, label, "temperature", hint=N_("In °C, for example -6")) for day, label in DAYS),
            Field(
                UNSURE,
                N_("Not known"),
                "choices",
                ((UNSURE, N_("I am not sure about the days left empty")),),
                optional=True,
            ),
        ),
    ),
    Question(
        key="humidity",
        title=N_("How humid is the air there?"),
        why=N_("In dry air snow stays dry for longer, in humid air it turns moist sooner."),
        hint=N_("Inland and high places are mostly dry, coasts and lakes mostly humid"),
        fields=(Field("humidity", N_("Air"), "choice", _labelled(Humidity)),),
    ),
    Question(
        key="snow",
        title=N_("How often do you meet each kind of snow?"),
        why=N_("Fine new snow and coarse old snow ask for different lines, even at the same temperature."),
        fields=tuple(
            Field(kind.value, kind.label, "choice", _labelled(HowOften), hint)
            for kind, hint in (
                (SnowKind.NEW, N_("Fell in the last day or two")),
                (SnowKind.SETTLED, N_("A few days old, fine and dry")),
                (SnowKind.MACHINE_MADE, N_("From snow machines, small hard grains")),
                (SnowKind.SUGARY, N_("Loose dry grains that do not pack")),
                (SnowKind.REFROZEN, N_("Was wet once and froze again, or old and coarse")),
                (SnowKind.ICY, N_("Hard and shiny")),
                (SnowKind.WET, N_("Water shows, or can be pressed out")),
            )
        ),
    ),
    Question(
        key="track_wet",
        title=N_("Does the track go wet under your skis?"),
        why=N_(
            "Water under the ski drags. How often it is there decides how much room the lines must leave for it."
        ),
        fields=(Field("track_wet", N_("The track goes wet"), "choice", _labelled(TrackWet)),),
    ),
    Question(
        key="place",
        title=N_("Where do you ski most?"),
        why=N_("It helps the workshop to check your answers against what they know of the place."),
        fields=(
            Field(
                "place", N_("Place (optional)"), "text", hint=N_("A town, a valley or a track"), optional=True
            ),
        ),
    ),
    Question(
        key="discipline",
        title=N_("Is the pair for classic or skate?"),
        why=N_("Not every structure is ground on both."),
        fields=(
            Field(
                "discipline",
                N_("Discipline"),
                "choice",
                _labelled(Discipline, (UNSURE, N_("Not decided yet"))),
            ),
        ),
    ),
    Question(
        key="purpose",
        title=N_("What is the pair for?"),
        why=N_(
            "One pair for everything should cover many days, a pair for races or for one kind of snow only its own."
        ),
        fields=(
            Field("purpose", N_("Use"), "choice", _labelled(Purpose, (UNSURE, NOT_SURE))),
            Field(
                "special_kind",
                N_("Which kind of snow"),
                "choice",
                _labelled(SnowKind),
                N_("Only if the pair is for one kind of snow"),
                optional=True,
            ),
        ),
    ),
    Question(
        key="weak",
        title=N_("What did the last structure do badly?"),
        why=N_("Days on which it let you down count a little more."),
        hint=N_("Tick all that fit"),
        fields=(
            Field(
                "weak",
                N_("The last structure"),
                "choices",
                _labelled(Weakness, (NOTHING, N_("Nothing, it was fine")), (UNSURE, NOT_SURE)),
            ),
        ),
    ),
)


# --- reading -----------------------------------------------------------------------------------------------------

MINUS = str.maketrans(
    {"\u2212": "-", "\u2013": "-", "\u2014": "-", "\u2012": "-", "\u2010": "-", "\u2011": "-"}
)
NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?|[+-]?[.,]\d+")


def temperature(written: str) -> float | Phrase:
    """A temperature in °C as people write it, or what to do about it: decimal comma, any dash, a unit and spaces pass."""
    text = "".join(written.translate(MINUS).split())
    if re.search(r"(?:°?F|fahrenheit)$", text, re.IGNORECASE):
        return Phrase(N_("Enter the temperature in °C, not in °F"))
    text = re.sub(r"(?:°C?|℃|C|celsius|degrees?)$", "", text, flags=re.IGNORECASE)
    if re.fullmatch(r"[+-]?\d+(?:[.,]\d+)?(?:-|to|\.\.+)[+-]?\d+(?:[.,]\d+)?", text):
        return Phrase(N_("Enter one temperature, not a span"))
    if not NUMBER.fullmatch(text):
        return Phrase(N_("Enter the temperature as a number, for example -6"))
    value = float(text.replace(",", "."))
    if value < COLDEST_C:
        return Phrase(N_("Enter a temperature of %(least)s °C or above"), {"least": f"{COLDEST_C:g}"})
    if value > WARMEST_C:
        return Phrase(
            N_("Enter a temperature of %(most)s °C or below, with a minus for frost"),
            {"most": f"{WARMEST_C:g}"},
        )
    return value


def read(question: Question, posted: Posted) -> tuple[Any, Problems]:
    """The value to store and what has to be changed first, as (field, what to do); store only when nothing has."""
    return READERS[question.key](question, posted)


def _one(posted: Posted, name: str) -> str:
    given = posted.get(name) or [""]
    return given[0].strip()


def _read_air(question: Question, posted: Posted) -> tuple[Any, Problems]:
    found: dict[str, float | None] = {}
    problems = []
    for day, _label in DAYS:
        written = _one(posted, day)
        value = temperature(written) if written else None
        if isinstance(value, Phrase):
            problems.append((day, value))
            value = None
        found[day] = value
    if (
        not problems
        and all(value is None for value in found.values())
        and UNSURE not in posted.get(UNSURE, ())
    ):
        return found, (
            (DAYS[0][0], Phrase(N_("Enter at least one temperature, or tick that you are not sure"))),
        )
    if not problems:
        problems = _order(found)
    return found, tuple(problems)


def _order(days: Mapping[str, float | None]) -> list[tuple[str, Phrase]]:
    for (colder, _), (milder, _) in ((DAYS[0], DAYS[1]), (DAYS[1], DAYS[2]), (DAYS[0], DAYS[2])):
        low, high = days[colder], days[milder]
        if low is not None and high is not None and low > high:
            texts = {
                "ordinary": N_("Enter an ordinary day that is no colder than the cold day"),
                "mild": N_("Enter a mild day that is no colder than the others"),
            }
            return [(milder, Phrase(texts[milder]))]
    return []


def _read_choice(question: Question, posted: Posted) -> tuple[Any, Problems]:
    (field,) = question.fields
    return _chosen(field, posted)


def _chosen(field: Field, posted: Posted) -> tuple[str, Problems]:
    given = _one(posted, field.name)
    if given in dict(field.choices):
        return given, ()
    if UNSURE in dict(field.choices) and field.name not in ("discipline", "purpose"):
        return UNSURE, ((field.name, Phrase(N_("Choose an answer, or “I am not sure”"))),)
    return UNSURE, ((field.name, Phrase(N_("Choose one of the answers"))),)


def _read_snow(question: Question, posted: Posted) -> tuple[Any, Problems]:
    """A kind that was left out counts as not sure, as long as one was answered."""
    found: dict[str, str] = {}
    problems = []
    for field in question.fields:
        given = _one(posted, field.name)
        if given and given not in dict(field.choices):
            problems.append((field.name, Phrase(N_("Choose one of the answers"))))
        found[field.name] = given if given in dict(field.choices) else UNSURE
    first = question.fields[0].name
    if not problems and not any(_one(posted, field.name) for field in question.fields):
        problems.append((first, Phrase(N_("Choose how often you meet a kind of snow, or “I am not sure”"))))
    if not problems and all(often == HowOften.NEVER for often in found.values()):
        problems.append((first, Phrase(N_("Choose at least one kind of snow that you meet now and then"))))
    return found, tuple(problems)


def _read_place(question: Question, posted: Posted) -> tuple[Any, Problems]:
    written = " ".join(_one(posted, "place").split())
    if len(written) > PLACE_MOST:
        return written, (("place", Phrase(N_("Use at most %(most)s characters"), {"most": PLACE_MOST})),)
    return written, ()


def _read_purpose(question: Question, posted: Posted) -> tuple[Any, Problems]:
    use, snow = question.fields
    purpose, problems = _chosen(use, posted)
    kind = _one(posted, snow.name)
    if purpose != Purpose.SPECIAL:
        return {"purpose": purpose, "special_kind": None}, problems
    if kind not in dict(snow.choices):
        return {"purpose": purpose, "special_kind": None}, (
            (snow.name, Phrase(N_("Choose which kind of snow the pair is for"))),
        )
    return {"purpose": purpose, "special_kind": kind}, ()


def _read_weak(question: Question, posted: Posted) -> tuple[Any, Problems]:
    (field,) = question.fields
    given = [one for one in posted.get(field.name, ()) if one in dict(field.choices)]
    if not given:
        return [], ((field.name, Phrase(N_("Tick what it did badly, “Nothing”, or “I am not sure”"))),)
    if len(given) > 1 and (NOTHING in given or UNSURE in given):
        return given, ((field.name, Phrase(N_("Tick either what it did badly or “Nothing”, not both"))),)
    return [value for value, _label in field.choices if value in given], ()


READERS: dict[str, Callable[[Question, Posted], tuple[Any, Problems]]] = {
    "air": _read_air,
    "humidity": _read_choice,
    "snow": _read_snow,
    "track_wet": _read_choice,
    "place": _read_place,
    "discipline": _read_choice,
    "purpose": _read_purpose,
    "weak": _read_weak,
}


# --- walking -----------------------------------------------------------------------------------------------------


def by_key(key: str) -> Question:
    """The question with that key; ``NotFound`` when there is none."""
    for question in QUESTIONS:
        if question.key == key:
            return question
    raise NotFound


def first_open(stored: Stored) -> Question | None:
    """The first question that applies and has no answer yet; none when all have one."""
    return next(
        (question for question in QUESTIONS if question.key not in stored and question.applies(stored)), None
    )


def next_after(question: Question, stored: Stored) -> Question | None:
    """The next question that applies; none after the last."""
    return next((one for one in QUESTIONS[QUESTIONS.index(question) + 1 :] if one.applies(stored)), None)


def before(question: Question, stored: Stored) -> Question | None:
    """The question before that applies; none before the first."""
    return next(
        (one for one in reversed(QUESTIONS[: QUESTIONS.index(question)]) if one.applies(stored)), None
    )


# --- showing and using -------------------------------------------------------------------------------------------


def shown(question: Question, stored: Stored) -> Shown:
    """What the check page says of a question: (label, value) for each field, "I am not sure" where nothing was said."""
    value = stored.get(question.key)
    if question.key == "air":
        given = value or {}
        days: Shown = [(label, _degrees(given.get(day))) for day, label in DAYS]
        return days if venues.origin(stored) is None else [*days, _origin(given)]
    if question.key == "snow":
        given = value or {}
        return [
            (field.label, Phrase(dict(field.choices).get(str(given.get(field.name)), NOT_SURE)))
            for field in question.fields
        ]
    field = question.fields[0]
    labels = dict(field.choices)
    if question.key == "place":
        return [(N_("Place"), value or Phrase(N_("Not given")))]
    if question.key == "weak":
        return [(field.label, _listed([labels[one] for one in value or () if one in labels]))]
    if question.key == "purpose":
        given = value or {}
        said = [(field.label, Phrase(labels.get(str(given.get("purpose")), NOT_SURE)))]
        if given.get("special_kind"):
            said.append((question.fields[1].label, Phrase(SnowKind(given["special_kind"]).label)))
        return [*said]
    return [(field.label, Phrase(labels.get(str(value), NOT_SURE)))]


def _origin(air: Mapping[str, Any]) -> tuple[str, Phrase | str]:
    """The line that says which venue the days came from."""
    text = (
        N_("The weather at %(venue)s, changed by you")
        if venues.is_changed(air)
        else N_("The weather at %(venue)s")
    )
    return N_("Where the days come from"), Phrase(text, {"venue": air[venues.KEY]["name"]})


def _degrees(value: float | None) -> Phrase:
    if value is None:
        return Phrase(NOT_SURE)
    return Phrase(N_("%(degrees)s °C"), {"degrees": f"{value:g}".replace("-", "\u2212")})


def _listed(labels: Sequence[str]) -> Phrase:
    if not labels:
        return Phrase(NOT_SURE)
    said = Phrase(labels[0])
    for label in labels[1:]:
        said = Phrase(N_("%(one)s; %(more)s"), {"one": said, "more": Phrase(label)})
    return said


def answers_from(stored: Stored) -> Answers:
    """The answers behind what is stored; a question without an answer is unsure."""
    air, snow, use = stored.get("air") or {}, stored.get("snow") or {}, stored.get("purpose") or {}
    discipline = stored.get("discipline", UNSURE)
    purpose = use.get("purpose", UNSURE)
    return parse_answers(
        {
            "air_c": {day: air.get(day) for day, _label in DAYS},
            "humidity": stored.get("humidity", UNSURE),
            "snow": {kind.value: snow.get(kind.value, UNSURE) for kind in SnowKind},
            "track_wet": stored.get("track_wet", UNSURE),
            "discipline": None if discipline == UNSURE else discipline,
            "purpose": Purpose.ALL_ROUND.value if purpose == UNSURE else purpose,
            "special_kind": use.get("special_kind"),
            "weak": [one for one in stored.get("weak", ()) if one not in (NOTHING, UNSURE)],
            "place": stored.get("place", ""),
        }
    )


def stored_from(answers: Answers) -> dict[str, Any]:
    """What would be stored for these answers, to begin from those given before."""
    days: AirDays = answers.air_c
    return {
        "air": {"cold": days.cold, "ordinary": days.ordinary, "mild": days.mild},
        "humidity": answers.humidity.value,
        "snow": {kind.value: answers.often(kind).value for kind in SnowKind},
        "track_wet": answers.track_wet.value,
        "place": answers.place,
        "discipline": answers.discipline.value if answers.discipline else UNSURE,
        "purpose": {
            "purpose": answers.purpose.value,
            "special_kind": answers.special_kind.value if answers.special_kind else None,
        },
        "weak": [weakness.value for weakness in answers.weak] or [UNSURE],
    }
