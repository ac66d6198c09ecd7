"""What the stone feels along a cambered ski: the drive wheel presses the ski on the stone and drags it along as well.

Own derivation, from a balance of forces; no published source. The ski is guided level over the stone, base down and tip
first. Right above the stone the wheel presses down with F and pulls the ski forward with T = d F, where d is the share of
drag. The base is taken as a rigid parabola that arches up by h over the contact length L, so that x behind the front end
it stands ``4 h x (L - x) / L²`` above the chord, and going forward it climbs by

    tan a = 4 h (2 x - L) / L²,     from -4 h / L at the front end to +4 h / L at the rear end.

The stone holds against what comes across its face only. With the base tilted by a, F gives ``F cos a`` and T gives
``T sin a``:

    N = F cos a + T sin a = F (cos a + d sin a)

Where the base climbs in the direction it is pulled, behind the middle, the pull wedges the base on the stone and adds to
the force; where it falls, in front of the middle, the pull lifts the base off and takes some away. A ski fed tail first
is the same the other way round. ``cos a + d sin a`` is called the factor here, and a wheel that presses with F divided by
the factor gives the stone F everywhere.

A real ski flattens under the wheel, which makes the true tilt smaller: what this gives is the most that the camber does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

# Outside of these a measurement or a setting is a slip of the finger. Within them 4 h / L stays below 1, so the wheel never
# lifts the ski off the stone.
CAMBER_MM = (0.0, 60.0)
CONTACT_CM = (30, 230)
FORCE_N = (10, 2000)
DRAG_PCT = (0, 100)

# Where the zones of a machine begin, behind the front end of the contact, which is taken for the tip: common practice,
# no source. How many there are is our own choice.
ZONES_FROM_MM = 150.0
ZONES = 4
POINTS = 61


@dataclass(frozen=True)
class Camber:
    """The unloaded arch of a ski: its height and the contact length it spans, both in mm."""

    height_mm: float
    contact_mm: float


@dataclass(frozen=True)
class Wheel:
    """What the drive wheel presses with, in N, and the share of that (0 to 1) with which it drags the ski along."""

    force_n: float
    drag: float


@dataclass(frozen=True)
class Point:
    """One place along the ski: mm behind the front end, factor on the force, and wheel force in N that evens it out."""

    x_mm: float
    factor: float
    evened_n: float


@dataclass(frozen=True)
class Zone:
    """A part of the ski with one wheel force: its ends in mm behind the front end, and the values at its middle."""

    number: int
    first_mm: float
    last_mm: float
    middle: Point


@dataclass(frozen=True)
class PressureLine:
    """The force on the stone along the ski, ``points`` from the front end to the rear end, and by zones."""

    camber: Camber
    wheel: Wheel
    points: tuple[Point, ...]
    zones: tuple[Zone, ...]

    @property
    def front(self) -> Point:
        return self.points[0]

    @property
    def rear(self) -> Point:
        return self.points[-1]

    @property
    def to_the_tail(self) -> float:
        """How much the wheel force has to change from the front end to the rear end, as a part: -0.05 is 5 % less."""
        return self.rear.evened_n / self.front.evened_n - 1


def tilt(camber: Camber, x_mm: float) -> float:
    """Angle of the base in radians at ``x_mm`` behind the front end; above zero where it climbs going forward."""
    length = camber.contact_mm
    return math.atan(4 * camber.height_mm * (2 * x_mm - length) / (length * length))


def factor(camber: Camber, drag: float, x_mm: float) -> float:
    """Force on the stone over force of the wheel at ``x_mm`` behind the front end."""
    angle = tilt(camber, x_mm)
    return math.cos(angle) + drag * math.sin(angle)


def pressure_line(camber: Camber, wheel: Wheel, points: int = POINTS, zones: int = ZONES) -> PressureLine:
    """Factor and evened wheel force at ``points`` places and in equal ``zones``; ``ValueError`` for what cannot be."""
    _check(camber, wheel)

    def at(x_mm: float) -> Point:
        found = factor(camber, wheel.drag, x_mm)
        return Point(x_mm, found, wheel.force_n / found)

    length = camber.contact_mm
    wide = (length - ZONES_FROM_MM) / zones
    return PressureLine(
        camber=camber,
        wheel=wheel,
        points=tuple(at(length * step / (points - 1)) for step in range(points)),
        zones=tuple(
            Zone(
                step + 1,
                ZONES_FROM_MM + step * wide,
                ZONES_FROM_MM + (step + 1) * wide,
                at(ZONES_FROM_MM + (step + 0.5) * wide),
            )
            for step in range(zones)
        ),
    )


def _check(camber: Camber, wheel: Wheel) -> None:
    for name, value, (low, high) in (
        ("camber", camber.height_mm, CAMBER_MM),
        ("contact length", camber.contact_mm / 10, CONTACT_CM),
        ("wheel force", wheel.force_n, FORCE_N),
        ("drag", 100 * wheel.drag, DRAG_PCT),
    ):
        if not low <= value <= high:
            raise ValueError(f"{name} {value:g} is not from {low:g} to {high:g}")
