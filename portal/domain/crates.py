"""A club's delivery as it is unpacked: what becomes of each scan, and what is said of the whole in the end."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from portal.domain.words import N_, Phrase


class Outcome(StrEnum):
    """What a scanned code was."""

    FOUND = "found"
    # Found, and its base is too thin for the work.
    STOPPED = "stopped"
    ALREADY = "already"
    # It belongs to another booking, which is not over.
    ELSEWHERE = "elsewhere"
    EXTRA = "extra"
    # The code of an order's list.
    LIST = "list"
    UNKNOWN = "unknown"

    @property
    def is_good(self) -> bool:
        """Whether whoever unpacks can take the next pair without looking up."""
        return self in {Outcome.FOUND, Outcome.ALREADY, Outcome.LIST}


class ExtraState(StrEnum):
    """What became of a pair that is in a crate and not in its order."""

    NOTED = "noted"
    ADDED = "added"

    @property
    def label(self) -> str:
        return {
            ExtraState.NOTED: N_("Waits for a decision"),
            ExtraState.ADDED: N_("Added to the order"),
        }[self]


# Seen on a pair that has none of them, nobody has to be told: old wax and a worn structure are why skis come to be ground.
DAMAGE = frozenset({"burn", "delamination", "edge", "scratch", "dent"})


@dataclass(frozen=True)
class Scanned:
    """What a scan was, and what it was about: a pair, a pair of an order, a booking."""

    outcome: Outcome
    pair_id: int | None = None
    item_id: int | None = None
    booking_id: int | None = None


@dataclass(frozen=True)
class CrateTold:
    """What is said of a crate: how many of the order are here, and each pair that somebody has to know of, in words.

    ``stopped`` are (pair, number of the pair in its booking): its owner has to decide.
    """

    found: int
    of: int
    missing: tuple[str, ...] = ()
    extras: tuple[Phrase | str, ...] = ()
    damaged: tuple[tuple[str, tuple[Phrase | str, ...]], ...] = ()
    stopped: tuple[tuple[str, int], ...] = ()


def seen(conditions: Sequence[Mapping[str, str]], belongs_together: bool | None) -> bool:
    """Whether what was found when a pair came in is something to tell its owner."""
    return belongs_together is False or any(one.get("key") in DAMAGE for one in conditions)


def words_of(pair: Any) -> str:
    """A pair of a club in a list: the display name of who skis it, what it is, and its mark."""
    named = ", ".join(filter(None, (pair.title, pair.mark)))
    return f"{pair.junior.display_name}: {named}" if pair.junior else str(named)
