"""The diamonds the stone is dressed with: those of one nominal size differ, so each is measured and has its own mark."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from portal.domain.checked import Place, number, table, text


@dataclass(frozen=True)
class Diamond:
    """A diamond by the workshop's mark: nominal width and tip in mm, and its own shape where that was measured.

    The measured shape is a rounding of ``tip_radius_mm`` with a flat of ``tip_flat_mm`` between its halves.
    """

    mark: str
    nominal_width_mm: float
    nominal_tip_mm: float
    tip_radius_mm: float | None = None
    tip_flat_mm: float | None = None

    @property
    def is_measured(self) -> bool:
        return self.tip_radius_mm is not None or self.tip_flat_mm is not None

    @property
    def radius_mm(self) -> float:
        """The rounding to reckon with: as measured, or the nominal tip as long as nothing was (our own assumption)."""
        if self.is_measured:
            return self.tip_radius_mm or 0.0
        return self.nominal_tip_mm

    @property
    def flat_mm(self) -> float:
        """The flat to reckon with; a diamond that was never measured is taken to have none."""
        return self.tip_flat_mm or 0.0

    @classmethod
    def from_json(cls, data: object, place: Place = ()) -> Diamond:
        """Read the plain form; ``BadValue`` names the key that cannot be."""
        given = table(
            data, place, ("mark", "nominal_width_mm", "nominal_tip_mm"), ("tip_radius_mm", "tip_flat_mm")
        )
        return cls(
            mark=text(given["mark"], (*place, "mark")),
            nominal_width_mm=number(given["nominal_width_mm"], (*place, "nominal_width_mm"), 0.05, 20),
            nominal_tip_mm=number(given["nominal_tip_mm"], (*place, "nominal_tip_mm"), 0.01, 10),
            tip_radius_mm=_maybe(given, "tip_radius_mm", place),
            tip_flat_mm=_maybe(given, "tip_flat_mm", place),
        )


def _maybe(given: Any, key: str, place: Place) -> float | None:
    return number(given[key], (*place, key), 0, 10) if given.get(key) is not None else None
