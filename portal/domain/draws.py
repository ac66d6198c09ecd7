"""Redrawn winters: the same answers in the ways they could have been meant, all scored at once."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TypeVar

import numpy as np
from numpy.random import PCG64, Generator
from numpy.typing import NDArray

from portal.domain.answers import Answers, HowOften, Humidity, TrackWet, answers_json
from portal.domain.snow_tables import Tables
from portal.domain.usual_snow import (
    AIR_C,
    KINDS,
    LEAST_LEFT,
    LEAST_SIGMA_C,
    MOST_APART_C,
    TENTH,
    WIDER,
    filled,
    occurrence,
    seed,
    water_shares,
)

Array = NDArray[np.float64]
Step = TypeVar("Step")

# So many ways are drawn.
DRAWS = 500
# How vague an answer is; all of it our own choice. A temperature that was given may be off by this many °C (one standard
# deviation), one that was left open by that many.
GIVEN_SD_C, UNSURE_SD_C = 1.0, 2.5
# How often a kind is met may be off by this factor either way (one standard deviation of its logarithm).
GIVEN_SPREAD, UNSURE_SPREAD = math.log(1.4), math.log(2.0)
# In so many of the draws air and track are the next step of their scale.
NEIGHBOUR = 0.25
HUMIDITIES = (Humidity.DRY, Humidity.ORDINARY, Humidity.HUMID)
TRACKS = (TrackWet.NEVER, TrackWet.SOMETIMES, TrackWet.OFTEN)
# Rounds of fitting from where the answers' own fit ended: a redrawn winter is near it.
ROUNDS = 10
# Where the coverage of two structures is the same, the one whose window is nearer to the days wins; per °C.
NEARNESS = 1e-9


@dataclass(frozen=True)
class Winters:
    """Many winters side by side, the first axis of every array one for each.

    ``days`` are the cold, ordinary and mild day in °C; ``wider`` how many times the colder and the milder half are
    widened because the skier was not sure; ``often`` what each kind weighs, and ``unsure`` which of those count by how
    well they go with the temperatures. ``humidity`` and ``track`` are one answer each.
    """

    days: Array
    wider: Array
    often: Array
    unsure: NDArray[np.bool_]
    humidity: tuple[Humidity, ...]
    track: tuple[TrackWet, ...]

    @classmethod
    def of(cls, many: Sequence[Answers], tables: Tables) -> Winters:
        """The winters of several answers, each exactly as answered."""
        whole = [filled(one.air_c) for one in many]
        given = [one.air_c for one in many]
        often = [[one.often(kind) for kind in KINDS] for one in many]
        return cls(
            days=np.array([(one.cold, one.ordinary, one.mild) for one in whole], dtype=float),
            wider=np.array(
                [
                    (
                        WIDER if one.cold is None or one.ordinary is None else 1.0,
                        WIDER if one.mild is None or one.ordinary is None else 1.0,
                    )
                    for one in given
                ]
            ),
            often=np.array([[tables.often[one] for one in row] for row in often]),
            unsure=np.array([[one is HowOften.UNSURE for one in row] for row in often]),
            humidity=tuple(one.humidity for one in many),
            track=tuple(one.track_wet for one in many),
        )


def seed_of(answers: Answers) -> int:
    """A number that stands for the answers, the same on every machine; where somebody skis changes nothing in it."""
    said = json.dumps(answers_json(replace(answers, place="")), sort_keys=True)
    return int.from_bytes(hashlib.sha256(said.encode()).digest()[:16], "big")


def redrawn(answers: Answers, tables: Tables, draws: int = DRAWS) -> Winters:
    """``draws`` winters that the answers could have meant; the same answers always give the same ones."""
    rng = Generator(PCG64(seed_of(answers)))
    once = Winters.of([answers], tables)
    given = answers.air_c
    spread = np.array(
        [UNSURE_SD_C if day is None else GIVEN_SD_C for day in (given.cold, given.ordinary, given.mild)]
    )
    days = np.sort(once.days + rng.standard_normal((draws, 3)) * spread, axis=1)
    spreads = np.where(once.unsure, UNSURE_SPREAD, GIVEN_SPREAD)
    often = once.often * np.exp(rng.standard_normal((draws, len(KINDS))) * spreads)
    humidity = _neighbours(HUMIDITIES, answers.humidity, rng.random(draws))
    track = _neighbours(TRACKS, answers.track_wet, rng.random(draws))
    return Winters(
        days=days,
        wider=np.broadcast_to(once.wider, (draws, 2)),
        often=often,
        unsure=np.broadcast_to(once.unsure, (draws, len(KINDS))),
        humidity=humidity,
        track=track,
    )


def _neighbours(scale: tuple[Step, ...], given: Step, chance: Array) -> tuple[Step, ...]:
    """Mostly the answer, else a step beside it; any step where the answer is not on the scale."""
    if given not in scale:
        return tuple(scale[int(one * len(scale))] for one in chance.tolist())
    at = scale.index(given)
    beside = [scale[step] for step in (at - 1, at + 1) if 0 <= step < len(scale)]
    return tuple(
        given if one >= NEIGHBOUR else beside[int(one / NEIGHBOUR * len(beside))] for one in chance.tolist()
    )


# --- many winters at once ----------------------------------------------------------------------------------------


@lru_cache(maxsize=1)
def _normal() -> tuple[Array, Array]:
    """The standard normal distribution, fine enough that a line between two points is off by less than 1e-6."""
    at = np.linspace(-9, 9, 4001)
    return at, np.array([0.5 * math.erfc(-z / math.sqrt(2)) for z in at.tolist()])


def air_shares(winters: Winters) -> Array:
    """The share of days in each 1 °C step, [winter, air]; as for one winter, with the normal distribution from a table."""
    cold, ordinary, mild = winters.days[:, :1], winters.days[:, 1:2], winters.days[:, 2:]
    below = (
        np.maximum(np.minimum(ordinary - cold, MOST_APART_C) / TENTH, LEAST_SIGMA_C) * winters.wider[:, :1]
    )
    above = (
        np.maximum(np.minimum(mild - ordinary, MOST_APART_C) / TENTH, LEAST_SIGMA_C) * winters.wider[:, 1:]
    )
    off = (AIR_C[:-1] + 0.5) - ordinary
    inner = np.interp(off / np.where(off < 0, below, above), *_normal())
    shares = np.empty((len(inner), len(AIR_C)))
    shares[:, 0] = inner[:, 0]
    np.subtract(inner[:, 1:], inner[:, :-1], out=shares[:, 1:-1])
    shares[:, -1] = 1.0 - inner[:, -1]
    return shares


def kind_shares(winters: Winters, air: Array, tables: Tables) -> Array:
    """The share of days with each kind, [winter, kind]."""
    fits = np.maximum(air @ occurrence(tables), 1e-6)
    weights = np.where(winters.unsure, winters.often * fits, winters.often)
    return np.asarray(weights / weights.sum(axis=1, keepdims=True))


def fit_many(start: Array, rows: Array, columns: Array, begin: Array, rounds: int) -> tuple[Array, Array]:
    """The scalings of the rows and columns of ``start`` to many margins at once, [winter, row] and [winter, column].

    From the column scalings ``begin`` by some rounds. The columns are then exact, the rows nearly so: enough to see which
    structure wins, no substitute for ``fit_margins``.
    """
    by_column = np.where(columns > 0, begin, 0.0)
    by_row = rows / np.maximum(by_column @ start.T, TINY)
    for _ in range(rounds):
        by_column = columns / np.maximum(by_row @ start, TINY)
        by_row = rows / np.maximum(by_column @ start.T, TINY)
    return by_row, columns / np.maximum(by_row @ start, TINY)


def as_they_can_be(by_row: Array, by_column: Array, start: Array, can: NDArray[np.bool_]) -> Array:
    """The days of many winters, [winter, kind, air], each with the kinds that can lie there: ``as_can_be`` at once.

    By sums of the scalings, so that the largest array is written once only.
    """
    possible = start * can
    air, left = by_row * (by_column @ start.T), by_row * (by_column @ possible.T)
    is_left = left > LEAST_LEFT * air
    times = by_row * np.divide(air, left, out=np.zeros_like(air), where=is_left)
    joint = by_column[:, :, None] * possible.T
    joint *= times[:, None, :]
    if not is_left.all():
        joint += by_column[:, :, None] * start.T * (by_row * ~is_left)[:, None, :]
    return np.asarray(joint)


TINY = 1e-290
# Air that no winter has on more days than this is left out: most of a winter's range is met by nobody.
HARDLY = 1e-7
# Products of so many multiplications stay on one thread; waking others costs more than they save.
ON_ONE_THREAD = 250_000


def scalings(joint: Array, start: Array) -> Array:
    """By what each column of ``start`` was multiplied to give ``joint``, up to a common factor; 1 for an empty one."""
    row = int(joint.sum(axis=1).argmax())
    found = joint[row] / start[row]
    largest = float(found.max())
    return np.where(found > 0, found / largest, 1.0)


@dataclass(frozen=True)
class Contest:
    """What is scored: how far each structure suits each cell, [structure, air, kind, water], and its air window.

    ``cells`` is how often each cell counts; a day ``half_c`` °C from the ordinary one counts half, where that is set.
    """

    suits: Array
    off_c: Array
    cells: Array
    half_c: float | None = None


def near(days_c: Array, half_c: float) -> Array:
    """How much each air temperature counts for a race, [winter, air], by how near it is to the ordinary day."""
    away = AIR_C - days_c[:, None]
    # Days so far off that nothing would be left count as the nearest ones do.
    return np.asarray(np.exp2(-((away / half_c) ** 2)) + 1e-12)


def scores(winters: Winters, contest: Contest, begin: Array, tables: Tables, rounds: int = ROUNDS) -> Array:
    """The share of the days that count which each structure suits, [winter, structure].

    Water is summed over first, once for each humidity and track, so that all winters of one are a single product.
    """
    air = air_shares(winters)
    met = np.flatnonzero(air.max(axis=0) > HARDLY)
    span = slice(int(met[0]), int(met[-1]) + 1)
    kinds_met = kind_shares(winters, air, tables)
    air = air[:, span] / air[:, span].sum(axis=1, keepdims=True)
    start = seed(tables)[span]
    by_row, by_column = fit_many(start, air, kinds_met, begin, rounds)
    can = occurrence(tables)[span] > 0
    away = None if contest.half_c is None else near(winters.days[:, 1], contest.half_c)[:, None, span]
    structures, waters = contest.suits.shape[0], contest.suits.shape[3]
    suits = contest.suits[:, span].transpose(2, 1, 3, 0).reshape(-1, waters, structures)
    found = np.empty((len(air), structures))
    at_once = max(1, ON_ONE_THREAD // (start.size * (structures + 1)))
    for variant, numbers in _by_variant(winters).items():
        wet = (water_shares(tables, *variant) * contest.cells)[span].transpose(1, 0, 2).reshape(-1, 1, waters)
        # What counts of each cell, and what of that each structure suits; the sum over water is done here.
        counts = np.concatenate([np.matmul(wet, suits)[:, 0], wet.sum(axis=2)], axis=1)
        for first in range(0, len(numbers), at_once):
            some = numbers[first : first + at_once]
            # A few winters at a time stay in the processor's own memory.
            joint = as_they_can_be(by_row[some], by_column[some], start, can)
            if away is not None:
                joint *= away[some]
            summed = joint.reshape(len(some), -1) @ counts
            found[some] = summed[:, :-1] / np.maximum(summed[:, -1:], TINY)
    return np.asarray(found - NEARNESS * (air @ contest.off_c[span]))


def _by_variant(winters: Winters) -> dict[tuple[Humidity, TrackWet], list[int]]:
    """The numbers of the winters of each humidity and track."""
    found: dict[tuple[Humidity, TrackWet], list[int]] = {}
    for number, variant in enumerate(zip(winters.humidity, winters.track, strict=True)):
        found.setdefault(variant, []).append(number)
    return found
