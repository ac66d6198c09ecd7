"""Timed runs: two pairs over the same stretch, and by how much one was faster, with how far that can be trusted."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from portal.domain.conditions import Outcome
from portal.domain.intervals import mean_interval, welch_interval
from portal.domain.words import N_, Phrase

# Rigs for gliding resolve 0.5 to 2.5 %: 0.6 to 1.1 % with a tester for whole skis (Lemmettylä et al. 2021, Frontiers in
# Mechanical Engineering 7:661947). What lies within 1 % is a tie.
TIE_PCT = 1.0
# A structure was seen to make next to nothing up to almost 10 % of a skier's speed (Moldestad 1999, Dr.ing. thesis, NTNU).
FAR_PCT = 10.0
# Runs of one pair that differ by more than this had a fall, a stop or a slip of the finger among them. Our own choice.
UNSTEADY_PCT = 25.0
LEAST_RUNS, MOST_RUNS = 2, 20
SHORTEST_S, LONGEST_S = 1.0, 3600.0


@dataclass(frozen=True)
class Difference:
    """By how many per cent a pair was faster than the other (below zero: slower), and where that lies with 95 %."""

    pct: float
    low_pct: float
    high_pct: float

    @property
    def is_unclear(self) -> bool:
        """Whether a clear win and a clear loss are both within what the runs allow."""
        return _log(self.low_pct) < -_log(TIE_PCT) and _log(self.high_pct) > _log(TIE_PCT)

    @property
    def is_far(self) -> bool:
        """Whether it is more than any structure was measured to make on snow."""
        return abs(_log(self.pct)) > _log(FAR_PCT)

    @property
    def outcome(self) -> Outcome:
        """Faster or slower only where the whole interval lies beyond the tie."""
        if _log(self.low_pct) > _log(TIE_PCT):
            return Outcome.FASTER
        return Outcome.SLOWER if _log(self.high_pct) < -_log(TIE_PCT) else Outcome.SAME

    @property
    def mirrored(self) -> Difference:
        """The same as seen from the other pair."""
        pct, high, low = (_pct(-_log(one)) for one in (self.pct, self.low_pct, self.high_pct))
        return Difference(pct, low, high)


@dataclass(frozen=True)
class TimedRuns:
    """Seconds of the runs of a pair and of the other; ``in_turn`` when they were run one after the other in turn."""

    own: tuple[float, ...]
    other: tuple[float, ...]
    in_turn: bool

    @property
    def is_unsteady(self) -> bool:
        """Whether runs of one pair differ by more than snow and skis do."""
        return any(max(runs) > min(runs) * (1 + UNSTEADY_PCT / 100) for runs in (self.own, self.other))

    @property
    def difference(self) -> Difference:
        """From the logarithms of the times, whose differences are ratios (Bland and Altman 1996, BMJ 312, 1153; from memory).

        Runs in turn share the snow and the wind of their moment, so each is held against its neighbour (Student's
        interval of the mean); runs one pair after the other are two samples of their own (Welch's).
        """
        own, other = ([math.log(one) for one in runs] for runs in (self.own, self.other))
        found = (
            mean_interval([theirs - mine for mine, theirs in zip(own, other, strict=True)])
            if self.in_turn
            else welch_interval(other, own)
        )
        return Difference(*(_pct(one) for one in found))

    @property
    def is_doubtful(self) -> bool:
        """Whether something was rather typed or run amiss: worth asking once before it is kept."""
        return self.is_unsteady or self.difference.is_far

    @property
    def mirrored(self) -> TimedRuns:
        """The same as seen from the other pair."""
        return TimedRuns(self.other, self.own, self.in_turn)

    def to_json(self) -> dict[str, Any]:
        """A plain form for a database column; what was worked out stands beside the times, for whoever reads the rows."""
        found = self.difference
        return {
            "own_s": list(self.own),
            "other_s": list(self.other),
            "in_turn": self.in_turn,
            "pct": [round(one, 3) for one in (found.pct, found.low_pct, found.high_pct)],
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> TimedRuns:
        """The runs again, from their plain form."""
        return cls(tuple(data["own_s"]), tuple(data["other_s"]), bool(data["in_turn"]))


# Beyond this a percentage is a slip of the finger, and the power of e would have no number.
_FARTHEST = 10.0


def _log(pct: float) -> float:
    return math.log(1 + pct / 100) if pct > -100 else -_FARTHEST


def _pct(log: float) -> float:
    return 100 * math.expm1(min(_FARTHEST, max(-_FARTHEST, log)))


_TIME = re.compile(r"(?:(\d{1,2}):)?(\d{1,4})(?:[.,](\d{1,3}))?")
_MINUTES = re.compile(r"(?<=\d):(?=\d)")
_UNIT = re.compile(r"(?<=\d)\s*(?:seconds|second|sec|s)\b", re.IGNORECASE)
ASK = N_("Write the times of this pair in seconds, such as 12.41 12.52 12.38")


def colons_as_points(written: str) -> str:
    """The same times with seconds and hundredths where minutes and seconds were written: 12:41 becomes 12.41."""
    return _MINUTES.sub(".", written)


def read_times(written: str) -> tuple[float, ...] | Phrase:
    """Seconds as people write them, or what to do about it; nothing for an empty line.

    Spaces, semicolons, slashes, line ends and commas with a space part the times; a comma within one is a decimal comma,
    unless points are the decimal marks; ``1:02.5`` is a minute and 2.5 seconds.
    """
    text = _UNIT.sub("", written)
    if "." in text:
        text = text.replace(",", " ")
    parts = [part for part in re.split(r"[\s;/]+|,\s+|,$", text) if part]
    found = []
    for part in parts:
        match = _TIME.fullmatch(part)
        if match is None:
            return Phrase(ASK)
        minutes, whole, rest = match.groups()
        found.append(60 * int(minutes or 0) + float(f"{whole}.{rest or 0}"))
    if not found:
        return ()
    if not all(SHORTEST_S <= one <= LONGEST_S for one in found):
        return Phrase(
            N_("Write times from %(least)s to %(most)s seconds"),
            {"least": f"{SHORTEST_S:g}", "most": f"{LONGEST_S:g}"},
        )
    if not LEAST_RUNS <= len(found) <= MOST_RUNS:
        return Phrase(
            N_("Write the times of %(least)s to %(most)s runs of this pair"),
            {"least": LEAST_RUNS, "most": MOST_RUNS},
        )
    return tuple(found)
