"""Reads and checks the reference data in ``shared/`` once and gives frozen values; a bad file stops the start.

Texts in these files that people read stand under the keys in ``TEXT_KEYS``. ``extract_messages`` hands them to the
message extractor as a custom method; the mapping file says ``[extractors] reference = portal.reference:extract_messages``
and ``[reference: shared/*.json]``. They are shown through the same translation as every other text.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import IO, Any, TypeVar

from portal.domain.answers import Discipline, HowOften, Humidity, TrackWet
from portal.domain.care import Care, CareFact, CareRule, CareStage
from portal.domain.checked import (
    BadValue,
    Place,
    day,
    dotted,
    number,
    one_of,
    rows,
    table,
    text,
    whole,
    yes_or_no,
)
from portal.domain.diamonds import Diamond
from portal.domain.pairs import Grip
from portal.domain.snow import GrainClass, KindFacts, SizeTerm, SnowKind, WaterClass
from portal.domain.snow_tables import Tables, Wetness
from portal.domain.structures import Catalogue, Family, Structure
from portal.domain.suggested import Corner, SuggestedTable, Windows

TEXT_KEYS = ("name", "summary", "working_model", "plain", "condition", "advice", "caution", "text")
HEAD = ("title", "source", "status")
CLASSES, SUBCLASSES = 9, 37

Value = TypeVar("Value")


@dataclass(frozen=True)
class Source:
    """What a file says of itself."""

    file: str
    title: str
    source: str
    status: str


@dataclass(frozen=True, eq=False)
class Reference:
    """All reference data: the starter catalogue with its diamonds, tables of snow and ranges, care rules, their sources."""

    catalogue: Catalogue
    diamonds: tuple[Diamond, ...]
    tables: Tables
    care: Care
    suggested: SuggestedTable
    sources: tuple[Source, ...]


class BadReference(Exception):
    """A reference file that cannot be used; names the file, the line where it is known, and the place."""

    def __init__(self, path: Path, line: int | None, reason: str) -> None:
        self.path, self.line, self.reason = path, line, reason
        super().__init__(f"{path}{f', line {line}' if line else ''}: {reason}")


def default_folder() -> Path:
    """The ``shared`` folder beside the package."""
    return Path(__file__).resolve().parent.parent / "shared"


def load(folder: Path) -> Reference:
    """Read and check every file; ``BadReference`` names the first fault."""
    sources: list[Source] = []

    def read(name: str, keys: tuple[str, ...], make: Callable[[Mapping[str, Any]], Value]) -> Value:
        path = folder / name
        written, data = _json(path)
        try:
            given = table(data, (), (*HEAD, *keys))
            sources.append(Source(name, *(text(given[key], (key,)) for key in HEAD)))
            return make(given)
        except BadValue as fault:
            raise BadReference(path, line_of(written, fault.place), str(fault)) from fault

    classes, sizes, kinds = read("snow_kinds.json", ("classes", "sizes", "kinds"), _snow_kinds)
    water, wetness = read("liquid_water.json", ("classes", "wetness"), _water)
    often, occurs = read("compatibility.json", ("how_often", "occurs"), _compatibility)
    catalogue, diamonds = read("catalogue.json", ("families", "diamonds", "structures"), _catalogue)
    families = frozenset(family.key for family in catalogue.families)
    care = read("care.json", ("rules", "facts_as_of", "facts"), lambda given: _care(given, families))
    suggested = read("suggested_range.json", SUGGESTED_KEYS, _suggested)
    return Reference(
        catalogue=catalogue,
        diamonds=diamonds,
        tables=Tables(classes, sizes, water, kinds, occurs, often, wetness),
        care=care,
        suggested=suggested,
        sources=tuple(sources),
    )


def _json(path: Path) -> tuple[str, Any]:
    try:
        written = path.read_text(encoding="utf-8")
    except OSError as fault:
        raise BadReference(path, None, "the file cannot be read") from fault
    except UnicodeDecodeError as fault:
        raise BadReference(path, None, "the file is not UTF-8") from fault
    try:
        return written, json.loads(written)
    except ValueError as fault:
        raise BadReference(path, getattr(fault, "lineno", None), f"not JSON: {fault}") from fault


# --- the files ---------------------------------------------------------------------------------------------------


def _snow_kinds(
    given: Mapping[str, Any],
) -> tuple[tuple[GrainClass, ...], tuple[SizeTerm, ...], Mapping[SnowKind, KindFacts]]:
    classes = []
    for step, row in enumerate(rows(given["classes"], ("classes",))):
        place: Place = ("classes", step)
        one = table(row, place, ("code", "name", "subclasses"))
        subclasses = []
        for number_, pair in enumerate(rows(one["subclasses"], (*place, "subclasses"))):
            at = (*place, "subclasses", number_)
            if not isinstance(pair, list) or len(pair) != 2:
                raise BadValue(at, "a code and a name are needed")
            if not text(pair[0], at).startswith(text(one["code"], (*place, "code"))):
                raise BadValue(at, "the code does not begin with that of its class")
            subclasses.append((pair[0], text(pair[1], at)))
        classes.append(GrainClass(text(one["code"], place), text(one["name"], place), tuple(subclasses)))
    codes = {one.code for one in classes} | {code for one in classes for code, _ in one.subclasses}
    if len(classes) != CLASSES or len(codes) != CLASSES + SUBCLASSES:
        raise BadValue(
            ("classes",), f"{CLASSES} classes with {SUBCLASSES} subclasses in all are needed, each once"
        )
    return tuple(classes), _sizes(given), _kinds(given, codes)


def _sizes(given: Mapping[str, Any]) -> tuple[SizeTerm, ...]:
    sizes: list[SizeTerm] = []
    for step, row in enumerate(rows(given["sizes"], ("sizes",))):
        place: Place = ("sizes", step)
        one = table(row, place, ("key", "name", "low_mm", "high_mm"))
        low = number(one["low_mm"], (*place, "low_mm"), 0)
        high = None if one["high_mm"] is None else number(one["high_mm"], (*place, "high_mm"), low)
        if low != (sizes[-1].high_mm if sizes else 0):
            raise BadValue((*place, "low_mm"), "a size begins where the one before ends")
        sizes.append(
            SizeTerm(text(one["key"], (*place, "key")), text(one["name"], (*place, "name")), low, high)
        )
    return tuple(sizes)


def _kinds(given: Mapping[str, Any], codes: set[str]) -> Mapping[SnowKind, KindFacts]:
    keys = ("key", "codes", "grain_low_mm", "grain_high_mm", "plain", "source")
    kinds = {}
    for step, row in enumerate(rows(given["kinds"], ("kinds",))):
        place: Place = ("kinds", step)
        one = table(row, place, keys)
        kind = SnowKind(one_of(one["key"], (*place, "key"), list(SnowKind)))
        low = number(one["grain_low_mm"], (*place, "grain_low_mm"), 0)
        kinds[kind] = KindFacts(
            kind=kind,
            codes=tuple(
                one_of(code, (*place, "codes", at), sorted(codes))
                for at, code in enumerate(rows(one["codes"], (*place, "codes")))
            ),
            grain_low_mm=low,
            grain_high_mm=number(one["grain_high_mm"], (*place, "grain_high_mm"), low),
            plain=text(one["plain"], (*place, "plain")),
            source=text(one["source"], (*place, "source")),
        )
    _complete(kinds, SnowKind, ("kinds",))
    return MappingProxyType(kinds)


def _water(given: Mapping[str, Any]) -> tuple[tuple[WaterClass, ...], Wetness]:
    classes: list[WaterClass] = []
    for step, row in enumerate(rows(given["classes"], ("classes",))):
        place: Place = ("classes", step)
        one = table(row, place, ("code", "index", "name", "low_pct", "high_pct", "mean_pct"))
        low = number(one["low_pct"], (*place, "low_pct"), 0, 100)
        high = None if one["high_pct"] is None else number(one["high_pct"], (*place, "high_pct"), low, 100)
        if low != (classes[-1].high_pct if classes else 0):
            raise BadValue((*place, "low_pct"), "a class begins where the one before ends")
        classes.append(
            WaterClass(
                code=text(one["code"], (*place, "code")),
                index=whole(one["index"], (*place, "index"), step + 1, step + 1),
                name=text(one["name"], (*place, "name")),
                low_pct=low,
                high_pct=high,
                mean_pct=number(one["mean_pct"], (*place, "mean_pct"), low, 100 if high is None else high),
            )
        )
    return tuple(classes), _wetness(given["wetness"], [one.code for one in classes])


def _wetness(data: object, codes: list[str]) -> Wetness:
    place: Place = ("wetness",)
    keys = ("humidity_pct", "track_shift_c", "kind_shift_c", "onset_c", "spread_c", "track_share")
    given = table(data, place, keys)
    sure = [one for one in Humidity if one is not Humidity.UNSURE]
    humidity = table(given["humidity_pct"], (*place, "humidity_pct"), sure)
    onset = table(given["onset_c"], (*place, "onset_c"), codes[1:])
    onsets = {code: number(onset[code], (*place, "onset_c", code), -10, 30) for code in codes[1:]}
    if list(onsets.values()) != sorted(onsets.values()):
        raise BadValue((*place, "onset_c"), "a wetter class begins at a higher temperature")
    return Wetness(
        humidity_pct=MappingProxyType(
            {one: number(humidity[one], (*place, "humidity_pct", one.value), 1, 100) for one in sure}
        ),
        track_shift_c=_numbers(given["track_shift_c"], (*place, "track_shift_c"), TrackWet, -20, 20),
        kind_shift_c=_numbers(given["kind_shift_c"], (*place, "kind_shift_c"), SnowKind, -20, 20),
        onset_c=MappingProxyType(onsets),
        spread_c=number(given["spread_c"], (*place, "spread_c"), 0.05, 10),
        track_share=_numbers(given["track_share"], (*place, "track_share"), TrackWet, 0, 1),
    )


def _compatibility(
    given: Mapping[str, Any],
) -> tuple[Mapping[HowOften, float], Mapping[SnowKind, tuple[tuple[float, float], ...]]]:
    often = _numbers(given["how_often"], ("how_often",), HowOften, 0, 1000)
    if (
        often[HowOften.NEVER] != 0
        or not 0 < often[HowOften.SOMETIMES] < often[HowOften.OFTEN] < often[HowOften.MOSTLY]
    ):
        raise BadValue(("how_often",), "never weighs nothing and the others weigh more the more often it is")
    lines = table(given["occurs"], ("occurs",), list(SnowKind))
    occurs = {}
    for kind in SnowKind:
        place: Place = ("occurs", kind.value)
        corners: list[tuple[float, float]] = []
        for step, corner in enumerate(rows(lines[kind.value], place)):
            if not isinstance(corner, list) or len(corner) != 2:
                raise BadValue((*place, step), "an air temperature and a weight are needed")
            air = number(corner[0], (*place, step), -60, 25)
            if corners and air <= corners[-1][0]:
                raise BadValue((*place, step), "air temperatures rise from corner to corner")
            corners.append((air, number(corner[1], (*place, step), 0, 1)))
        if not any(weight > 0 for _, weight in corners):
            raise BadValue(place, "a kind occurs somewhere")
        occurs[kind] = tuple(corners)
    return often, MappingProxyType(occurs)


def _catalogue(given: Mapping[str, Any]) -> tuple[Catalogue, tuple[Diamond, ...]]:
    families = []
    for step, row in enumerate(rows(given["families"], ("families",))):
        place: Place = ("families", step)
        one = table(row, place, ("key", "name", "summary", "order", "working_model"))
        families.append(
            Family(
                key=text(one["key"], (*place, "key")),
                name=text(one["name"], (*place, "name")),
                summary=text(one["summary"], (*place, "summary")),
                order=whole(one["order"], (*place, "order"), step + 1, step + 1),
                working_model=text(one["working_model"], (*place, "working_model")),
            )
        )
    orders = {family.key: family.order for family in families}
    if len(orders) != len(families):
        raise BadValue(("families",), "a key stands once")
    diamonds = tuple(
        Diamond.from_json(row, ("diamonds", step))
        for step, row in enumerate(rows(given["diamonds"], ("diamonds",)))
    )
    marks = [diamond.mark for diamond in diamonds]
    structures: list[Structure] = []
    for step, row in enumerate(rows(given["structures"], ("structures",))):
        place = ("structures", step)
        structure = Structure.from_json(row, place)
        one_of(structure.family, (*place, "family"), list(orders))
        if any(structure.key == other.key for other in structures):
            raise BadValue((*place, "key"), "a key stands once")
        if structures and orders[structure.family] < orders[structures[-1].family]:
            raise BadValue((*place, "family"), "structures stand in the order of their families")
        for at, layer in enumerate(structure.layers):
            if layer.diamond:
                one_of(layer.diamond, (*place, "layers", at, "diamond"), marks)
        structures.append(structure)
    return Catalogue(tuple(families), tuple(structures)), diamonds


def _care(given: Mapping[str, Any], families: frozenset[str]) -> Care:
    as_of = day(given["facts_as_of"], ("facts_as_of",))
    return Care(_care_rules(given, families), _care_facts(given), as_of)


YES = ("only_thin", "steps_are_practice")


def _care_rules(given: Mapping[str, Any], families: frozenset[str]) -> tuple[CareRule, ...]:
    keys = ("key", "stage", "condition", "advice", "caution", "source")
    rules: list[CareRule] = []
    for step, row in enumerate(rows(given["rules"], ("rules",))):
        place: Place = ("rules", step)
        one = table(row, place, keys, ("families", "disciplines", "grips", "snow", *YES))
        if one["caution"] != "":
            text(one["caution"], (*place, "caution"))
        if any(one["key"] == other.key for other in rules):
            raise BadValue((*place, "key"), "a key stands once")
        rules.append(
            CareRule(
                key=text(one["key"], (*place, "key")),
                stage=CareStage(one_of(one["stage"], (*place, "stage"), list(CareStage))),
                condition=text(one["condition"], (*place, "condition")),
                advice=text(one["advice"], (*place, "advice")),
                caution=one["caution"],
                source=text(one["source"], (*place, "source")),
                families=frozenset(_some(one, "families", place, sorted(families))),
                disciplines=frozenset(
                    Discipline(it) for it in _some(one, "disciplines", place, list(Discipline))
                ),
                grips=frozenset(Grip(it) for it in _some(one, "grips", place, list(Grip))),
                snow=frozenset(SnowKind(it) for it in _some(one, "snow", place, list(SnowKind))),
                **{name: _yes(one, name, place) for name in YES},
            )
        )
    return tuple(rules)


def _care_facts(given: Mapping[str, Any]) -> tuple[CareFact, ...]:
    facts: list[CareFact] = []
    for step, row in enumerate(rows(given["facts"], ("facts",))):
        place: Place = ("facts", step)
        one = table(row, place, ("key", "day", "text", "source"), ("from_memory",))
        facts.append(
            CareFact(
                key=text(one["key"], (*place, "key")),
                day=day(one["day"], (*place, "day")),
                text=text(one["text"], (*place, "text")),
                source=text(one["source"], (*place, "source")),
                is_from_memory=_yes(one, "from_memory", place),
            )
        )
    if [fact.day for fact in facts] != sorted(fact.day for fact in facts):
        raise BadValue(("facts",), "facts stand in the order of their days")
    return tuple(facts)


def _yes(row: Mapping[str, Any], key: str, place: Place) -> bool:
    return yes_or_no(row.get(key, False), (*place, key))


def _some(row: Mapping[str, Any], key: str, place: Place, allowed: Sequence[str]) -> list[str]:
    if key not in row:
        return []
    return [one_of(it, (*place, key, at), allowed) for at, it in enumerate(rows(row[key], (*place, key)))]


SUGGESTED_KEYS = ("void_ml_m2", "plateau", "void_weight", "met_c", "apart_c", "corners")
# The window's parts with their bounds; what must not fall from corner to corner, or a roomier surface could be colder.
WINDOW_BOUNDS = {
    "air_low_c": (-60.0, 25.0),
    "air_high_c": (-60.0, 25.0),
    "air_soft_c": (0.0, 30.0),
    "water_low_pct": (0.0, 100.0),
    "water_high_pct": (0.0, 100.0),
    "water_soft_pct": (0.0, 100.0),
}
NEVER_FALL = ("air_low_c", "air_high_c", "water_low_pct", "water_high_pct")


def _suggested(given: Mapping[str, Any]) -> SuggestedTable:
    void = _span(given["void_ml_m2"], ("void_ml_m2",), 0.001, 500)
    plateau = _span(given["plateau"], ("plateau",), 0, 1, falls=True)
    corners: list[Corner] = []
    for step, row in enumerate(rows(given["corners"], ("corners",))):
        at: Place = ("corners", step)
        one = table(row, at, ("place", *WINDOW_BOUNDS))
        found = {key: number(one[key], (*at, key), *bounds) for key, bounds in WINDOW_BOUNDS.items()}
        place = number(one["place"], (*at, "place"), 0, 1)
        if (step == 0 and place != 0) or (corners and place <= corners[-1].place):
            raise BadValue((*at, "place"), "places rise from 0 to 1")
        for low, high in (("air_low_c", "air_high_c"), ("water_low_pct", "water_high_pct")):
            if found[low] > found[high]:
                raise BadValue((*at, low), "the window ends before it begins")
        for key in NEVER_FALL:
            if corners and found[key] < getattr(corners[-1].windows, key):
                raise BadValue((*at, key), "a more open structure is never colder or drier")
        corners.append(Corner(place, Windows(**found)))
    if corners[-1].place != 1 or len(corners) < 2:
        raise BadValue(("corners", len(corners) - 1, "place"), "places rise from 0 to 1")
    return SuggestedTable(
        void_ml_m2=void,
        plateau=plateau,
        void_weight=number(given["void_weight"], ("void_weight",), 0, 1),
        met_c=_span(given["met_c"], ("met_c",), -60, 25),
        apart_c=number(given["apart_c"], ("apart_c",), 0.5, 30),
        corners=tuple(corners),
    )


def _span(data: object, place: Place, low: float, high: float, *, falls: bool = False) -> tuple[float, float]:
    given = rows(data, place)
    if len(given) != 2:
        raise BadValue(place, "two numbers are needed")
    first, last = (number(one, (*place, step), low, high) for step, one in enumerate(given))
    if first == last or (first > last) is not falls:
        raise BadValue(place, "the second number is smaller" if falls else "the second number is larger")
    return first, last


Key = TypeVar("Key", HowOften, TrackWet, SnowKind)


def _numbers(data: object, place: Place, keys: type[Key], low: float, high: float) -> Mapping[Key, float]:
    given = table(data, place, [key.value for key in keys])
    return MappingProxyType({key: number(given[key.value], (*place, key.value), low, high) for key in keys})


def _complete(found: Mapping[SnowKind, object], keys: type[SnowKind], place: Place) -> None:
    for key in keys:
        if key not in found:
            raise BadValue(place, f"{key} is missing")


# --- places ------------------------------------------------------------------------------------------------------

TOKEN = re.compile(r'"(?:[^"\\]|\\.)*"|[\[\]{},:]|[^\s\[\]{},:"]+')


def line_of(written: str, place: Place) -> int | None:
    """The line on which the value at ``place`` begins in a text that is JSON; its nearest parent's where it is missing."""
    found: int | None = None
    deepest = -1
    for line, at in _places(written):
        if len(at) > deepest and at == place[: len(at)]:
            found, deepest = line, len(at)
    return found


def _places(written: str) -> Iterator[tuple[int, Place]]:
    """Each value of a JSON text: the line it begins on and the way to it."""
    stack: list[
        list[Any]
    ] = []  # What each open object or list holds: "{" or "[", and the key or number it is at.
    key: str | None = None
    for token in TOKEN.finditer(written):
        said = token.group()
        if said in ",:":
            if said == "," and stack[-1][0] == "[":
                stack[-1][1] += 1
            elif said == ",":
                stack[-1][1] = None
            continue
        if said in "]}":
            stack.pop()
            continue
        if stack and stack[-1][0] == "{" and stack[-1][1] is None:
            key = json.loads(said)
            stack[-1][1] = key
            continue
        yield written.count("\n", 0, token.start()) + 1, tuple(level[1] for level in stack)
        if said in "[{":
            stack.append([said, 0 if said == "[" else None])


# --- translation -------------------------------------------------------------------------------------------------


def extract_messages(
    fileobj: IO[bytes],
    keywords: object,
    comment_tags: object,
    options: object,
) -> Iterator[tuple[int, str, str, list[str]]]:
    """Every text in a reference file that people read, as (line, function, text, comments) for the extractor."""
    written = fileobj.read().decode("utf-8")
    data = json.loads(written)
    for line, place in _places(written):
        if not place:
            continue
        in_classes = place[0] == "classes" and "subclasses" in place and place[-1] == 1
        if place[-1] not in TEXT_KEYS and not in_classes:
            continue
        value = data
        for step in place:
            value = value[step]
        if isinstance(value, str) and value:
            yield line, "_", value, [dotted(place)]
