"""Lots cut into parts: by what is frozen of them, by where they stood, or by the way that each of their pairs goes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

# Slots of the steps of a lot; None for those that are not known.
Slots = tuple[int | None, ...]
# Pairs, the slots on which their steps are frozen, and those on which they stand or stood otherwise.
Part = tuple[int, Slots, Slots]
# Pairs that go the same way, and its slots.
Path = tuple[int, tuple[int, ...]]
Counts = Mapping[int, int]


def can_follow(slot: int, after: int, grinders: int) -> bool:
    """Whether a step may stand on ``after`` when the one before it stands on a slot: later, or on the same grinder."""
    return after == slot or after // grinders > slot // grinders


def cut_up(
    pairs: int, frozen: Sequence[Counts], stood: Sequence[Counts], most: int, grinders: int
) -> list[Part]:
    """Parts of so many pairs, none with more than ``most``; pairs by slot of each step that are frozen and that stood."""
    nowhere: Slots = (None,) * len(frozen)
    parts: list[Part] = [(pairs, nowhere, nowhere)]
    for step, held in enumerate(frozen):
        for slot, count in sorted(held.items()):
            parts = _stand(parts, step, slot, count, grinders, frozen=True)
    for step, counts in enumerate(stood):
        for slot, count in sorted(counts.items()):
            there = sum(many for many, fixed, _home in parts if fixed[step] == slot)
            parts = _stand(parts, step, slot, count - there, grinders, frozen=False)
    return _no_more_than(most, parts)


def _no_more_than(most: int, parts: list[Part]) -> list[Part]:
    cut = []
    for many, fixed, home in parts:
        count = -(-many // most)
        # As even as can be: 9 become 5 and 4 rather than 8 and 1.
        cut += [(many // count + (at < many % count), fixed, home) for at in range(count)]
    return cut


def follow(pairs: int, frozen: Sequence[Counts], paths: Sequence[Path], most: int) -> list[Part]:
    """Parts that stand where ``paths`` lead, and those pairs of the lot that have no place."""
    nowhere: Slots = (None,) * len(frozen)
    parts: list[Part] = [(count, nowhere, slots) for count, slots in paths]
    left = pairs - sum(count for count, _slots in paths)
    if left:
        parts.append((left, nowhere, nowhere))
    for step, held in enumerate(frozen):
        for slot, count in sorted(held.items()):
            parts = _freeze(parts, step, slot, count)
    return _no_more_than(most, parts)


def _stand(parts: list[Part], step: int, slot: int, pairs: int, grinders: int, *, frozen: bool) -> list[Part]:
    """Let a step of so many pairs stand on a slot, first of those whose step before stands, the earliest of them first."""

    def turn(part: Part) -> tuple[int, int]:
        _count, fixed, home = part
        before = (fixed[step - 1] if home[step - 1] is None else home[step - 1]) if step else None
        if before is None:
            return (1, 0)
        if before == slot and grinders > 1:
            # On this day these can only stay on this grinder, while those from before can go to any.
            return (0, -1)
        return (0 if can_follow(before, slot, grinders) else 2, before)

    left, after = pairs, []
    for count, fixed, home in sorted(parts, key=turn):
        taken = max(0, min(count, left)) if fixed[step] is None and home[step] is None else 0
        if taken:
            after.append(
                (taken, _at(fixed, step, slot), home) if frozen else (taken, fixed, _at(home, step, slot))
            )
            left -= taken
        if count > taken:
            after.append((count - taken, fixed, home))
    return after


def _freeze(parts: list[Part], step: int, slot: int, pairs: int) -> list[Part]:
    """Freeze a step of so many pairs on the slot on which it stands; of those that have no place, where it does not."""
    left, after = pairs, []
    for count, fixed, home in sorted(parts, key=lambda part: part[2][step] is None):
        taken = min(count, left) if home[step] in {slot, None} and fixed[step] is None else 0
        if taken:
            after.append((taken, _at(fixed, step, slot), _at(home, step, None)))
            left -= taken
        if count > taken:
            after.append((count - taken, fixed, home))
    return after


def _at(slots: Slots, step: int, slot: int | None) -> Slots:
    return (*slots[:step], slot, *slots[step + 1 :])
