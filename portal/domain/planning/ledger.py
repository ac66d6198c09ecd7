"""The day ledger: minutes and pairs by layer of every slot, and the cheapest place for a piece on it.

On a day every layer is run in one go, in an order that every lot follows, so work that fits the minutes of its days can be
done: the ledger always holds a plan. The committed minutes of a slot are

    sum over layers of  run minutes x pairs  +  dressing minutes x ceil(pairs / life)

with no dressing kept overnight. In the literature: capacitated lot sizing with set-up times, big buckets (Buschkühl,
Sahling, Helber and Tempelmeier 2010, OR Spectrum 32).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

NEVER = float("inf")


class Ledger:
    """Slots with minutes; ``count[slot][layer]`` are pairs. Not safe to share between threads."""

    __slots__ = ("capacity", "count", "dress", "dressing_minutes", "free", "grinders", "life", "run")

    def __init__(
        self,
        capacity: Sequence[int],
        dress: Sequence[int],
        run: Sequence[int],
        life: Sequence[int],
        grinders: int = 1,
    ) -> None:
        self.capacity, self.grinders = tuple(capacity), grinders
        self.dress, self.run, self.life = tuple(dress), tuple(run), tuple(life)
        self.free = list(capacity)
        self.count = [[0] * len(self.dress) for _ in capacity]
        self.dressing_minutes = 0

    def dressings(self, slot: int, layer: int) -> int:
        return -(-self.count[slot][layer] // self.life[layer])

    def change(self, slot: int, layer: int, pairs: int) -> None:
        """Put ``pairs`` of a layer on a slot, or take them off where the number is below zero."""
        count, life = self.count[slot], self.life[layer]
        before = count[layer]
        count[layer] = after = before + pairs
        dressing = self.dress[layer] * (-(-after // life) + -before // life)
        self.dressing_minutes += dressing
        self.free[slot] -= pairs * self.run[layer] + dressing

    def place(self, layers: Sequence[int], pairs: int, slots: Sequence[int], by: int = 1) -> None:
        """Put a piece on its slots (``by`` 1) or take it off (``by`` -1)."""
        for layer, slot in zip(layers, slots, strict=True):
            self.change(slot, layer, by * pairs)

    def cheapest(
        self,
        layers: Sequence[int],
        pairs: int,
        window: Sequence[tuple[int, int]],
        finish: Sequence[float],
        noise: Callable[[], float] | None = None,
    ) -> tuple[float, tuple[int, ...]] | None:
        """The slots with the least added dressing minutes plus ``finish[day of the last step]``; None where nothing fits.

        Exact, by a dynamic programme over steps and days: steps that stand next to each other share a day only on the
        same grinder, and then fit its free minutes together. Of equally cheap ones the latest days.
        """
        steps, grinders = len(layers), self.grinders
        first, last = window[0][0], window[-1][1]
        if first > last:
            return None
        width = last - first + 1
        # best[b][d]: the least cost of having done b steps by the end of day first + d - 1, and where.
        best: list[list[tuple[float, tuple[int, ...]] | None]] = [[(0.0, ())] * (width + 1)]
        added = [self._added(layer, pairs, noise) for layer in layers]
        for b in range(1, steps + 1):
            row: list[tuple[float, tuple[int, ...]] | None] = [None] * (width + 1)
            ends = b == steps
            for d in range(width):
                day = first + d
                found = row[d]
                least = found[0] if found is not None else NEVER
                if ends:
                    # A finishing day has a price of its own, so an earlier one is not inherited.
                    found, least = None, NEVER
                if window[b - 1][0] <= day <= window[b - 1][1]:
                    price = finish[day] if ends else 0.0
                    for slot in range(day * grinders, (day + 1) * grinders):
                        minutes, cost, free = 0, price, self.free[slot]
                        where: tuple[int, ...] = ()
                        for a in range(b - 1, -1, -1):
                            low, high = window[a]
                            if not low <= day <= high:
                                break
                            need, dressing = added[a](slot)
                            minutes += need
                            if minutes > free:
                                break
                            cost += dressing
                            where = (slot, *where)
                            before = best[a][d]
                            if before is not None and before[0] + cost <= least:
                                least = before[0] + cost
                                found = (least, before[1] + where)
                row[d + 1] = found
            best.append(row)
        finished = [one for one in best[steps] if one is not None]
        if not finished:
            return None
        return min(reversed(finished), key=lambda one: one[0])

    def _added(
        self, layer: int, pairs: int, noise: Callable[[], float] | None
    ) -> Callable[[int], tuple[int, float]]:
        """What so many pairs more of a layer add to a slot: minutes in all, and those of dressings with some noise."""
        dress, life, spent = self.dress[layer], self.life[layer], pairs * self.run[layer]
        count = self.count

        def of(slot: int) -> tuple[int, float]:
            before = count[slot][layer]
            dressing = dress * (-(-(before + pairs) // life) + -before // life)
            return spent + dressing, dressing + noise() if noise and dressing else dressing

        return of
