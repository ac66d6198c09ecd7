"""The day ledger: minutes and pairs by layer of every slot, and the cheapest place for a piece on it.

On a day every layer is run in one go, in an order that every lot follows, so work that fits the minutes of its days can be
done: the ledger always holds a plan. The committed minutes of a slot are

    sum over layers of  run minutes of its pairs  +  dressing minutes x ceil(pairs / life)

with no dressing kept overnight. The run minutes of a pair come with it, since extras make one pair longer than another. In the literature: capacitated lot sizing with set-up times, big buckets (Buschkühl,
Sahling, Helber and Tempelmeier 2010, OR Spectrum 32).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

NEVER = float("inf")
Way = tuple[Any, int, int] | None


class Ledger:
    """Slots with free minutes; ``count[slot][layer]`` are pairs. Not safe to share between threads."""

    __slots__ = ("count", "dress", "dressing_minutes", "free", "grinders", "life")

    def __init__(
        self,
        capacity: Sequence[int],
        dress: Sequence[int],
        life: Sequence[int],
        grinders: int = 1,
    ) -> None:
        self.grinders = grinders
        self.dress, self.life = tuple(dress), tuple(life)
        self.free = list(capacity)
        self.count = [[0] * len(self.dress) for _ in capacity]
        self.dressing_minutes = 0

    def change(self, slot: int, layer: int, pairs: int, minutes: int) -> None:
        """Put ``pairs`` of a layer, each of so many run minutes, on a slot; take them off where the number is below zero."""
        count, life = self.count[slot], self.life[layer]
        before = count[layer]
        count[layer] = after = before + pairs
        dressing = self.dress[layer] * (-(-after // life) + -before // life)
        self.dressing_minutes += dressing
        self.free[slot] -= pairs * minutes + dressing

    def place(
        self, layers: Sequence[int], minutes: Sequence[int], pairs: int, slots: Sequence[int], by: int = 1
    ) -> None:
        """Put a piece on its slots (``by`` 1) or take it off (``by`` -1); layers, run minutes and slots of each step."""
        for layer, spent, slot in zip(layers, minutes, slots, strict=True):
            self.change(slot, layer, by * pairs, spent)

    def cheapest(
        self,
        layers: Sequence[int],
        minutes: Sequence[int],
        pairs: int,
        window: Sequence[tuple[int, int]],
        finish: Sequence[float],
        noise: Callable[[], float] | None = None,
        charges: Sequence[tuple[float, Mapping[int, float]]] | None = None,
    ) -> tuple[float, tuple[int, ...]] | None:
        """The slots with the least added dressing minutes plus ``finish[day of the last step]``; None where nothing fits.

        ``finish`` never falls from day to day. Exact, by a dynamic programme over days and steps: steps that stand next
        to each other share a day only on the same grinder, and then fit its free minutes together. Of equally cheap ones
        the latest days. ``noise`` makes dressings dearer by chance; ``charges`` are minutes that each step costs besides, on
        any slot and on those that are named.
        """
        steps, grinders = len(layers), self.grinders
        # The least cost of having so many steps done by the evening before, and the way there: (way before, slot, steps).
        cost: list[float] = [0.0, *[NEVER] * (steps - 1)]
        way: list[Way] = [None] * steps
        best, best_day, best_way = NEVER, -1, None
        for day in range(window[0][0], window[-1][1] + 1):
            price = finish[day]
            if price > best:
                break
            cost_then, way_then = cost.copy(), way.copy()
            for slot in range(day * grinders, (day + 1) * grinders):
                free = self.free[slot]
                added: list[tuple[int, float]] = []
                for begin in range(steps):
                    if cost[begin] == NEVER or window[begin][0] > day:
                        break
                    spent, total = 0, cost[begin]
                    for step in range(begin, steps):
                        low, high = window[step]
                        if not low <= day <= high:
                            break
                        if len(added) <= step:
                            # Steps before the first that is open today are never asked for.
                            added += [(0, 0.0)] * (step - len(added))
                            more = self._added(slot, layers[step], minutes[step], pairs, noise)
                            if charges is not None:
                                anywhere, there = charges[step]
                                more = more[0], more[1] + there.get(slot, anywhere)
                            added.append(more)
                        spent += added[step][0]
                        if spent > free:
                            break
                        total += added[step][1]
                        done = step + 1
                        # Of equals the later day, and on a day the way that has done less on the days before.
                        if done == steps:
                            if total + price < best or (
                                total + price == best and (not begin or best_day < day)
                            ):
                                best, best_day = total + price, day
                                best_way = (way[begin], slot, done - begin)
                        elif total < cost_then[done] or (
                            total == cost_then[done] and (not begin or way_then[done] is way[done])
                        ):
                            cost_then[done], way_then[done] = total, (way[begin], slot, done - begin)
            cost, way = cost_then, way_then
        return (best, _slots(best_way)) if best_way is not None else None

    def _added(
        self, slot: int, layer: int, minutes: int, pairs: int, noise: Callable[[], float] | None
    ) -> tuple[int, float]:
        """What so many pairs more of a layer add to a slot: minutes in all, and those of dressings with some noise."""
        before, life = self.count[slot][layer], self.life[layer]
        dressing = self.dress[layer] * (-(-(before + pairs) // life) + -before // life)
        return pairs * minutes + dressing, dressing + noise() if noise and dressing else dressing


def _slots(way: Way) -> tuple[int, ...]:
    slots: list[int] = []
    while way is not None:
        way, slot, steps = way
        slots += [slot] * steps
    return tuple(reversed(slots))
