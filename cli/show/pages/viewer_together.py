"""Tool, post and part on one clock in the viewer: two halves of the bar's shape, and how the part moves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from stickout.cli.show.pages.packing import Skin, packed_16
from stickout.cli.show.scene.held_work import PartFrame
from stickout.cli.show.scene.scene import face_ride
from stickout.cli.text.together_words import together_words
from stickout.cli.text.words import hertz
from stickout.fem.cut.operating import ComplexArray, Operating
from stickout.fem.study.result import Result
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

Record = dict[str, Any]
# Drawn opening between edge and part, over the larger of overhang and part; the bar's own over the overhang.
_OPENING: Final = 0.04
_BENT: Final = 0.15
# The opening for which the magnification is told [m]: what a cut that sings leaves is of this size.
_REAL: Final = 1e-5


@dataclass(frozen=True)
class Together:
    """How tool and part move, ready to be packed.

    Attributes
    ----------
    motion
        Amplitude and phase of both.
    bar
        Movement of the bar's nodes as drawn, with its phase [m], shape (n_points, 3).
    drawn
        Opening between edge and part as drawn [m].
    full
        What the packed shapes of bar and part are scaled by [m].
    """

    motion: Operating
    bar: ComplexArray
    drawn: float
    full: float

    def halves(self, moved: ComplexArray) -> tuple[FloatArray, FloatArray]:
        """Return what swings as the cosine and as the sine of the clock."""
        return moved.real, -moved.imag


def drawn_together(result: Result, motion: Operating) -> Together:
    """Return a motion as it is drawn.

    Parameters
    ----------
    result
        The modes.
    motion
        How tool, post and part move where the cut sings.
    """
    shapes = result.modes.shapes[np.flatnonzero(result.moves)]
    bar = np.einsum("m,mnk->nk", motion.swing, shapes)
    overhang = result.setup.bar.overhang_mm * MM
    length = 0.0 if result.setup.work is None else result.setup.work.length_mm * MM
    largest = float(np.linalg.norm(bar, axis=1).max())
    drawn = min(_OPENING * max(overhang, length), _BENT * overhang / largest)
    most = max(float(np.abs(one).max()) for one in (bar, motion.part) if one.size)
    return Together(motion, drawn * bar, drawn, drawn * most)


def together_modes(result: Result, found: Together, *, skin: Skin, nose: FloatArray) -> list[Record]:
    """Return the motion as two of the viewer's modes, a quarter turn apart; the second has no button.

    Parameters
    ----------
    result
        The modes.
    found
        The motion as drawn.
    skin
        Skin of the bar.
    nose
        Where the cutter's nose is drawn [m], shape (3,).
    """
    said, hz = together_words(result.setup, found.motion), found.motion.frequency_hz
    out: list[Record] = []
    for half in found.halves(found.bar):
        ride = face_ride(result.model.mesh, half)
        out.append(
            {
                "number": "♪",
                "hertz": hz,
                "swing": _REAL,
                "magnification": found.drawn / _REAL,
                "twin": result.n_modes + 1,
                "together": True,
                "hidden": bool(out),
                "still": False,
                "full": found.full,
                "shape": packed_16(half[skin.node], found.full),
                "edge": _list(ride.of(nose)),
                "ride": {
                    "shift": _list(ride.shift - np.cross(ride.turn, ride.centre)),
                    "turn": _list(ride.turn),
                },
                "energy": None,
                "heading": hertz(hz),
                "kind": "tool and part together",
                "way": "where the cut sings",
                "along": "",
                "words": f"Tool, part and what holds them where the cut sings. {said}",
                "toward": "",
            }
        )
    return out


def part_shapes(points: FloatArray, frame: PartFrame, *, found: Together) -> Record:
    """Return how points of the drawn part [m], (n, 3), move with the motion, packed; its sections stay flat.

    Parameters
    ----------
    points
        Points of the part.
    frame
        Where it lies.
    found
        The motion as drawn.
    """
    s = (points - frame.root) @ frame.along
    motion = found.motion
    moved = found.drawn * np.stack(
        [np.interp(s, motion.part_at, motion.part[:, axis]) for axis in range(3)], axis=1
    )
    one, two = found.halves(moved)
    return {"shape": packed_16(one, found.full), "shape_two": packed_16(two, found.full)}


def _list(values: FloatArray) -> list[float]:
    """Return an array as plain numbers no longer than they need be."""
    return [round(float(one), 8) for one in values]
