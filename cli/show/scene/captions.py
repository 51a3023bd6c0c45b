"""The words on a picture: title, note, direction, share, and how far the drawing departs from life."""

from __future__ import annotations

import numpy as np

from stickout.cli.show.scene.scene import INCH, Scene, real_swing
from stickout.meshes.tagged import FloatArray


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
    """Return the line that says which mode it is, its note and which way the edge moves.

    ``edge`` is the movement of the edge (3,) and ``largest`` the largest movement anywhere, same unit.
    """
    if scene.kind == "torsion":
        way = "torsion: the bar twists about its own length"
    elif np.linalg.norm(edge) < 0.05 * largest:
        way = f"{scene.kind}: the edge hardly moves".lstrip(": ")
    else:
        way = ", ".join(filter(None, [scene.kind, f"the edge moves {way_words(edge)}"]))
    return f"Mode {scene.number}: {_hertz(scene.frequency_hz)} Hz, {way}"


def _hertz(frequency_hz: float) -> str:
    """Return a frequency in whole hertz, thousands parted by a thin space from five digits on."""
    text = f"{frequency_hz:.0f}"
    return text if len(text) < 5 else f"{frequency_hz:,.0f}".replace(",", "\u2009")


def share_line(scene: Scene) -> str:
    """Return the line on how much of the motion lies along the cutting force; empty when not known."""
    if scene.share is None or scene.force is None:
        return ""
    return f"Share of this motion along the cutting force: {100 * scene.share:.0f} %"


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
