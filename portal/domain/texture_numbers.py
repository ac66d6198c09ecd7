"""Numbers of surfaces and profiles after ISO 25178-2:2021 and ISO 21920-2:2021, for heights in µm on a regular grid.

Definitions from memory of the standards and from the formulas of open literature; "computed after", no claim of conformity:
nothing is filtered or levelled, since the surfaces are nominal.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# Areal material ratio: the defaults of ISO 25178-3, in per cent.
PEAKS_PCT, VALLEYS_PCT = 10.0, 80.0
WINDOW = 0.4
ACF_THRESHOLD = 0.2
SECTIONS = 5
# A profile element rises and falls through this share of the whole height about the mean line.
DISCRIMINATION = 0.1
DIRECTIONS = 360


class _Named:
    """Numbers by the symbols of the standard."""

    def items(self) -> list[tuple[str, float | None]]:
        """Symbol and value, in the order of the standard."""
        return [(one.name, getattr(self, one.name)) for one in fields(self)]  # type: ignore[arg-type]


@dataclass(frozen=True)
class Areal(_Named):
    """Heights and volumes in µm (1 µm is 1 mL/m²), Smrk in per cent, Sdr in per cent, Sal in µm.

    ``Str`` is ``None`` where the autocorrelation never decays in some direction, as along parallel
    grooves: the surface is strongly directional.
    """

    Sa: float
    Sq: float
    Sz: float
    Ssk: float
    Sk: float
    Spk: float
    Svk: float
    Smrk1: float
    Smrk2: float
    Vmp: float
    Vmc: float
    Vvc: float
    Vvv: float
    Sdr: float
    Sal: float | None
    Str: float | None


@dataclass(frozen=True)
class ProfileNumbers(_Named):
    """Heights in µm, RSm in µm, Rdq without unit, Rmr in per cent at the mean line; means over the profiles given."""

    Ra: float
    Rq: float
    Rsk: float
    Rz: float
    Rt: float
    RSm: float | None
    Rdq: float
    Rmr: float


@dataclass(frozen=True)
class Core:
    """The core of a material ratio curve: heights in µm and ratios in per cent."""

    height: float
    peaks: float
    valleys: float
    ratio1: float
    ratio2: float


def areal_numbers(z_um: Array, step_x_um: float, step_y_um: float, *, directional: bool = False) -> Areal:
    """The numbers of ``z_um[along, across]`` with steps in µm; the field is taken as one period of the surface.

    ``directional`` says that all lines run one way; the autocorrelation cannot tell that from a finite patch.
    """
    # The mean of many like numbers misses them by the last digit: a plane has no roughness.
    z = z_um - z_um.mean() if np.ptp(z_um) > 0 else np.zeros_like(z_um)
    sq = float(np.sqrt((z * z).mean()))
    curve = material_curve(z)
    core = material_core(curve)
    peaks, valleys = _volumes(curve)
    shortest, longest = _decay(z, step_x_um, step_y_um) if sq > 0 else (None, None)
    return Areal(
        Sa=float(np.abs(z).mean()),
        Sq=sq,
        Sz=float(curve[0] - curve[-1]),
        Ssk=float((z * z * z).mean()) / sq**3 if sq > 0 else 0.0,
        Sk=core.height,
        Spk=core.peaks,
        Svk=core.valleys,
        Smrk1=core.ratio1,
        Smrk2=core.ratio2,
        Vmp=peaks[0],
        Vmc=peaks[1] - peaks[0],
        Vvc=valleys[0] - valleys[1],
        Vvv=valleys[1],
        Sdr=_developed(z, step_x_um, step_y_um),
        Sal=shortest,
        Str=None if directional or shortest is None or longest is None else shortest / longest,
    )


# --- material ratio ----------------------------------------------------------------------------------------------


def material_curve(z_um: Array) -> Array:
    """All heights from the highest to the lowest: the areal material ratio curve, its ratios evenly spaced."""
    return np.sort(z_um, axis=None)[::-1]


def material_core(curve: Array) -> Core:
    """Sk, Spk, Svk, Smrk1 and Smrk2 (or the Rk family) of a material ratio curve.

    The secant over 40 % of the curve that falls least is found; where several fall alike, as on a flat plateau, the
    middle of the longest such run is taken. The line through that window by regression, drawn out to 0 and 100 %, gives
    the core; what stands above and lies below it becomes a triangle of the same area.
    """
    count = len(curve)
    window = max(2, round(WINDOW * count))
    falls = curve[: count - window] - curve[window:]
    start = _middle_of_longest(np.flatnonzero(falls <= falls.min() + 1e-9 * max(curve[0] - curve[-1], 1e-12)))
    ratio = (np.arange(start, start + window) + 0.5) / count
    slope, at_zero = np.polyfit(ratio, curve[start : start + window], 1)
    slope = min(float(slope), 0.0)
    upper, lower = float(at_zero), float(at_zero) + slope
    slack = 1e-9 * max(float(curve[0] - curve[-1]), 1e-12)
    above = int(np.count_nonzero(curve > upper + slack))
    below = int(np.count_nonzero(curve < lower - slack))
    peaks = 2 * float((curve[:above] - upper).sum()) / above if above else 0.0
    valleys = 2 * float((lower - curve[count - below :]).sum()) / below if below else 0.0
    # A flat plateau has a core of nothing, not of the last digit of its regression.
    core = abs(slope) if abs(slope) > slack else 0.0
    return Core(core, peaks, valleys, 100 * above / count, 100 * (1 - below / count))


def _middle_of_longest(indices: NDArray[np.intp]) -> int:
    breaks = np.flatnonzero(np.diff(indices) > 1)
    starts = np.concatenate(([0], breaks + 1))
    ends = np.concatenate((breaks, [len(indices) - 1]))
    longest = int(np.argmax(ends - starts))
    return int(indices[(starts[longest] + ends[longest]) // 2])


def _volumes(curve: Array) -> tuple[tuple[float, float], tuple[float, float]]:
    """Material volume above the levels of 10 and 80 %, and void volume below them, in µm."""
    count = len(curve)
    sums = np.concatenate(([0.0], np.cumsum(curve)))
    whole = float(sums[-1])
    material, void = [], []
    for pct in (PEAKS_PCT, VALLEYS_PCT):
        at = pct / 100 * count
        first = int(at)
        part = at - first
        level = float(np.interp(at - 0.5, np.arange(count), curve))
        upto = float(sums[first]) + part * float(curve[min(first, count - 1)])
        material.append(max(0.0, (upto - at * level) / count))
        void.append(max(0.0, ((count - at) * level - (whole - upto)) / count))
    return (material[0], material[1]), (void[0], void[1])


# --- slopes and spread -------------------------------------------------------------------------------------------


def _developed(z: Array, step_x_um: float, step_y_um: float) -> float:
    """Sdr in per cent, from the gradient between neighbours on both axes; a wall counts as steep as one step lets it."""
    zx = np.diff(z, axis=1)[:-1, :] / step_x_um
    zy = np.diff(z, axis=0)[:, :-1] / step_y_um
    return 100 * float((np.sqrt(1 + zx * zx + zy * zy) - 1).mean())


def _decay(z: Array, step_x_um: float, step_y_um: float) -> tuple[float | None, float | None]:
    """How far in µm the autocorrelation reaches before it falls to 0.2: in the fastest and in the slowest direction.

    The second is ``None`` when it does not fall that far within half the field in some direction.
    """
    spectrum = np.fft.rfft2(z)
    acf = np.fft.irfft2(spectrum.real**2 + spectrum.imag**2, s=z.shape)
    acf /= acf[0, 0]
    rows, columns = z.shape
    reach = min(rows * step_y_um, columns * step_x_um) / 2
    step = min(step_x_um, step_y_um)
    far = np.arange(0.0, reach, step)
    angles = np.arange(DIRECTIONS) * np.pi / DIRECTIONS
    at_x = far[None, :] * np.cos(angles)[:, None] / step_x_um
    at_y = far[None, :] * np.sin(angles)[:, None] / step_y_um
    along = _between(acf, at_y, at_x)
    under = along <= ACF_THRESHOLD
    falls = under.any(axis=1)
    if not falls.any():
        return None, None
    first = np.argmax(under, axis=1)[falls]
    before, after = along[falls, first - 1], along[falls, first]
    lengths = (first - 1 + (before - ACF_THRESHOLD) / np.maximum(before - after, 1e-12)) * step
    return float(lengths.min()), float(lengths.max()) if falls.all() else None


def _between(field: Array, at_y: Array, at_x: Array) -> Array:
    """Values of a periodic field between its points, bilinear."""
    rows, columns = field.shape
    low_y, low_x = np.floor(at_y).astype(int), np.floor(at_x).astype(int)
    part_y, part_x = at_y - low_y, at_x - low_x
    y0, x0 = low_y % rows, low_x % columns
    y1, x1 = (low_y + 1) % rows, (low_x + 1) % columns
    upper = field[y0, x0] * (1 - part_x) + field[y0, x1] * part_x
    lower = field[y1, x0] * (1 - part_x) + field[y1, x1] * part_x
    return np.asarray(upper * (1 - part_y) + lower * part_y)


# --- profiles ----------------------------------------------------------------------------------------------------


def profile_numbers(z_um: Array, step_um: float) -> ProfileNumbers:
    """Numbers of one or several profiles ``z_um[profile, point]`` with a step in µm, over the whole evaluation length.

    Rz is the mean height over five sections; RSm the mean width of elements that pass the mean line by a tenth of the
    height, ``None`` where there is none.
    """
    z = np.atleast_2d(z_um)
    z = z - z.mean(axis=1, keepdims=True)
    rq = np.sqrt((z * z).mean(axis=1))
    flat = rq <= 0
    skew = np.where(flat, 0.0, (z**3).mean(axis=1) / np.where(flat, 1.0, rq) ** 3)
    sections = [part.max(axis=1) - part.min(axis=1) for part in np.array_split(z, SECTIONS, axis=1)]
    slopes = np.diff(z, axis=1) / step_um
    widths = [width for width in (_element_um(row, step_um) for row in z) if width is not None]
    return ProfileNumbers(
        Ra=float(np.abs(z).mean()),
        Rq=float(rq.mean()),
        Rsk=float(skew.mean()),
        Rz=float(np.mean(sections)),
        Rt=float((z.max(axis=1) - z.min(axis=1)).mean()),
        RSm=float(np.mean(widths)) if widths else None,
        Rdq=float(np.sqrt((slopes * slopes).mean(axis=1)).mean()),
        Rmr=100 * float((z >= 0).mean()),
    )


def _element_um(z: Array, step_um: float) -> float | None:
    """Mean width of the profile elements of one profile, which is taken as a whole number of periods."""
    band = DISCRIMINATION / 2 * float(z.max() - z.min())
    side = np.where(z > band, 1, np.where(z < -band, -1, 0))
    kept = side[side != 0]
    if len(kept) == 0:
        return None
    rises = int(np.count_nonzero((kept == 1) & (np.roll(kept, 1) == -1)))
    return len(z) * step_um / rises if rises else None
