"""A pull on the edge with a dial beside it: compliance with its interval, slack, curvature, split by base."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t as student

from stickout.fem.bench.poles import FloatArray
from stickout.fem.setup.bands import Band

BoolArray = NDArray[np.bool_]

BED, POST, HOLDER = "bed", "post", "holder"
BASES: Final = (BED, POST, HOLDER)
UP, SIDEWAYS = "up", "sideways"
WAYS: Final[Mapping[str, tuple[float, float, float]]] = {UP: (0.0, 0.0, 1.0), SIDEWAYS: (0.0, 1.0, 0.0)}
READING_SD: Final = 2e-6  # m: a fifth of a division of a 0.01 mm dial
LOAD_SD: Final = 1.0  # N: a spring scale
GAIN_SD: Final = 0.015  # of the scale, common to all loads
_LEAST_LOADS: Final = 3
_LEAST_MOVE: Final = 10e-6
_RETRACE: Final = 3e-6
_WIDEST: Final = 0.40
_CONFIDENCE: Final = 0.95  # one-sided: the interval holds 90 %
_CURVED: Final = 3.0
SOURCE: Final = "measured: pulled with a scale and a dial"


@dataclass(frozen=True)
class Pull:
    """Loads and dial readings in the order they were taken, SI; places from the holder face.

    ``screw_torque`` is that of each screw of the seat, where it is known.
    """

    base: str
    load_at: float
    dial_at: float
    loads: FloatArray
    readings: FloatArray
    direction: str | None = None
    screw_torque: float | None = None


@dataclass(frozen=True)
class Line:
    """A line through readings.

    Attributes
    ----------
    slope
        Compliance [m/N].
    sd
        Its standard deviation from the scatter about the line [m/N].
    free
        Degrees of freedom of that.
    scatter
        Standard deviation of a reading about the line [m].
    offset
        Reading at no load on the way up [m].
    """

    slope: float
    sd: float
    free: int
    scatter: float
    offset: float


@dataclass(frozen=True)
class Pulled:
    """What a pull gave.

    Attributes
    ----------
    pull
        The readings.
    compliance
        90 % interval of movement at the dial over load [m/N]; None where it is refused.
    slack
        Movement before the load is carried [m].
    loop_loss
        Loss factor of the loop up and down, what the dial's own retrace would give included [-].
    notes
        What to know about it.
    refused
        Why there is no answer, or None.
    """

    pull: Pull
    compliance: Band | None
    slack: float
    loop_loss: float | None
    notes: tuple[str, ...]
    refused: str | None


def fit_line(loads: FloatArray, readings: FloatArray, *, downward: BoolArray | None = None) -> Line:
    """Return the line of least squares, the way down with its own offset.

    Parameters
    ----------
    loads
        Loads [N], shape (n,).
    readings
        Dial readings [m], shape (n,).
    downward
        Whether each reading was taken on the way down, shape (n,).

    Returns
    -------
    Line

    Source
    ------
    Least squares (computed here). [A2.ols.*]
    """
    down = np.zeros(len(loads)) if downward is None else np.asarray(downward, dtype=float)
    columns = [loads, np.ones(len(loads))] + ([down] if 0 < down.sum() < len(down) else [])
    basis = np.stack(columns, axis=1)
    weights = np.linalg.lstsq(basis, readings, rcond=None)[0]
    left = readings - basis @ weights
    free = max(len(loads) - basis.shape[1], 0)
    scatter = math.sqrt(float(left @ left) / free) if free else 0.0
    spread = float(np.linalg.pinv(basis.T @ basis)[0, 0])
    return Line(float(weights[0]), scatter * math.sqrt(spread), free, scatter, float(weights[1]))


def slope_sd(loads: FloatArray, *, slope: float, reading_sd: float, load_sd: float) -> float:
    """Return the standard deviation of a slope to expect before anything is read [m/N].

    Parameters
    ----------
    loads
        Loads [N], shape (n,).
    slope
        Compliance [m/N].
    reading_sd
        Standard deviation of a reading [m].
    load_sd
        Standard deviation of a load [N].

    Source
    ------
    Effective variance (computed here). [A2.ols.sd_a_priori, A2.design]
    """
    spread = float(((loads - loads.mean()) ** 2).sum())
    return math.sqrt((reading_sd**2 + (slope * load_sd) ** 2) / spread)


def loop_loss(half_width: float, *, compliance: float, load: float) -> float:
    """Return the loss factor of a loop: its half-width at mean load [m] over compliance times load amplitude.

    Source
    ------
    An ellipse (computed here). [A2.loop]
    """
    return half_width / (compliance * load)


def read_pull(pull: Pull) -> Pulled:
    """Return compliance, slack and curvature of a pull, or why it cannot be used.

    Parameters
    ----------
    pull
        The readings.

    Returns
    -------
    Pulled

    Source
    ------
    Errors of a 0.01 mm dial and a spring scale: common practice, no source.
    """
    loads, readings = pull.loads, pull.readings
    top = int(np.argmax(loads))
    down = np.arange(len(loads)) > top
    if len(np.unique(loads)) < _LEAST_LOADS:
        return _refusal(pull, f"fewer than {_LEAST_LOADS} different loads")
    if float(np.ptp(readings)) < _LEAST_MOVE:
        return _refusal(pull, "the dial moved less than 10 µm: pull harder, or use a finer dial")
    loaded = _beyond_slack(loads, readings, down)
    line = fit_line(loads[loaded], readings[loaded], downward=down[loaded])
    first = readings[:top][loads[:top] == 0.0]
    slack = max(line.offset - float(first[0]), 0.0) if first.size else 0.0
    notes: list[str] = []
    if slack > 2.0 * READING_SD:
        notes.append(f"it moves {1e6 * slack:.0f} µm before it carries load: slack or bedding")
    bend = _curvature(loads[loaded], readings[loaded], down[loaded])
    slope = line.slope
    if abs(bend) > 0.0:
        slope += bend
        notes.append(f"it {'loosens' if bend > 0 else 'stiffens'} with load: the slope at the top is given")
    half = _half_width(loads[loaded], line)
    if slope - half <= 0.0 or half > _WIDEST * slope:
        return _refusal(pull, "the readings scatter so much that the slope is not known to 40 %")
    band = Band(slope - half, slope, slope + half, SOURCE)
    return Pulled(pull, band, slack, _loop(loads, readings, down, slope), tuple(notes), None)


def _refusal(pull: Pull, why: str) -> Pulled:
    """Return a pull that is not used."""
    return Pulled(pull, None, 0.0, None, (), why)


def _beyond_slack(loads: FloatArray, readings: FloatArray, down: BoolArray) -> BoolArray:
    """Return which readings lie beyond the slack: all, or those under load where the rest does not fit."""
    under: BoolArray = np.asarray(loads > 0.0)
    if len(np.unique(loads[under])) < _LEAST_LOADS or under.all():
        return np.ones(len(loads), dtype=bool)
    line = fit_line(loads[under], readings[under], downward=down[under])
    gap = np.abs(readings[~under] - line.offset).max()
    return under if gap > 3.0 * max(line.scatter, READING_SD) else np.ones(len(loads), dtype=bool)


def _half_width(loads: FloatArray, line: Line) -> float:
    """Return half the 90 % interval of a slope: scatter or the dial's own error, and the scale's gain."""
    told = slope_sd(loads, slope=line.slope, reading_sd=READING_SD, load_sd=LOAD_SD)
    normal = float(student.ppf(_CONFIDENCE, 1e6))
    half = normal * told
    if line.sd > 2.0 * told and line.free:
        half = float(student.ppf(_CONFIDENCE, line.free)) * line.sd
    return math.hypot(half, normal * GAIN_SD * line.slope)


def _curvature(loads: FloatArray, readings: FloatArray, down: BoolArray) -> float:
    """Return how much the slope at the top differs from the mean one where that is sure, else 0 [m/N]."""
    if len(loads) < 6 or len(np.unique(loads)) < 4:
        return 0.0
    middle = loads - loads.mean()
    square = middle**2 - (middle**2).mean()
    columns = [middle, np.ones(len(loads)), square]
    if 0 < down.sum() < len(down):
        columns.append(down.astype(float))
    basis = np.stack(columns, axis=1)
    weights = np.linalg.lstsq(basis, readings, rcond=None)[0]
    left = readings - basis @ weights
    scatter = max(math.sqrt(float(left @ left) / max(len(loads) - basis.shape[1], 1)), 0.5 * READING_SD)
    sd = scatter * math.sqrt(float(np.linalg.pinv(basis.T @ basis)[2, 2]))
    if abs(weights[2]) < _CURVED * sd:
        return 0.0
    return float(2.0 * weights[2] * middle.max())


def _loop(loads: FloatArray, readings: FloatArray, down: BoolArray, slope: float) -> float | None:
    """Return the loss factor of the loop up and down; None where the dial's own retrace would make it."""
    if not down.any() or down.all():
        return None
    middle = float(loads.max()) / 2.0
    up = float(np.interp(middle, np.sort(loads[~down]), readings[~down][np.argsort(loads[~down])]))
    back = float(np.interp(middle, np.sort(loads[down]), readings[down][np.argsort(loads[down])]))
    half = abs(back - up) / 2.0
    return loop_loss(half, compliance=slope, load=middle) if half > _RETRACE else None
