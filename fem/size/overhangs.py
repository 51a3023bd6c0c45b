"""How far out: overhang for a wanted spring or depth, slope per millimetre, other metals as stiff."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.beam.hand_bar import hand_compliance_along, hand_note
from stickout.fem.cut.spread import PERFECT_BAND, with_grip
from stickout.fem.halving import halved
from stickout.fem.setup.bands import Band, Spread, exactly
from stickout.fem.setup.changes import slid, with_material
from stickout.fem.setup.grips import RigidGrip
from stickout.fem.setup.material_table import STEEL
from stickout.fem.setup.materials import Material
from stickout.fem.setup.parts import Setup

# Overhang over size that the trade allows: public trade articles agree within these (check values j.LD.*).
RULES: Final[Mapping[str, Band]] = {
    "steel": Band(3.0, 4.0, 4.0, "public trade articles (opened)"),
    "cemented carbide": Band(5.0, 6.0, 7.0, "public trade articles (opened); one catalogue allows 10"),
    "tungsten heavy alloy": Band(4.0, 5.0, 6.0, "public trade articles (opened)"),
}
_REACH: Final = (0.25, 40.0)  # overhangs looked at, over the bar's size
_HALVINGS: Final = 40
_STEP_MM: Final = 0.5


@dataclass(frozen=True)
class Slope:
    """What a millimetre more overhang does: share of the stiffness lost [-], and hertz lost."""

    stiffness: float
    hertz: float


def slope(setup: Setup) -> Slope:
    """Return what a millimetre of overhang is worth about the overhang there is, by hand formulas.

    Source
    ------
    Central difference of the beam formulas (computed here); k ~ L^-3, f ~ L^-2 on a rigid root.
    """
    longer, shorter = (slid(setup, setup.bar.overhang_mm + way * _STEP_MM) for way in (1, -1))
    stiff = [1 / hand_compliance_along(one) for one in (longer, shorter)]
    now = 1 / hand_compliance_along(setup)
    return Slope((stiff[1] - stiff[0]) / now, hand_note(shorter) - hand_note(longer))


def overhang_for(
    setup: Setup, measure: Callable[[Setup], float], *, target: float, size_mm: float
) -> float | None:
    """Return the overhang at which a measure that grows with the overhang reaches a target [mm].

    Parameters
    ----------
    setup
        The bar; its overhang is changed.
    measure
        Set-up -> number that rises with the overhang.
    target
        The number wanted.
    size_mm
        The bar's size; a quarter of it to forty times are looked at.

    Returns
    -------
    float or None
        None where the target lies outside.
    """
    low, high = (share * size_mm for share in _REACH)
    if not measure(slid(setup, low)) <= target <= measure(slid(setup, high)):
        return None
    return halved(lambda one: measure(slid(setup, one)) <= target, (low, high), times=_HALVINGS)[0]


def overhang_for_compliance(setup: Setup, spring: float, *, size_mm: float) -> Spread | None:
    """Return the overhang at which the edge springs so much, as a band [mm].

    Parameters
    ----------
    setup
        The bar.
    spring
        Wanted deflection along the force [m/N].
    size_mm
        The bar's size.

    Returns
    -------
    Spread or None
        At the soft ends of seat and modulus, likely, at the stiff ends; None where likely is out of reach.
    """
    ends = [
        overhang_for(one, hand_compliance_along, target=spring, size_mm=size_mm) for one in seat_ends(setup)
    ]
    low, likely, high = ends
    if likely is None:
        return None
    return Spread(0.0 if low is None else low, likely, likely if high is None else high, {})


def seat_ends(setup: Setup) -> tuple[Setup, Setup, Setup]:
    """Return the set-up at the soft ends of seat and modulus, as it is, and at their stiff ends."""
    modulus = setup.bar_material.youngs_modulus
    out = []
    for young, end in ((modulus.low, "low"), (modulus.likely, "likely"), (modulus.high, "high")):
        material = replace(setup.bar_material, youngs_modulus=exactly(young, modulus.source))
        one = with_material(setup, "bar", material=material)
        if setup.grip.bedding is not None:
            faces = setup.grip.bedding.normal_n_per_um_mm2
            one = with_grip(one, getattr(faces, end) / faces.likely)
        elif end == "low":
            # A perfect grip against a real one: taken as a softer bar, for there is no seat to soften.
            soft = exactly(young * PERFECT_BAND.low, modulus.source)
            one = with_material(one, "bar", material=replace(material, youngs_modulus=soft))
        out.append(one)
    return out[0], out[1], out[2]


def compliance_band(setup: Setup) -> Spread:
    """Return the deflection along the force [m/N] within the bands of seat and modulus, by hand formulas."""
    soft, likely, stiff = (hand_compliance_along(one) for one in seat_ends(setup))
    return Spread(stiff, likely, soft, {})


def note_band(setup: Setup) -> Spread:
    """Return the first bending note [Hz] within the bands of seat and modulus, by hand formulas.

    The soft end of a perfect grip lowers the note as ``stickout.fem.cut.models.softened`` has it.
    """
    soft, likely, stiff = (hand_note(one) for one in seat_ends(setup))
    if setup.grip.bedding is None:
        soft *= PERFECT_BAND.low ** (2 / 3 - 1 / 2)  # the softer metal gave the root
    return Spread(soft, likely, stiff, {})


def equal_stiffness_overhang(setup: Setup, material: Material, *, size_mm: float) -> float | None:
    """Return how far another material may stick out for the tip stiffness of mild steel in the set-up [mm].

    Both on a rigid root, as the trade's rules are meant: ``L ~ E^(1/3)`` but for shear.

    Source
    ------
    Beam formulas (computed here); the trade's rules come out within 5 %.
    """
    rigid = replace(setup, grip=RigidGrip(), bar=replace(setup.bar, gripped_mm=0.0, steps=()))
    steel = hand_compliance_along(with_material(rigid, "bar", material=STEEL))
    return overhang_for(
        with_material(rigid, "bar", material=material), hand_compliance_along, target=steel, size_mm=size_mm
    )


def overhang_per_height(setup: Setup, *, step_mm: float = 1.0) -> float | None:
    """Return how much further a taller shank may stick out for the same spring [mm per mm of height].

    Parameters
    ----------
    setup
        A rectangular shank.
    step_mm
        How much taller.
    """
    bar = setup.bar
    if bar.height_mm is None:
        return None
    taller = replace(setup, bar=replace(bar, height_mm=bar.height_mm + step_mm))
    longer = overhang_for(
        taller, hand_compliance_along, target=hand_compliance_along(setup), size_mm=bar.height_mm
    )
    return None if longer is None else (longer - bar.overhang_mm) / step_mm


def overhang_for_depth(
    overhangs_mm: Sequence[float], depths: Sequence[Spread], *, wanted: float
) -> Spread | None:
    """Return the overhang up to which a depth of cut stays quiet, as a band [mm].

    Parameters
    ----------
    overhangs_mm
        Rising.
    depths
        Depth limit at each of them [m].
    wanted
        The depth [m].

    Returns
    -------
    Spread or None
        From the low, likely and high depth limits; 0 where even the shortest is too long, the longest looked
        at where it still holds. None where the likely limit never reaches the depth.
    """
    low, likely, high = (
        _last_quiet(overhangs_mm, depths, side, wanted) for side in ("low", "likely", "high")
    )
    return Spread(low, likely, high, {}) if likely > 0 else None


def _last_quiet(overhangs_mm: Sequence[float], depths: Sequence[Spread], side: str, wanted: float) -> float:
    """Return the longest overhang whose limit still reaches the depth, by a power law between two."""
    values = np.array([getattr(one, side) for one in depths])
    good = np.flatnonzero(values >= wanted)
    if not good.size:
        return 0.0
    at = int(good[-1])
    if at == len(values) - 1 or not np.isfinite(values[at]) or values[at + 1] <= 0:
        return float(overhangs_mm[at])
    share = np.log(values[at] / wanted) / np.log(values[at] / values[at + 1])
    return float(overhangs_mm[at] * (overhangs_mm[at + 1] / overhangs_mm[at]) ** share)
