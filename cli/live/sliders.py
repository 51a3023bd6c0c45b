"""The sliders of the live page: which keys of a set-up can be dragged, how far, in which steps."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any, Final

from stickout.fem.setup.parts import Setup
from stickout.fem.units import MM_PER_INCH

SPEED: Final = "speed"  # no key of the file: which of the user's spindle speeds is looked at
# Steps for a size of so many mm: tens of the size would be too coarse, hundredths too fine.
_STEPS_MM: Final = (0.01, 0.02, 0.05, 0.1, 0.25, 0.5, 1.0)
_STEPS_INCH: Final = (0.0005, 0.001, 0.002, 0.005, 1 / 64, 1 / 32, 1 / 16)
_PIECES: Final = 60
_DUST: Final = 1e-9
_THIN_SECTIONS: Final = {"square": ("width", "Width"), "rectangle": ("height", "Height")}


@dataclass(frozen=True)
class Slider:
    """One slider, in the set-up file's own units.

    Attributes
    ----------
    key
        Dotted key of the set-up file, or ``speed``.
    name
        What it is called.
    unit
        Unit of its numbers.
    low, high, step, value
        Ends, step and where it stands.
    """

    key: str
    name: str
    unit: str
    low: float
    high: float
    step: float
    value: float


def sliders_of(setup: Setup) -> list[dict[str, Any]]:
    """Return the sliders that a set-up has, as plain data, the most telling first."""
    return [asdict(one) for one in _sliders(setup)]


def _sliders(setup: Setup) -> Iterator[Slider]:
    """Yield the sliders."""
    bar, cut, units = setup.bar, setup.cut, setup.units
    yield _length("bar.overhang", "Overhang", bar.overhang_mm, units, span=(0.4, 2.0))
    key, name = _THIN_SECTIONS.get(bar.section, ("diameter", "Diameter"))
    size = getattr(bar, f"{key}_mm")
    if size:
        yield _length(f"bar.{key}", name, size, units, span=(0.5, 1.6))
    if bar.section == "flatted" and bar.across_flats_mm:
        yield _length("bar.across_flats", "Across flats", bar.across_flats_mm, units, span=(0.7, 1.1))
    if bar.section in ("flatted", "rectangle"):
        yield Slider("bar.rotation_deg", "Angle of flats", "°", -90.0, 90.0, 5.0, bar.rotation_deg)
    if setup.shim is not None:
        yield _length("shim.thickness", "Shim", setup.shim.thickness_mm, units, span=(0.2, 3.0))
    if setup.wrap is not None and setup.turns is None:
        yield _length("wrap.thickness", "Wrap", setup.wrap.thickness_mm, units, span=(0.2, 2.0))
    if cut is not None and cut.depth_mm:
        yield _length("cut.depth", "Depth of cut", cut.depth_mm, units, span=(0.1, 4.0))
    if cut is not None and cut.nose_radius_mm:
        yield _length("cut.nose_radius", "Nose radius", cut.nose_radius_mm, units, span=(0.25, 3.0))
    if cut is not None and cut.speeds_rpm:
        yield _speed(cut.speeds_rpm)


def _length(key: str, name: str, size_mm: float, units: str, *, span: tuple[float, float]) -> Slider:
    """Return the slider of a length from ``span`` times its value."""
    scale, unit, steps = (MM_PER_INCH, "in", _STEPS_INCH) if units == "inch" else (1.0, "mm", _STEPS_MM)
    size = size_mm / scale
    wide = size * (span[1] - span[0])
    step = next((one for one in reversed(steps) if wide / one >= _PIECES / 2), steps[0])
    low, high = _steps_from(size, span[0] * size, high=span[1] * size, step=step)
    return Slider(key, name, unit, _neat(low), _neat(high), _neat(step), _neat(size))


def _steps_from(value: float, low: float, *, high: float, step: float) -> tuple[float, float]:
    """Return the ends, whole steps from the value itself, so that the slider can come back to it."""
    below, above = math.floor((value - low) / step + _DUST), math.floor((high - value) / step + _DUST)
    return value - step * below, value + step * max(1, above)


def _speed(speeds: tuple[float, ...]) -> Slider:
    """Return the slider of the spindle speed, over the user's own range."""
    low, high = min(speeds), max(speeds)
    if high == low:
        low, high = 0.5 * low, 2.0 * high
    step = 10.0 if high - low > 200 else 1.0
    middle = sorted(speeds)[len(speeds) // 2]
    low, high = _steps_from(middle, low, high=high, step=step)
    return Slider(SPEED, "Spindle speed", "rpm", _neat(low), _neat(high), step, _neat(middle))


def _neat(value: float) -> float:
    """Return a number without the dust of its last digits."""
    return float(f"{value:.9g}")
