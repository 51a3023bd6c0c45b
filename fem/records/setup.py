"""Tell a set-up back as plain data in SI, for the result file."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from typing import Any, Final

from stickout.fem.setup.bands import Band
from stickout.fem.setup.parts import Setup
from stickout.fem.units import MM, N_PER_UM, N_PER_UM_MM2, UM

# Suffix of a field -> suffix in SI, factor. The longest comes first: "_n_per_um_mm2" also ends in "_mm2".
_TO_SI: Final = (
    ("_n_per_um_mm2", "_n_per_m3", N_PER_UM_MM2),
    ("_n_per_um", "_n_per_m", N_PER_UM),
    ("_mm", "_m", MM),
    ("_um", "_m", UM),
    ("_g", "_kg", 1e-3),
    ("_deg", "_rad", math.pi / 180),
    ("_rpm", "_hz", 1 / 60),
)


def setup_record(setup: Setup) -> dict[str, Any]:
    """Return the whole set-up as nested plain data, SI throughout, without what it does not hold.

    A number that is known as a band becomes ``{"low", "likely", "high", "source"}``. Lengths are in
    metres, angles in radians, speeds in turns per second, springs per area in N/m3; the names end so.
    """
    record = _fields(setup)
    usual = [one.key for one in setup.usual]  # their values and bands stand among the assumptions
    return (record | {"usual": usual}) if usual else {key: record[key] for key in record if key != "usual"}


def _plain(value: Any, factor: float) -> Any:  # noqa: ANN401 - any field of the set-up, by design
    """Return one value as plain data, numbers times ``factor``."""
    if isinstance(value, Band):
        low, likely, high = (one * factor for one in (value.low, value.likely, value.high))
        return {"low": low, "likely": likely, "high": high, "source": value.source}
    if is_dataclass(value):
        return _fields(value)
    if isinstance(value, Mapping):
        return {key: _plain(one, factor) for key, one in value.items()}
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [_plain(one, factor) for one in value]
    return value if isinstance(value, bool | str) or factor == 1.0 else value * factor


def _fields(part: Any) -> dict[str, Any]:  # noqa: ANN401 - any dataclass of the set-up
    """Return the fields of one dataclass that are given, and its style where it has one."""
    record: dict[str, Any] = {"style": part.style} if hasattr(part, "style") else {}
    for one in fields(part):
        value = getattr(part, one.name)
        if value is not None:
            name, factor = _si_name(one.name)
            record[name] = _plain(value, factor)
    return record


def _si_name(name: str) -> tuple[str, float]:
    """Return a field's name in SI and the factor that takes its value there."""
    for suffix, si_suffix, factor in _TO_SI:
        if name.endswith(suffix):
            return name.removesuffix(suffix) + si_suffix, factor
    return name, 1.0
