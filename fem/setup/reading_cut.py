"""Read the cut, the cuts that were heard, and the usual edge where the file says nothing of it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from stickout.fem.setup.check_bar import smallest_size_mm
from stickout.fem.setup.parts import Cut, HeardCut
from stickout.fem.setup.reading import Reading
from stickout.fem.setup.usual import EDGE_ANGLE_DEG, Usual, usual_nose_mm, usual_value
from stickout.fem.setup.values import in_mm
from stickout.meshes.parts import Bar

Values = Mapping[str, Any]
AS_PARTING: Final = ("grooving", "forming", "form", "parting off", "cutting off", "plunging")
_PASSED: Final = 0.51  # nose over feed: a nose under half of the feed would leave a thread
_KNOWN_ONLY_TO_THE_USER: Final = ("operation", "work_material", "depth", "feed")


@dataclass(frozen=True)
class ReadCut:
    """A cut as it was read, and the values taken as usual; no cut where the file has none."""

    cut: Cut | None
    usual: tuple[Usual, ...] = ()


def read_cut(reading: Reading, values: Values | None, *, bar: Bar) -> ReadCut:
    """Return the cut of a file.

    Parameters
    ----------
    reading
        The pass over the file.
    values
        Converted keys of [cut]; None where there is no such section.
    bar
        The bar: no nose is wider than half of it, and a parting blade cuts as wide as it is.
    """
    if values is None:
        return ReadCut(None)
    heard = tuple(
        HeardCut(**in_mm(reading.table(f"cut.heard.{number}", table, like="cut.heard")))
        for number, table in enumerate(values.get("heard", ()), start=1)
    )
    plain = {key: value for key, value in values.items() if key != "heard"}
    called = plain.get("operation")
    if called in AS_PARTING:
        plain["operation"] = "parting"
        reading.notes.append(
            f"cut.operation {called!r} is read as parting: a blade that cuts its full width."
        )
    if plain.get("operation") == "parting" and "depth" not in plain and bar.width_mm is not None:
        plain["depth"] = bar.width_mm
    found = _usual(plain, bar, reading.units)
    sizes = {key.removeprefix("cut."): value for key, value in found.items()}
    usual = tuple(
        usual_value(key, value, **(_nose_ends(plain, bar) if key == "cut.nose_radius" else {}))
        for key, value in found.items()
        if value > 0
    )
    return ReadCut(Cut(**in_mm(plain | sizes), heard=heard), usual)


def _nose_ends(plain: Values, bar: Bar) -> dict[str, float]:
    """Return the least and the most that a nose can be [mm]: by the feed, and by the tool."""
    most = smallest_size_mm(bar, at_end=True) / 2
    least = 0.0 if plain["operation"] == "parting" else _PASSED * plain["feed"]
    return {"least": least, "most": most if most > 0 else math.inf}


def _usual(plain: Values, bar: Bar, units: str) -> dict[str, float]:
    """Return the usual edge of a cut that is described but for it; a bare operation stays one."""
    if any(key not in plain for key in _KNOWN_ONLY_TO_THE_USER):
        return {}
    most = smallest_size_mm(bar, at_end=True) / 2
    edge = {
        "nose_radius": usual_nose_mm(plain["operation"], plain["feed"], most_mm=most, units=units),
        "edge_angle_deg": EDGE_ANGLE_DEG,
    }
    return {f"cut.{key}": value for key, value in edge.items() if key not in plain}
