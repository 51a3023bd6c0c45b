"""The limit against rotation of the section: bar and grip turned together, the cut left as it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.chatter.changed import turned
from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.cut.flank import flank_of
from stickout.fem.cut.models import joined
from stickout.fem.force.case import CutCase
from stickout.fem.setup.parts import Setup
from stickout.meshes.tagged import FloatArray

STEP_DEG: Final = 2.0
GOOD: Final = 0.7
ALIKE: Final = 1.05


@dataclass(frozen=True)
class TurnedBar:
    """The margin against rotation.

    Attributes
    ----------
    angles_deg
        Rotation of the section, as ``bar.rotation_deg`` counts it, from 0 to below 180, shape (n,).
    margin
        Margin at each [-], shape (n,).
    now_deg
        Rotation as it is, brought into the same range.
    windows
        Ranges of rotation (from, to) with at least 0.7 of the best margin [deg]; ``to`` may pass 180.
    """

    angles_deg: FloatArray
    margin: FloatArray
    now_deg: float
    windows: tuple[tuple[float, float], ...]

    @property
    def best(self) -> float:
        """Return the greatest margin [-]."""
        return float(self.margin.max())

    @property
    def best_deg(self) -> float:
        """Return the middle of the window with the greatest margin, within 0 to 180 degrees [deg]."""
        at = float(self.angles_deg[np.argmax(self.margin)])
        for start, stop in self.windows:
            if start <= at <= stop or start <= at + 180.0 <= stop:
                return 0.5 * (start + stop) % 180.0
        return at

    @property
    def handy_deg(self) -> float:
        """Return the good rotation that is set with a square: flats level or upright; else the best [deg]."""
        square = max((0.0, 90.0), key=self.at)
        return square if self.at(square) >= GOOD * self.best else self.best_deg

    def at(self, rotation_deg: float) -> float:
        """Return the margin at a rotation [-], between the angles tried."""
        return float(np.interp(rotation_deg, self.angles_deg, self.margin, period=180.0))

    @property
    def alike(self) -> bool:
        """Return whether turning the bar changes hardly anything, as for a round one."""
        return bool(self.margin.max() < ALIKE * self.margin.min())


def turned_bar(
    case: CutCase,
    tool: ModalModel,
    *,
    work: ModalModel | None,
    rotation_deg: float,
    speed: float | None = None,
) -> TurnedBar:
    """Return the margin of a tool turned about its own axis, half a turn in steps of two degrees.

    Parameters
    ----------
    case
        The cut.
    tool
        Modal model of the tool as it stands.
    work
        Modal model of the work, which is not turned; None without one.
    rotation_deg
        Rotation of the section as it stands.
    speed
        Cutting speed at which the flank rubs [m/s]; None leaves its rubbing out.

    Returns
    -------
    TurnedBar
        Margins and good windows. The edge keeps its place; grip and section turn.

    Source
    ------
    The window is quoted, not the peak: a few degrees of twist in the grip cost the peak (computed here).
    """
    angles = np.arange(0.0, 180.0, STEP_DEG)
    models = joined(turned(tool, angles - rotation_deg), work)
    flank = None if speed is None else flank_of(case) / speed
    margin = absolute_limit(models, case.stiffness, flank=flank).margin
    return TurnedBar(angles, margin, rotation_deg % 180.0, _windows(angles, margin))


def can_turn(setup: Setup) -> bool:
    """Return whether the bar can be turned in its grip to good effect: flats, in a grip alike all round.

    In a slot or a saw-cut block the flats or the cut decide, and they stay where they are. A round bar is
    alike every way wherever its edge sits, unless an absorber in it works one way only.
    """
    one_way = setup.absorber is not None and setup.absorber.direction != "both"
    turns = setup.bar.section == "flatted" or (setup.bar.diameter_mm is not None and one_way)
    return turns and setup.grip.alike_all_round


def _windows(angles: FloatArray, margin: FloatArray) -> tuple[tuple[float, float], ...]:
    """Return the ranges of angles, taken as a ring of 180 degrees, where the margin is good."""
    good = margin >= GOOD * margin.max()
    if good.all():
        return ((0.0, 180.0),)
    first = int(np.argmin(good))
    order = (np.arange(len(angles)) + first) % len(angles)
    edges = np.flatnonzero(np.diff(good[order].astype(int), append=0))
    starts, stops = edges[::2] + 1, edges[1::2]
    at = angles[0] + STEP_DEG * (np.arange(len(angles)) + first)
    found = [(float(at[i]), float(at[j])) for i, j in zip(starts, stops, strict=True)]
    return tuple((a - 180.0, b - 180.0) if a >= 180.0 else (a, b) for a, b in found)
