"""What a list of juniors can hold, and the headings by which each column is known in several languages.

A row can tell of several pairs, each in a set of columns of its own: the first to third pair, and the pair for classic and the
one for skating. Which set a column belongs to is told by its heading ("Ski 2", "Classic length"), else by the columns before it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from enum import StrEnum

from portal.domain.answers import Discipline
from portal.domain.importing.cells import DISCIPLINES
from portal.domain.importing.columns import Column, Field, folded
from portal.domain.importing.customer_fields import BY_KEY
from portal.domain.words import N_, Phrase

JUNIOR = N_("Junior")


class Slot(StrEnum):
    """One set of columns about a pair."""

    FIRST = "pair_1"
    SECOND = "pair_2"
    THIRD = "pair_3"
    CLASSIC = "classic"
    SKATE = "skate"

    @property
    def label(self) -> str:
        return {
            Slot.FIRST: N_("Pair"),
            Slot.SECOND: N_("Second pair"),
            Slot.THIRD: N_("Third pair"),
            Slot.CLASSIC: N_("Pair for classic"),
            Slot.SKATE: N_("Pair for skating"),
        }[self]

    @property
    def discipline(self) -> Discipline | None:
        """What every pair of the set is skied in; nothing where the list says it."""
        return {Slot.CLASSIC: Discipline.CLASSIC, Slot.SKATE: Discipline.SKATE}.get(self)


NUMBERED = (Slot.FIRST, Slot.SECOND, Slot.THIRD)
# What a set of columns can hold, and the label of each.
SKI, MAKER, MODEL, DISCIPLINE, LENGTH, MARK, STIFFNESS, NOTES = (
    "ski",
    "maker",
    "model",
    "discipline",
    "length",
    "mark",
    "stiffness",
    "notes",
)
LABELS = {
    SKI: N_("Maker, model and length in one column"),
    **{key: BY_KEY[key].label for key in (MAKER, MODEL, DISCIPLINE, LENGTH, MARK, STIFFNESS, NOTES)},
}


def key_of(slot: Slot, what: str) -> str:
    """The field that one column of a set is."""
    return f"{slot}_{what}"


def _words(text: str) -> tuple[str, ...]:
    return tuple(word.strip() for word in text.split(","))


_JUNIOR_FIELDS = (
    Field(
        "name",
        N_("Name in one column"),
        (
            *BY_KEY["name"].words,
            *_words(
                "junior, athlete, child, racer, athlet, kind, läufer, läuferin, utøver, barn, løper, åkare, lapsi"
            ),
            *_words("urheilija, enfant, coureur, atleta, bambino, zawodnik, dziecko, závodník, sportlane"),
        ),
        JUNIOR,
    ),
    Field("first_name", BY_KEY["first_name"].label, BY_KEY["first_name"].words, JUNIOR),
    Field("last_name", BY_KEY["last_name"].label, BY_KEY["last_name"].words, JUNIOR),
    Field(
        "birth",
        N_("Birth year or date; the year alone is kept"),
        _words(
            "birth year, year of birth, born, birth, yob, date of birth, birth date, birthdate, dob, birthday, geburtsjahr, "
            "jahrgang, jg, geboren, geburtsdatum, fødselsår, født, fødselsdato, født år, födelseår, född, födelsedatum, "
            "födelsedag, syntymävuosi, syntynyt, syntymäaika, année de naissance, né en, date de naissance, naissance, "
            "anno di nascita, data di nascita, nato, año de nacimiento, rok urodzenia, data urodzenia, rok narození, "
            "datum narození, sünniaasta, årskull, årgang, årgång, ikäluokka"
        ),
        JUNIOR,
    ),
    Field(
        "skis",
        N_("What the junior skis: classic, skate or both"),
        BY_KEY["discipline"].words,
        JUNIOR,
    ),
    Field(
        "weight",
        N_("Body weight in kg"),
        _words(
            "weight, body weight, kg, gewicht, körpergewicht, vekt, kroppsvekt, vikt, kroppsvikt, paino, poids, peso, waga, "
            "váha, hmotnost, kaal"
        ),
        JUNIOR,
    ),
)


def _named(slot: Slot, label: Phrase | str) -> Phrase | str:
    """What a column of a set is called: with its set, which a list that is folded up does not show."""
    if slot is Slot.FIRST:
        return label
    return Phrase(
        N_("%(pair)s: %(what)s"),
        {"pair": Phrase(slot.label), "what": Phrase(label) if isinstance(label, str) else label},
    )


ROSTER_FIELDS: tuple[Field, ...] = (
    *_JUNIOR_FIELDS,
    *(
        Field(key_of(slot, what), _named(slot, label), (), slot.label)
        for slot in Slot
        for what, label in LABELS.items()
        if what != DISCIPLINE or slot.discipline is None
    ),
)

_SKI_WORDS = _words(
    "ski, skis, ski pair, pair of skis, paar, skipaar, par, skipar, suksi, sukset, suksipari, skida, skidor, skidpar, "
    "skiene, skidorna, paire, paire de skis, sci, esquís, narty, lyže, suusad, pair"
)
_WHAT = {
    **{
        folded(word): what
        for what in (MAKER, MODEL, LENGTH, MARK, STIFFNESS, NOTES)
        for word in BY_KEY[what].words
    },
    **{folded(word): DISCIPLINE for word in BY_KEY["discipline"].words},
    **{folded(word): SKI for word in _SKI_WORDS},
}
_SKIS = frozenset(folded(word) for word in BY_KEY["discipline"].words)
# Letters alone are too short to tell a discipline by in a heading.
_DISCIPLINES = {
    word: slot
    for slot in (Slot.CLASSIC, Slot.SKATE)
    for word in DISCIPLINES[slot.discipline or Discipline.SKATE]
    if len(word) > 2
}
# By these a row is known to hold headings; which column is which is for ``guess_roster``.
ROSTER_HEADINGS: tuple[Field, ...] = (
    *_JUNIOR_FIELDS,
    *(
        Field(what, "", tuple(word for word, meant in _WHAT.items() if meant == what and word not in _SKIS))
        for what in dict.fromkeys(_WHAT.values())
    ),
    *(
        Field(slot, "", tuple(word for word, named in _DISCIPLINES.items() if named is slot))
        for slot in (Slot.CLASSIC, Slot.SKATE)
    ),
)
_OF_JUNIOR = {folded(word): field.key for field in _JUNIOR_FIELDS for word in field.words}


def guess_roster(columns: Sequence[Column]) -> dict[int, str]:
    """What each column seems to hold: its place -> key of a field. No field is guessed twice."""
    meant: dict[int, str] = {}
    last: Slot | None = None
    for column in columns:
        told = _OF_JUNIOR.get(folded(_bare(column.heading)))
        if told == "skis" and last is not None:
            # Beside a pair it is what the pair is for.
            told = None
        if told is not None and told not in meant.values():
            meant[column.at] = told
            continue
        slot, what = _of_pair(column.heading)
        if what is None:
            continue
        for one in [slot] if slot is not None else _from(last):
            key = key_of(one, what)
            if key in _KEYS and key not in meant.values():
                meant[column.at], last = key, one
                break
    return meant


_KEYS = {field.key for field in ROSTER_FIELDS}


def _from(last: Slot | None) -> Iterator[Slot]:
    """The sets that a column without a set of its own can belong to: that of the columns before it, else the next numbered one."""
    if last is not None:
        yield last
    after = NUMBERED.index(last) + 1 if last in NUMBERED else 0
    yield from NUMBERED[after:]


def _bare(heading: str) -> str:
    """A heading without what stands in brackets, which is a unit or a remark."""
    return re.sub(r"[\(\[].*?[\)\]]", " ", heading)


def _of_pair(heading: str) -> tuple[Slot | None, str | None]:
    """The set that a heading names itself, and what of a pair it holds; nothing for what is not about a pair."""
    text = re.sub(r" (cm|kg)$", "", folded(_bare(heading)))
    slot: Slot | None = None
    for word, named in _DISCIPLINES.items():
        if re.search(rf"\b{re.escape(word)}\b", text):
            slot, text = named, " ".join(re.sub(rf"\b{re.escape(word)}\b", " ", text).split())
            break
    number = re.search(r"(?<!\d)([123])(?!\d)", text)
    if number:
        slot = slot or NUMBERED[int(number[1]) - 1]
        text = " ".join((text[: number.start()] + " " + text[number.end() :]).split())
    if not text:
        return slot, SKI if slot is not None else None
    for words in (text, re.sub(rf"^(?:{_ANY_SKI}) | (?:{_ANY_SKI})$", "", text)):
        if words in _WHAT:
            return slot, _WHAT[words]
    # "Klassiskski" and the like are written as one word.
    for word, named in _DISCIPLINES.items():
        if slot is None and text.startswith(word) and text.removeprefix(word) in _WHAT:
            return named, _WHAT[text.removeprefix(word)]
    return None, None


_ANY_SKI = "|".join(sorted((re.escape(folded(word)) for word in _SKI_WORDS), key=len, reverse=True))
