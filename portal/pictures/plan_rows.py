"""What a plan strip shows: a row for each day and grinder, and a block for each run, under words that the caller gives."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from portal.domain.planning.problem import Problem, Run, StoneLayer


@dataclass(frozen=True)
class Block:
    """One run: its label, dressings at ``dress_minutes`` each, pairs at ``pair_minutes`` each, and how many are late.

    ``each`` are the minutes of each pair in turn where they are not alike.
    """

    label: str
    dressings: int
    dress_minutes: int
    pairs: int
    pair_minutes: int
    life_pairs: int
    late_pairs: int = 0
    each: tuple[int, ...] = ()

    @property
    def minutes(self) -> int:
        return self.dressings * self.dress_minutes + self.of_pairs(0, self.pairs)

    def of_pairs(self, first: int, end: int) -> int:
        """Minutes of the pairs from one number up to another, without it."""
        return sum(self.each[first:end]) if self.each else (end - first) * self.pair_minutes


@dataclass(frozen=True)
class Row:
    """A grinder on a day; ``grinder`` is empty where there is one only."""

    day: date
    grinder: str
    minutes: int
    blocks: tuple[Block, ...]

    @property
    def used(self) -> int:
        return sum(block.minutes for block in self.blocks)

    @property
    def free(self) -> int:
        return max(0, self.minutes - self.used)

    @property
    def over(self) -> int:
        """Minutes of work that the day does not have."""
        return max(0, self.used - self.minutes)


@dataclass(frozen=True)
class Strip:
    """Rows by day, then by grinder."""

    rows: tuple[Row, ...]


def strip(
    problem: Problem,
    runs: Iterable[Run],
    labels: Mapping[str, str],
    grinders: Mapping[str, str] | None = None,
    late_lots: Collection[str] = (),
) -> Strip:
    """The rows of a plan. ``labels`` are short words for the names of layers, ``grinders`` for those of grinders.

    A name without words stands for itself; where there is one grinder and no word for it, rows leave it out.
    """
    layers = {layer.name: layer for layer in problem.layers}
    words = {one.name: one.name for one in problem.grinders} if len(problem.grinders) > 1 else {}
    words |= grinders or {}
    rows: dict[tuple[date, str], list[Block]] = {}
    for run in runs:
        block = _block(problem, run, layers[run.layer], labels.get(run.layer, run.layer), late_lots)
        rows.setdefault((run.day, run.grinder), []).append(block)
    return Strip(
        tuple(
            Row(
                day.day,
                words.get(grinder.name, ""),
                day.minutes,
                tuple(rows.get((day.day, grinder.name), ())),
            )
            for day in problem.days
            for grinder in problem.grinders
        )
    )


def _block(problem: Problem, run: Run, layer: StoneLayer, label: str, late_lots: Collection[str]) -> Block:
    late = sum(pairs for lot, pairs in run.lots if lot in late_lots)
    each = tuple(
        problem.run_minutes.get((lot, run.layer), layer.run_minutes)
        for lot, pairs in run.lots
        for _pair in range(pairs)
    )
    return Block(
        label,
        run.dressings,
        layer.dress_minutes,
        run.pairs,
        layer.run_minutes,
        layer.life_pairs,
        late,
        each if len(set(each)) > 1 or layer.run_minutes not in each else (),
    )


@dataclass(frozen=True)
class Part:
    """A stretch of minutes of a row: a dressing, or pairs that are cut one after the other."""

    begin: int
    end: int
    pairs: int


def parts(block: Block, begin: int) -> list[Part]:
    """The stretches of a block: of several dressings each one serves its pairs before the next."""
    found, at, left = [], begin, block.pairs
    for dressing in range(max(1, block.dressings)):
        if block.dressings:
            found.append(Part(at, at + block.dress_minutes, 0))
            at += block.dress_minutes
        pairs = left if dressing >= block.dressings - 1 else min(left, block.life_pairs)
        if pairs:
            done = block.pairs - left
            minutes = block.of_pairs(done, done + pairs)
            found.append(Part(at, at + minutes, pairs))
            at += minutes
        left -= pairs
    return found
