"""From a set-up to what the mechanics takes: what holds, which material where, which loss factor."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import Final

import numpy as np

from stickout.fem.errors import InputError
from stickout.fem.setup.bands import Band
from stickout.fem.setup.joints import Touch
from stickout.fem.setup.materials import Material
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.post import post_numbers
from stickout.fem.solid.body import Added
from stickout.fem.solid.carrier import CARRIER
from stickout.fem.solid.elasticity import Elastic
from stickout.fem.solid.ends import ENDS
from stickout.fem.solid.model import Support
from stickout.fem.solid.supports import Spring, skin_mass
from stickout.fem.units import N_PER_UM_MM2
from stickout.meshes.parts import Hold
from stickout.meshes.tagged import FloatArray, TaggedMesh

# Of centres and chuck under a bar that is held at both ends: damping ratio 1 to 3.5 %.
END_LOSS: Final = Band(0.02, 0.04, 0.07, "common practice, no source: damping ratio 1 to 3.5 %")


def hold_of(setup: Setup) -> Hold:
    """Return what the mesh must know of the grip."""
    return setup.grip.hold


def elastic(material: Material) -> Elastic:
    """Return the likely elastic constants and density of a material."""
    return Elastic(
        youngs_modulus=material.youngs_modulus.likely,
        poisson_ratio=material.poisson_ratio.likely,
        density=material.density.likely,
    )


def owner_of(region: str) -> str:
    """Return the part whose material a region is of: the gripped part shares the bar's."""
    return "bar" if region == "grip" else region


def region_materials(setup: Setup, mesh: TaggedMesh) -> dict[str, Material]:
    """Return the material of every region of a mesh; the gripped part shares the bar's."""
    return {name: setup.materials[owner_of(name)] for name in mesh.regions}


def bed_springs(setup: Setup) -> Spring | None:
    """Return the bed under the gripped part, None where there is none."""
    return None if setup.grip.bedding is None else _layer(Touch("bed", "bed", setup.grip.bedding))


def support_of(setup: Setup) -> Support:
    """Return what holds the mesh: faces held still, springs to the ground, joints between bodies."""
    faces = setup.grip.touching(shimmed=setup.shim is not None)
    springs = {one.name: _layer(one) for one in faces if not one.inside}
    joints = {one.name: _layer(one) for one in faces if one.inside}
    return Support(held=setup.grip.held_still, springs=springs, joints=joints)


def _layer(touch: Touch) -> Spring:
    """Return the likely springs of two touching faces."""
    normal = touch.faces.normal_n_per_um_mm2.likely * N_PER_UM_MM2
    area, within = touch.area_mm2, touch.within_mm
    return Spring(
        touch.patch,
        normal,
        normal * touch.faces.shear_ratio.likely,
        area=None if area is None else area * 1e-6,
        within=None if within is None else within * 1e-3,
    )


def added_mass(setup: Setup, mesh: TaggedMesh) -> Added:
    """Return the mass that is no cell: what rides at the edge, and a loose wrap."""
    edge = setup.edge.mass_g * 1e-3
    if setup.wrap is None or "wound" not in mesh.patches:
        return Added(edge)
    per_length = wound_mass(setup)
    per_area = partial(_per_area, per_length)
    return Added(edge, [(mesh.patches["wound"], skin_mass(mesh, "wound", per_area=per_area))])


def _per_area(per_length: Callable[[FloatArray], FloatArray], radius: FloatArray) -> FloatArray:
    return per_length(2 * radius) / (2 * np.pi * radius)


def wound_mass(setup: Setup) -> Callable[[FloatArray], FloatArray]:
    """Return the mass per length [kg/m] of a wrap as a function of the bar's diameter [m].

    From the wire's diameter and pitch where they are given, else from a full layer of the thickness.

    Source
    ------
    Length of a helix, ``rho (pi/4) d^2 sqrt((pi (D + d))^2 + p^2) / p`` (computed here).
    """
    if setup.wrap is None:
        raise InputError(key="wrap", given=None, allowed="a wrap", mend="Describe the wrap in [wrap].")
    density, turns = setup.materials["wrap"].density.likely, setup.turns
    if turns is not None and turns.wire_diameter_mm is not None:
        wire = turns.wire_diameter_mm * 1e-3
        pitch = wire if turns.pitch_mm is None else turns.pitch_mm * 1e-3
        return partial(_helix, density, wire, pitch)
    return partial(_full_layer, density, setup.wrap.thickness_mm * 1e-3)


def _helix(density: float, wire: float, pitch: float, diameter: FloatArray) -> FloatArray:
    return density * np.pi / 4 * wire**2 * np.sqrt((np.pi * (diameter + wire)) ** 2 + pitch**2) / pitch


def _full_layer(density: float, thickness: float, diameter: FloatArray) -> FloatArray:
    return density * np.pi * thickness * (diameter + thickness)


def loss_factors(setup: Setup, names: Sequence[str]) -> dict[str, Band]:
    """Return the band of the loss factor of every region, bed and joint that is named, and of the post."""
    faces, out = setup.grip.faces, {}
    for name in names:
        region = owner_of(name)
        if name == CARRIER and setup.post is not None:
            out[name] = post_numbers(setup.post).loss
            continue
        if name == ENDS:
            out[name] = END_LOSS
        elif region in setup.materials:
            out[name] = setup.materials[region].loss_factor
        elif faces is not None:
            out[name] = faces.loss_factor
    return out
