"""What a skier told us in the snow questions, and its JSON form, read strictly and named by place when wrong."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType
from typing import Any, TypeVar

from portal.domain.snow import SnowKind
from portal.domain.words import N_, Phrase

COLDEST_C = -60.0
WARMEST_C = 25.0
PLACE_MOST = 80


class Humidity(StrEnum):
    """How the air feels where the skier skis."""

    DRY = "dry"
    ORDINARY = "ordinary"
    HUMID = "humid"
    UNSURE = "unsure"

    @property
    def label(self) -> str:
        return {
            Humidity.DRY: N_("Dry"),
            Humidity.ORDINARY: N_("Neither dry nor humid"),
            Humidity.HUMID: N_("Humid"),
            Humidity.UNSURE: N_("I am not sure"),
        }[self]


class HowOften(StrEnum):
    """How often a skier meets a kind of snow."""

    NEVER = "never"
    SOMETIMES = "sometimes"
    OFTEN = "often"
    MOSTLY = "mostly"
    UNSURE = "unsure"

    @property
    def label(self) -> str:
        return {
            HowOften.NEVER: N_("Never"),
            HowOften.SOMETIMES: N_("Now and then"),
            HowOften.OFTEN: N_("Often"),
            HowOften.MOSTLY: N_("Mostly"),
            HowOften.UNSURE: N_("I am not sure"),
        }[self]


class TrackWet(StrEnum):
    """Whether the track goes wet under the skis."""

    NEVER = "never"
    SOMETIMES = "sometimes"
    OFTEN = "often"
    UNSURE = "unsure"

    @property
    def label(self) -> str:
        return {
            TrackWet.NEVER: N_("Never"),
            TrackWet.SOMETIMES: N_("Now and then"),
            TrackWet.OFTEN: N_("Often"),
            TrackWet.UNSURE: N_("I am not sure"),
        }[self]


class Discipline(StrEnum):
    """What a pair is skied in."""

    CLASSIC = "classic"
    SKATE = "skate"

    @property
    def label(self) -> str:
        return {Discipline.CLASSIC: N_("Classic"), Discipline.SKATE: N_("Skate")}[self]


class Purpose(StrEnum):
    """What a pair is for."""

    ALL_ROUND = "all_round"
    RACE = "race"
    SPECIAL = "special"

    @property
    def label(self) -> str:
        return {
            Purpose.ALL_ROUND: N_("All my skiing"),
            Purpose.RACE: N_("Races"),
            Purpose.SPECIAL: N_("One kind of snow"),
        }[self]


class Weakness(StrEnum):
    """What the last structure did badly."""

    SLOW_COLD = "slow_cold"
    DRAGGED_WET = "dragged_wet"
    ICED_UP = "iced_up"
    WORE_SMOOTH = "wore_smooth"
    HARD_TO_STEER = "hard_to_steer"

    @property
    def label(self) -> str:
        return {
            Weakness.SLOW_COLD: N_("Slow in cold new snow"),
            Weakness.DRAGGED_WET: N_("Dragged in wet snow"),
            Weakness.ICED_UP: N_("Iced up or clogged near zero"),
            Weakness.WORE_SMOOTH: N_("Wore smooth quickly"),
            Weakness.HARD_TO_STEER: N_("Hard to steer on ice"),
        }[self]


@dataclass(frozen=True)
class AirDays:
    """Air temperature in °C on a cold, an ordinary and a mild day; ``None`` where the skier is not sure."""

    cold: float | None = None
    ordinary: float | None = None
    mild: float | None = None


def _all_unsure() -> Mapping[SnowKind, HowOften]:
    return MappingProxyType(dict.fromkeys(SnowKind, HowOften.UNSURE))


@dataclass(frozen=True)
class Answers:
    """The answers to all snow questions; an empty one says "I am not sure" to everything."""

    air_c: AirDays = field(default_factory=AirDays)
    humidity: Humidity = Humidity.UNSURE
    snow: Mapping[SnowKind, HowOften] = field(default_factory=_all_unsure)
    track_wet: TrackWet = TrackWet.UNSURE
    discipline: Discipline | None = None
    purpose: Purpose = Purpose.ALL_ROUND
    special_kind: SnowKind | None = None
    weak: tuple[Weakness, ...] = ()
    place: str = ""

    def often(self, kind: SnowKind) -> HowOften:
        """How often a kind is met; a kind that was left out is unsure."""
        return self.snow.get(kind, HowOften.UNSURE)


class BadAnswers(Exception):
    """The JSON form cannot be read; ``problems`` names each fault by its dotted key, in the order they stand."""

    def __init__(self, problems: tuple[tuple[str, Phrase], ...]) -> None:
        self.problems = problems
        super().__init__("; ".join(f"{key}: {reason}" for key, reason in problems))


NO_NUMBER = N_("A number in °C is needed.")
OUT_OF_REACH = N_("A temperature from %(low)s to %(high)s °C is needed.")
WRONG_ORDER = N_(
    "A cold day cannot be warmer than an ordinary one, nor an ordinary day warmer than a mild one."
)
UNKNOWN_KEY = N_("This key is not known.")
NO_OBJECT = N_("An object with keys is needed.")
NOT_ONE_OF = N_("One of these is needed: %(choices)s.")
ALL_NEVER = N_("At least one kind of snow has to be met.")

Choice = TypeVar("Choice", bound=StrEnum)


class _Reader:
    """Collects every fault of one document, so that all are named at once."""

    def __init__(self) -> None:
        self.problems: list[tuple[str, Phrase]] = []

    def blame(self, key: str, text: str, **values: object) -> None:
        self.problems.append((key, Phrase(text, values)))

    def table(self, data: object, key: str, known: set[str]) -> Mapping[str, Any]:
        if data is None and key:
            return {}
        if not isinstance(data, Mapping):
            self.blame(key or "(whole)", NO_OBJECT)
            return {}
        for name in data:
            if name not in known:
                self.blame(f"{key}.{name}" if key else str(name), UNKNOWN_KEY)
        return data

    def choice(self, kind: type[Choice], data: object, key: str, default: Choice) -> Choice:
        if isinstance(data, str) and data in list(kind):
            return kind(data)
        self.blame(key, NOT_ONE_OF, choices=", ".join(kind))
        return default

    def temperature(self, data: object, key: str) -> float | None:
        if data is None:
            return None
        if isinstance(data, bool) or not isinstance(data, int | float):
            self.blame(key, NO_NUMBER)
            return None
        # A whole number too long for a float is only compared, never converted.
        if isinstance(data, float) and math.isnan(data):
            self.blame(key, NO_NUMBER)
            return None
        if not COLDEST_C <= data <= WARMEST_C:
            self.blame(key, OUT_OF_REACH, low=f"{COLDEST_C:g}", high=f"{WARMEST_C:g}")
            return None
        return float(data)

    def air(self, data: object) -> AirDays:
        given = self.table(data, "air_c", {"cold", "ordinary", "mild"})
        days = AirDays(
            *(self.temperature(given.get(name), f"air_c.{name}") for name in ("cold", "ordinary", "mild"))
        )
        if not is_in_order(days):
            self.blame("air_c", WRONG_ORDER)
        return days

    def snow(self, data: object) -> Mapping[SnowKind, HowOften]:
        given = self.table(data, "snow", set(SnowKind))
        met = {
            kind: self.choice(HowOften, given[kind.value], f"snow.{kind}", HowOften.UNSURE)
            if kind.value in given
            else HowOften.UNSURE
            for kind in SnowKind
        }
        if all(often is HowOften.NEVER for often in met.values()):
            self.blame("snow", ALL_NEVER)
        return MappingProxyType(met)

    def weak(self, data: object) -> tuple[Weakness, ...]:
        if not isinstance(data, list):
            self.blame("weak", N_("A list is needed."))
            return ()
        named = [
            self.choice(Weakness, one, f"weak[{number}]", Weakness.SLOW_COLD)
            for number, one in enumerate(data)
        ]
        return tuple(one for one in Weakness if one in named)

    def place(self, data: object) -> str:
        if not isinstance(data, str) or len(data) > PLACE_MOST:
            self.blame("place", N_("A text of at most %(most)s characters is needed."), most=PLACE_MOST)
            return ""
        return data.strip()


def is_in_order(days: AirDays) -> bool:
    """Whether the days that were given run from cold to mild; equal ones are allowed."""
    given = [value for value in (days.cold, days.ordinary, days.mild) if value is not None]
    return given == sorted(given)


KEYS = {"air_c", "humidity", "snow", "track_wet", "discipline", "purpose", "special_kind", "weak", "place"}


def parse_answers(data: object) -> Answers:
    """Answers from their JSON form; a key that is missing means "I am not sure". ``BadAnswers`` names all faults."""
    reader = _Reader()
    given = reader.table(data, "", KEYS)
    answers = Answers(
        air_c=reader.air(given.get("air_c")),
        humidity=reader.choice(Humidity, given.get("humidity", "unsure"), "humidity", Humidity.UNSURE),
        snow=reader.snow(given.get("snow")),
        track_wet=reader.choice(TrackWet, given.get("track_wet", "unsure"), "track_wet", TrackWet.UNSURE),
        discipline=None
        if given.get("discipline") is None
        else reader.choice(Discipline, given["discipline"], "discipline", Discipline.CLASSIC),
        purpose=reader.choice(Purpose, given.get("purpose", "all_round"), "purpose", Purpose.ALL_ROUND),
        special_kind=None
        if given.get("special_kind") is None
        else reader.choice(SnowKind, given["special_kind"], "special_kind", SnowKind.NEW),
        weak=reader.weak(given.get("weak", [])),
        place=reader.place(given.get("place", "")),
    )
    if reader.problems:
        raise BadAnswers(tuple(reader.problems))
    return answers


def answers_json(answers: Answers) -> dict[str, Any]:
    """The JSON form, which ``parse_answers`` reads back to the same answers."""
    return {
        "air_c": {"cold": answers.air_c.cold, "ordinary": answers.air_c.ordinary, "mild": answers.air_c.mild},
        "humidity": answers.humidity.value,
        "snow": {kind.value: answers.often(kind).value for kind in SnowKind},
        "track_wet": answers.track_wet.value,
        "discipline": answers.discipline.value if answers.discipline else None,
        "purpose": answers.purpose.value,
        "special_kind": answers.special_kind.value if answers.special_kind else None,
        "weak": [weakness.value for weakness in answers.weak],
        "place": answers.place,
    }
