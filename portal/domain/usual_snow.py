"""The usual snow: from answers to the share of days at each air temperature, kind of snow and liquid water class."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from portal.domain.answers import AirDays, Answers, HowOften, Humidity, TrackWet
from portal.domain.snow import SnowKind, WaterClass, most_water_pct
from portal.domain.snow_tables import Tables
from portal.domain.weather import wet_bulb_c
from portal.domain.words import N_, Phrase

Array = NDArray[np.float64]

AIR_C: Array = np.arange(-60.0, 26.0)
KINDS: tuple[SnowKind, ...] = tuple(SnowKind)

# The 90th percentile of the standard normal distribution.
TENTH = 1.2815515655446004
# Days stand apart by at least this much, so that equal answers still make a distribution.
LEAST_SIGMA_C = 0.5
# A tail longer than this, in °C between the ordinary day and one in ten, counts as this long and is asked about: two
# winters in one have no structure between them. Our own choice.
MOST_APART_C = 20.0
# Common practice, for days that the skier is not sure of: how far they lie from the ordinary day, and what that is.
UNSURE_ORDINARY_C = -5.0
UNSURE_COLDER_C = 8.0
UNSURE_MILDER_C = 6.0
# A skier who is not sure of a day gets a wider distribution on that side.
WIDER = 1.25

# A kind is hardly put where the table says that it does not occur, and the less so the farther off.
STRANGE = 1e-4
STRANGE_PER_C = 0.6
# The share of days that may be put there before we say that two answers do not go together.
MOST_STRANGE = 0.04


class Part(StrEnum):
    """The parts of a winter, by air temperature."""

    COLD = "cold"
    ORDINARY = "ordinary"
    MILD = "mild"
    THAW = "thaw"

    @property
    def label(self) -> str:
        return {
            Part.COLD: N_("Cold days"),
            Part.ORDINARY: N_("Ordinary days"),
            Part.MILD: N_("Mild days below zero"),
            Part.THAW: N_("Days above zero"),
        }[self]


class Doubt(StrEnum):
    """What kind of thing a flag says."""

    CONTRADICTION = "contradiction"
    FAR_APART = "far_apart"
    LITTLE_KNOWN = "little_known"
    PURPOSE = "purpose"


@dataclass(frozen=True)
class Flag:
    """Something about the answers that the skier should know before they trust the advice."""

    doubt: Doubt
    text: Phrase


@dataclass(frozen=True)
class UsualSnow:
    """A distribution over conditions. ``weights[air, kind, water]`` sums to 1; ``water_pct[air, water]`` goes with it.

    ``contradiction`` is the share of days that had to be put where the table says that the kind does not occur;
    ``strange`` is the same for each kind. ``days`` are the air temperatures used, with guesses where none was given.
    """

    air_c: Array
    kinds: tuple[SnowKind, ...]
    water: tuple[WaterClass, ...]
    weights: Array
    water_pct: Array
    days: AirDays
    contradiction: float
    strange: Mapping[SnowKind, float]
    flags: tuple[Flag, ...]

    def by_kind(self) -> dict[SnowKind, float]:
        """The share of days with each kind."""
        return dict(zip(self.kinds, self.weights.sum(axis=(0, 2)).tolist(), strict=True))

    def by_air(self) -> Array:
        """The share of days at each air temperature."""
        return np.asarray(self.weights.sum(axis=(1, 2)))

    def by_water(self) -> dict[str, float]:
        """The share of days in each liquid water class, by its code."""
        codes = [one.code for one in self.water]
        return dict(zip(codes, self.weights.sum(axis=(0, 1)).tolist(), strict=True))

    def part(self, part: Part) -> NDArray[np.bool_]:
        """Which air temperatures belong to a part of the winter: halfway between two answers is the bound."""
        cold, ordinary, mild = _given(self.days)
        thaw = self.air_c > 0
        below, above = (cold + ordinary) / 2, (ordinary + mild) / 2
        return {
            Part.COLD: ~thaw & (self.air_c < below),
            Part.ORDINARY: ~thaw & (self.air_c >= below) & (self.air_c <= above),
            Part.MILD: ~thaw & (self.air_c > above),
            Part.THAW: thaw,
        }[part]


def _given(days: AirDays) -> tuple[float, float, float]:
    if days.cold is None or days.ordinary is None or days.mild is None:
        raise ValueError("days without a temperature are filled first")
    return days.cold, days.ordinary, days.mild


# --- air ---------------------------------------------------------------------------------------------------------


def filled(days: AirDays) -> AirDays:
    """Days with a temperature for each that was left open; common practice, moved along with those that were given."""
    ordinary = days.ordinary
    if ordinary is None:
        if days.cold is not None and days.mild is not None:
            ordinary = (days.cold + days.mild) / 2
        elif days.cold is not None:
            ordinary = days.cold + UNSURE_COLDER_C
        elif days.mild is not None:
            ordinary = days.mild - UNSURE_MILDER_C
        else:
            ordinary = UNSURE_ORDINARY_C
    cold = ordinary - UNSURE_COLDER_C if days.cold is None else days.cold
    mild = ordinary + UNSURE_MILDER_C if days.mild is None else days.mild
    return AirDays(cold, ordinary, mild)


def split_normal_cdf(at_c: Array, days: AirDays, sigmas: tuple[float, float]) -> Array:
    """The share of days up to each temperature: halves of two normal distributions that meet at the ordinary day.

    Both halves hold half of the days, so the ordinary day is the median whatever the two widths are, and with
    ``sigmas`` from ``split_sigmas`` the cold and the mild day are the 10th and the 90th percentile exactly.
    """
    ordinary = _given(days)[1]
    below, above = sigmas
    return np.array([_phi((x - ordinary) / (below if x < ordinary else above)) for x in at_c.tolist()])


def _phi(z: float) -> float:
    return 0.5 * math.erfc(-z / math.sqrt(2))


def split_sigmas(days: AirDays) -> tuple[float, float]:
    """The widths in °C of the colder and the milder half, neither of nothing nor beyond ``MOST_APART_C``."""
    cold, ordinary, mild = _given(days)
    below, above = min(ordinary - cold, MOST_APART_C), min(mild - ordinary, MOST_APART_C)
    return max(below / TENTH, LEAST_SIGMA_C), max(above / TENTH, LEAST_SIGMA_C)


def air_shares(days: AirDays) -> Array:
    """The share of days in each 1 °C step of ``AIR_C``; what lies beyond the ends is put into the last step."""
    whole = filled(days)
    below, above = split_sigmas(whole)
    if days.cold is None or days.ordinary is None:
        below *= WIDER
    if days.mild is None or days.ordinary is None:
        above *= WIDER
    inner = split_normal_cdf(AIR_C[:-1] + 0.5, whole, (below, above))
    return np.diff(np.concatenate(([0.0], inner, [1.0])))


# --- kinds -------------------------------------------------------------------------------------------------------


@lru_cache(maxsize=8)
def occurrence(tables: Tables) -> Array:
    """How readily each kind occurs at each air temperature, [air, kind], 0 where the table says that it does not."""
    return np.column_stack(
        [
            np.interp(
                AIR_C, [air for air, _ in tables.occurs[kind]], [weight for _, weight in tables.occurs[kind]]
            )
            for kind in KINDS
        ]
    )


@lru_cache(maxsize=8)
def seed(tables: Tables) -> Array:
    """The table of occurrence with a very small weight instead of nothing, so that any two margins can be restored."""
    table = occurrence(tables)
    seeded = table.copy()
    for column in range(len(KINDS)):
        possible = AIR_C[table[:, column] > 0]
        off = np.maximum(np.maximum(possible.min() - AIR_C, AIR_C - possible.max()), 0.0)
        floor = STRANGE * STRANGE_PER_C**off
        seeded[:, column] = np.maximum(seeded[:, column], floor)
    return np.asarray(seeded)


def kind_shares(answers: Answers, air: Array, tables: Tables) -> Array:
    """The share of days with each kind, from how often it is met.

    A kind that the skier is not sure of counts by how well it goes with their temperatures, so it never contradicts.
    """
    fits = air @ occurrence(tables)
    often = [answers.often(kind) for kind in KINDS]
    weights = np.array([tables.often[one] for one in often])
    unsure = np.array([one is HowOften.UNSURE for one in often])
    weights = np.where(unsure, weights * np.maximum(fits, 1e-6), weights)
    total = float(weights.sum())
    if total <= 0:
        raise ValueError("at least one kind of snow has to be met")
    return np.asarray(weights / total)


def fit_margins(
    start: Array, rows: Array, columns: Array, tolerance: float = 1e-9, most: int = 20000
) -> Array:
    """``start`` rescaled by rows and columns in turn until its sums are ``rows`` and ``columns``.

    Iterative proportional fitting (Deming, W.E. and Stephan, F.F. 1940, Annals of Mathematical Statistics 11, 427-444).
    Stops when no sum is off by more than ``tolerance`` of the whole, or after ``most`` rounds; the columns are then exact.
    """
    table = np.array(start, dtype=float)
    total = float(rows.sum())
    if abs(total - float(columns.sum())) > 1e-9 * max(total, 1.0):
        raise ValueError("rows and columns have different totals")
    by_row = np.ones(len(rows))
    by_column = np.ones(len(columns))
    for _ in range(most):
        sums = table @ by_column
        by_row = np.divide(rows, sums, out=np.zeros_like(sums), where=sums > 0)
        sums = by_row @ table
        by_column = np.divide(columns, sums, out=np.zeros_like(sums), where=sums > 0)
        if np.abs(by_row * (table @ by_column) - rows).max() <= tolerance * total:
            break
    return np.asarray(by_row[:, None] * table * by_column[None, :])


def as_can_be(joint: Array, tables: Tables) -> Array:
    """The days of [..., kind, air] as they can be: where a kind does not occur, the other kinds that are met lie there.

    The air is left as it is. Answers that contradict each other put wet snow into hard frost to keep both margins; such
    days are shown to the skier, but no structure can be judged by them. They stay where no other kind is met at all.
    """
    can = joint * (occurrence(tables).T > 0)
    air, left = joint.sum(axis=-2, keepdims=True), can.sum(axis=-2, keepdims=True)
    is_left = left > LEAST_LEFT * air
    times = np.divide(air, left, out=np.ones_like(air), where=is_left)
    return np.asarray(np.where(is_left, can * times, joint))


# Nothing is left of a temperature when no more than this share of it is: below it lies what rounding leaves.
LEAST_LEFT = 1e-12


# --- water -------------------------------------------------------------------------------------------------------


@lru_cache(maxsize=128)
def water_shares(tables: Tables, humidity: Humidity, track: TrackWet) -> Array:
    """The share of each liquid water class, [air, kind, water], within what Moldestad (2005) measured at that air."""
    model = tables.wetness
    humidities = (
        [one for one in Humidity if one is not Humidity.UNSURE] if humidity is Humidity.UNSURE else [humidity]
    )
    shares = np.zeros((len(AIR_C), len(KINDS), len(tables.water)))
    shift = np.array([model.kind_shift_c[kind] for kind in KINDS]) + model.track_shift_c[track]
    for one in humidities:
        bulb = np.array([wet_bulb_c(air, model.humidity_pct[one]) for air in AIR_C.tolist()])
        wetness = bulb[:, None] + shift[None, :]
        least = np.ones((*wetness.shape, len(tables.water) + 1))
        least[:, :, -1] = 0.0
        for step, water in enumerate(tables.water[1:], start=1):
            least[:, :, step] = 1 / (1 + np.exp((model.onset_c[water.code] - wetness) / model.spread_c))
        # What would be wetter than anything measured counts as the wettest class that was.
        for step, water in enumerate(tables.water):
            least[:, :, step] = np.where(
                (_limits() <= water.low_pct)[:, None] & (step > 0), 0.0, least[:, :, step]
            )
        shares += (least[:, :, :-1] - least[:, :, 1:]) / len(humidities)
    return np.asarray(shares)


@lru_cache(maxsize=1)
def _limits() -> Array:
    return np.array([most_water_pct(air) for air in AIR_C.tolist()])


def water_pct(tables: Tables) -> Array:
    """The liquid water that stands for each class at each air temperature, [air, water], capped at what was measured."""
    means = np.array([water.mean_pct for water in tables.water])
    return np.asarray(np.minimum(means[None, :], _limits()[:, None]))


# --- together ----------------------------------------------------------------------------------------------------


def usual_snow(answers: Answers, tables: Tables) -> UsualSnow:
    """The usual snow of a skier; the same answers always give the same one. No answer stops it, doubts are flagged."""
    days = filled(answers.air_c)
    air = air_shares(answers.air_c)
    columns = kind_shares(answers, air, tables)
    joint = fit_margins(seed(tables), air, columns)
    joint /= joint.sum()
    weights = joint[:, :, None] * water_shares(tables, answers.humidity, answers.track_wet)
    strange = (joint * (occurrence(tables) <= 0)).sum(axis=0)
    by_kind = dict(zip(KINDS, strange.tolist(), strict=True))
    contradiction = float(strange.sum())
    return UsualSnow(
        air_c=AIR_C,
        kinds=KINDS,
        water=tables.water,
        weights=weights,
        water_pct=water_pct(tables),
        days=days,
        contradiction=contradiction,
        strange=by_kind,
        flags=doubts(answers, tables, air, contradiction, by_kind),
    )


def doubts(
    answers: Answers,
    tables: Tables,
    air: Array,
    contradiction: float,
    strange: Mapping[SnowKind, float],
) -> tuple[Flag, ...]:
    """What in the answers does not go together, and what too little is known of."""
    found = []
    if contradiction > MOST_STRANGE:
        worst = sorted(
            (kind for kind in KINDS if strange[kind] >= contradiction / 3), key=lambda kind: -strange[kind]
        )
        found += [_strange_kind(kind, answers, tables, air, strange[kind]) for kind in worst]
    found += _wet_doubts(answers, tables, air)
    cold, ordinary, mild = _given(filled(answers.air_c))
    if max(ordinary - cold, mild - ordinary) > MOST_APART_C:
        found.append(
            Flag(
                Doubt.FAR_APART,
                Phrase(
                    N_(
                        "Your days lie more than %(degrees)s °C apart, so check them. They were counted as %(degrees)s °C apart."
                    ),
                    {"degrees": f"{MOST_APART_C:g}"},
                ),
            )
        )
    unsure = sum(answers.often(kind) is HowOften.UNSURE for kind in KINDS)
    no_air = answers.air_c == AirDays()
    if no_air and unsure == len(KINDS):
        found.append(
            Flag(
                Doubt.LITTLE_KNOWN,
                Phrase(
                    N_(
                        "Little is known of your snow, so this is what suits most skiers. More answers make it yours."
                    )
                ),
            )
        )
    elif no_air:
        found.append(
            Flag(
                Doubt.LITTLE_KNOWN,
                Phrase(N_("No temperature was given, so those of an ordinary winter were taken.")),
            )
        )
    elif unsure == len(KINDS):
        found.append(
            Flag(
                Doubt.LITTLE_KNOWN,
                Phrase(N_("No kind of snow was given, so those that go with your temperatures were taken.")),
            )
        )
    return tuple(found)


def _strange_kind(kind: SnowKind, answers: Answers, tables: Tables, air: Array, share: float) -> Flag:
    possible = AIR_C[occurrence(tables)[:, KINDS.index(kind)] > 0]
    warmest, coldest = float(possible.max()), float(possible.min())
    too_warm = float(air[warmest < AIR_C].sum())
    too_cold = float(air[coldest > AIR_C].sum())
    text = (
        N_(
            "“%(kind)s: %(often)s” and your air temperatures do not go together: it is too warm for it on %(share)s of 100 days."
        )
        if too_warm > too_cold
        else N_(
            "“%(kind)s: %(often)s” and your air temperatures do not go together: it is too cold for it on %(share)s of 100 days."
        )
    )
    values = {
        "kind": Phrase(kind.label),
        "often": Phrase(answers.often(kind).label),
        "share": max(1, round(100 * share)),
    }
    return Flag(Doubt.CONTRADICTION, Phrase(text, values))


def _wet_doubts(answers: Answers, tables: Tables, air: Array) -> list[Flag]:
    """The track answer against the air and the kinds: wet tracks need days on which anything can melt."""
    found = []
    track = answers.track_wet
    can_melt = float((air * (AIR_C >= -1)).sum())
    warm = float((air * (AIR_C >= 2)).sum())
    claimed = tables.wetness.track_share[track]
    if track in (TrackWet.SOMETIMES, TrackWet.OFTEN) and can_melt < claimed / 3:
        found.append(
            Flag(
                Doubt.CONTRADICTION,
                Phrase(
                    N_(
                        "“The track goes wet: %(often)s” and your air temperatures do not go together: only %(share)s of 100 days are warm enough."
                    ),
                    {"often": Phrase(track.label), "share": round(100 * can_melt)},
                ),
            )
        )
    wet = answers.often(SnowKind.WET)
    if track is TrackWet.NEVER and wet in (HowOften.SOMETIMES, HowOften.OFTEN, HowOften.MOSTLY):
        found.append(
            Flag(
                Doubt.CONTRADICTION,
                Phrase(
                    N_("“%(kind)s: %(often)s” and a track that never goes wet do not go together."),
                    {"kind": Phrase(SnowKind.WET.label), "often": Phrase(wet.label)},
                ),
            )
        )
    if track is TrackWet.NEVER and warm > 0.5:
        found.append(
            Flag(
                Doubt.CONTRADICTION,
                Phrase(
                    N_(
                        "A track that never goes wet and your air temperatures do not go together: %(share)s of 100 days are well above zero."
                    ),
                    {"share": round(100 * warm)},
                ),
            )
        )
    return found
