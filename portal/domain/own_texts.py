"""The workshop's own wording: which texts it may reword, and what a reworded one must keep."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from portal.domain.words import N_, Phrase

LONGEST_TEXT = 2000
LONGEST_SUBJECT = 150
_PLACE = re.compile(r"%\((\w+)\)s")
# What looks as if it should have been a place: a sign, a bracket and a word, whole or not.
_NEARLY = re.compile(r"%\s*\(\s*\w*\s*\)?\s*s?")


class Kind(StrEnum):
    """Where a text is read."""

    PUBLIC = "public"
    LETTER = "letter"
    CARE = "care"
    REASON = "reason"
    CONDITION = "condition"

    @property
    def label(self) -> str:
        return KIND_LABELS[self]

    @property
    def is_said_everywhere(self) -> bool:
        """Whether the shipped text is reworded wherever it is said, and not in one place that asks for it by its key."""
        return self not in {Kind.PUBLIC, Kind.LETTER}


KIND_LABELS = {
    Kind.PUBLIC: N_("Front page"),
    Kind.LETTER: N_("Letters"),
    Kind.CARE: N_("Care advice"),
    Kind.REASON: N_("Reasons"),
    Kind.CONDITION: N_("Condition of skis"),
}


@dataclass(frozen=True)
class Slot:
    """A text that may be reworded. ``shipped`` is the text that comes along, empty where there is none.

    ``places`` are the names that may stand in it as ``%(name)s``; those in ``needed`` must.
    """

    key: str
    kind: Kind
    title: Phrase
    shipped: str
    places: tuple[str, ...] = ()
    needed: frozenset[str] = frozenset()
    most: int = LONGEST_TEXT
    is_one_line: bool = False
    # A number needs the place it comes from, and own words have none.
    has_no_numbers: bool = False


@dataclass(frozen=True)
class OwnTexts:
    """What the workshop says in its own words, by slot and language."""

    words: Mapping[tuple[str, str], str] = field(default_factory=dict)

    def of(self, slot: str, language: str) -> str | None:
        """The workshop's words in a language, or nothing where it left the shipped ones."""
        return self.words.get((slot, language)) or None

    def of_any(self, slot: str, languages: Iterable[str]) -> str | None:
        """The words in the first of these languages that has any: for what was never shipped and so has no translation."""
        return next((found for one in languages if (found := self.of(slot, one))), None)

    def as_messages(self, slots: Iterable[Slot], language: str) -> dict[str, str]:
        """Shipped text -> own words, for the texts that are reworded wherever they are said."""
        return {
            slot.shipped: found
            for slot in slots
            if slot.kind.is_said_everywhere and (found := self.of(slot.key, language))
        }


NONE = OwnTexts()


def places_in(words: str) -> frozenset[str]:
    """The names of the places in a text."""
    return frozenset(_PLACE.findall(words))


def fill(words: str, values: Mapping[str, str]) -> str:
    """The text with its places filled; a lone per cent sign and a place nobody knows stay as they stand."""
    return _PLACE.sub(lambda found: values.get(found[1], found[0]), words)


def problem(slot: Slot, words: str) -> Phrase | None:
    """What has to be changed before these words can be kept, or nothing."""
    if not words.strip():
        return Phrase(N_("Write the text, or go back to the shipped one"))
    if len(words) > slot.most:
        return Phrase(N_("Shorten this to %(most)s characters"), {"most": slot.most})
    if slot.is_one_line and len(words.splitlines()) > 1:
        return Phrase(N_("Write this on one line"))
    if slot.has_no_numbers and any(sign.isdecimal() for sign in words):
        return Phrase(
            N_(
                "Leave the numbers out: in your own words they have no source. Add an advice of your own that names where they come from"
            )
        )
    if not slot.places:
        return None
    return _problem_with_places(slot, words)


def _problem_with_places(slot: Slot, words: str) -> Phrase | None:
    listed = ", ".join(f"%({name})s" for name in slot.places)
    broken = next((one for one in _NEARLY.findall(words) if not _PLACE.fullmatch(one.strip())), None)
    if broken is not None:
        return Phrase(
            N_("Mend “%(place)s”: a place is written exactly as one of these: %(places)s"),
            {"place": broken.strip(), "places": listed},
        )
    unknown = sorted(places_in(words) - set(slot.places))
    if unknown:
        return Phrase(
            N_("Take out %(place)s: nothing can be filled in there. These are known: %(places)s"),
            {"place": f"%({unknown[0]})s", "places": listed},
        )
    missing = sorted(slot.needed - places_in(words))
    if missing:
        return Phrase(
            N_("Put %(place)s back in: it stands for %(what)s, and the reader needs it"),
            {"place": f"%({missing[0]})s", "what": Phrase(PLACES[missing[0]])},
        )
    return None


# What can be filled in, and what it stands for, within a sentence.
PLACES = {
    "name": N_("the name of whoever reads it"),
    "who": N_("the name of the skier or the club that ordered"),
    "reference": N_("the reference of the booking"),
    "hand_in": N_("the day of the hand-in"),
    "day": N_("the day on which the skis are ready"),
    "workshop": N_("the name of the workshop"),
}
