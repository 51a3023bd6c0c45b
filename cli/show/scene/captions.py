"""The words on a picture: title, note, direction, and how far the drawing departs from life."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from stickout.cli.show.scene.scene import INCH, Scene, real_swing
from stickout.meshes.tagged import FloatArray

# Share of the motion along the force from which it is called along it; one minus this, across it.
_ALONG: Final = 0.8


def round_two(value: float) -> str:
    """Return a positive number to two digits in plain writing, thousands parted by a thin space."""
    digits = max(0, 1 - int(np.floor(np.log10(value))))
    rounded = round(value, 1 - int(np.floor(np.log10(value))))
    return f"{rounded:,.{digits}f}".replace(",", "\u2009")


def way_words(movement: FloatArray) -> str:
    """Return in words which way a movement (3,) goes, in the bar frame (z up, x along the bar)."""
    x, y, z = np.abs(movement) / max(float(np.linalg.norm(movement)), 1e-300)
    if x > 0.9:
        return "along the bar"
    if z > 0.97:
        return "up and down"
    if y > 0.97:
        return "sideways"
    if x > 0.5:
        return "slantwise"
    lean = np.degrees(np.arctan2(y, z))
    return f"slantwise, {lean:.0f}° from upright"


def mode_line(scene: Scene, *, edge: FloatArray, largest: float) -> str:
    """Return the line under the title: how far out, which mode, its note, and which way the edge swings.

    ``edge`` is the movement of the edge (3,) and ``largest`` the largest movement anywhere, same unit.
    """
    out = float(scene.mesh.points[:, 0].max())
    size = f"{out / INCH:.4g} in" if scene.units == "inch" else f"{out * 1000:.4g} mm"
    between = scene.setup is not None and scene.setup.grip.at_both_ends
    size = f"{size} between supports" if between else f"{size} out"
    return f"{size}, mode {scene.number}, {_hertz(scene.frequency_hz)} Hz: {_swing(scene, edge, largest)}"


def _swing(scene: Scene, edge: FloatArray, largest: float) -> str:
    """Return which way the edge swings, along the force where it does."""
    if scene.kind == "torsion":
        return "twists about its own length"
    if np.linalg.norm(edge) < 0.05 * largest:
        return f"{scene.kind}, the edge hardly moves".lstrip(", ")
    way = f"swings {way_words(edge)}"
    if scene.share is None or scene.force is None:
        return way
    if scene.share > _ALONG:
        return "swings along the cutting force"
    return "swings across the cutting force" if scene.share < 1 - _ALONG else way


def made_up_lines(scene: Scene, invented: Sequence[str], *, aside: bool) -> list[str]:
    """Return what the drawing made up, for the foot; empty where the file gave everything."""
    said = [f"{', '.join(invented)}: as drawn"] if invented else []
    if aside:
        said.append("edge computed on the bar's axis")
    return said


def _hertz(frequency_hz: float) -> str:
    """Return a frequency in whole hertz, thousands parted by a thin space from five digits on."""
    text = f"{frequency_hz:.0f}"
    return text if len(text) < 5 else f"{frequency_hz:,.0f}".replace(",", "\u2009")


def scale_line(scene: Scene, magnified: float, *, period_s: float | None) -> str:
    """Return the line on magnification, and on slowing down when the loop lasts ``period_s``."""
    if scene.units == "inch":
        swing = f"{real_swing(scene) / INCH * 1000:.2g} thou"
    else:
        swing = f"{real_swing(scene) * 1000:.4g} mm"
    text = f"Movement magnified {round_two(magnified)} times (for a swing of {swing})"
    if period_s is None:
        return text
    return f"{text}, slowed about {round_two(scene.frequency_hz * period_s)} times"
