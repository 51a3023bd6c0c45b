"""What another metal or another shape brings in the same room: stiffness, note, depth limit, as ratios."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Final

from stickout.fem.beam.hand_bar import hand_compliance_along, hand_note
from stickout.fem.setup.changes import with_material
from stickout.fem.setup.material_table import MATERIALS, STEEL
from stickout.fem.setup.materials import Material
from stickout.fem.setup.parts import Setup
from stickout.fem.study.clamped_loss import CLAMPED
from stickout.meshes.parts import Bar, Step

# The metals that people ask about first.
ASKED: Final = ("steel", "silver steel", "hardened alloy steel", "cemented carbide", "tungsten heavy alloy")
STEP_AT, STEP_TO = 0.6, 0.8  # a stepped bar: the outer part from here on, this thick
TAPER_TO: Final = 0.6  # a tapered bar: its end over its root
_TAPER_STEPS: Final = 8


@dataclass(frozen=True)
class Gain:
    """A bar against another: name, stiffness [N/m] and note [Hz], and the ratios to the other.

    ``limit`` is the ratio of the depth limits of a straight edge, one mode: stiffness times damping.
    """

    name: str
    stiffness_n_per_m: float
    note_hz: float
    stiffness: float
    note: float
    limit: float


def material_gains(setup: Setup, materials: Iterable[Material] = ()) -> list[Gain]:
    """Return the metals that people ask about, and others, in one held bar, against mild steel.

    Parameters
    ----------
    setup
        The bar; its material is changed.
    materials
        Further materials.

    Source
    ------
    Beam formulas; depth limit of one mode ``b = 2 k zeta (1 + zeta) / K`` (Tlusty & Polacek 1963, recalled,
    not opened), with the loss of the clamping alike for all and that of the metal on top.
    """
    table = {one.name: one for one in (*(MATERIALS[name] for name in ASKED), *materials)}
    base = with_material(setup, "bar", material=STEEL)
    return [_gain(name, with_material(setup, "bar", material=one), base) for name, one in table.items()]


def shape_gains(setups: Mapping[str, Setup]) -> list[Gain]:
    """Return shapes that fill the same room against the round one, the stiffest first.

    Parameters
    ----------
    setups
        Shape -> held bar; ``round`` must be among them. A stepped and a tapered bar are added.
    """
    bare = setups["round"]
    family = {**setups, "stepped": stepped_bar(bare), "tapered": tapered_bar(bare)}
    found = [_gain(name, one, bare) for name, one in family.items()]
    return sorted(found, key=lambda one: -one.stiffness)


def stepped_bar(setup: Setup) -> Setup:
    """Return a round bar whose outer 40 % of overhang is a fifth thinner."""
    bar = setup.bar
    step = Step(STEP_AT * bar.overhang_mm, diameter_mm=STEP_TO * (bar.diameter_mm or 0.0))
    return replace(setup, bar=replace(bar, steps=(step,)))


def tapered_bar(setup: Setup) -> Setup:
    """Return a round bar that tapers evenly to six tenths at its end, as eight short steps."""
    bar = setup.bar
    return replace(setup, bar=replace(bar, steps=_taper(bar, bar.diameter_mm or 0.0)))


def _taper(bar: Bar, root_mm: float) -> tuple[Step, ...]:
    """Return the steps of a taper, each as thick as the taper is at its middle."""
    out = []
    for number in range(_TAPER_STEPS):
        middle = (number + 0.5) / _TAPER_STEPS
        # The first step cannot begin at the holder face of a rigid grip.
        start = max(number / _TAPER_STEPS, 1e-4) * bar.overhang_mm
        out.append(Step(start, diameter_mm=root_mm * (1 - (1 - TAPER_TO) * middle)))
    return tuple(out)


def _gain(name: str, setup: Setup, base: Setup) -> Gain:
    stiffness, note = 1 / hand_compliance_along(setup), hand_note(setup)
    against = 1 / hand_compliance_along(base)
    loss = [_loss(one) for one in (setup, base)]
    limit = stiffness / against * loss[0] * (1 + loss[0] / 2) / (loss[1] * (1 + loss[1] / 2))
    return Gain(name, stiffness, note, stiffness / against, note / hand_note(base), limit)


def _loss(setup: Setup) -> float:
    """Return the loss factor of a clamped bar: that of clamping and that of its metal."""
    return CLAMPED.likely + setup.bar_material.loss_factor.likely
