"""From a set-up to what the mechanics takes: what holds, which material where, which loss factor."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fem.elasticity import Elastic
from fem.materials import Band, Material
from fem.model import Support
from fem.setup import BedGrip, HeldGrip, RigidGrip, Setup
from fem.errors import InputError
from fem.supports import Spring
from fem.units import N_PER_UM_MM2
from meshes.parts import Hold
from meshes.tagged import TaggedMesh


def hold_of(setup: Setup) -> Hold:
    """Return what the mesh must know of the grip."""
    return Hold(setup.grip.style, getattr(setup.grip, "pressed_mm", None))


def elastic(material: Material) -> Elastic:
    """Return the likely elastic constants and density of a material."""
    return Elastic(
        youngs_modulus=material.youngs_modulus.likely,
        poisson_ratio=material.poisson_ratio.likely,
        density=material.density.likely,
    )


def region_materials(setup: Setup, mesh: TaggedMesh) -> dict[str, Material]:
    """Return the material of every region of a mesh; the gripped part shares the bar's."""
    return {name: setup.materials["bar" if name == "grip" else name] for name in mesh.regions}


def bed_spring(setup: Setup) -> Spring | None:
    """Return the bed under the gripped part, None where there is none."""
    if not isinstance(setup.grip, BedGrip):
        return None
    normal = setup.grip.bed.normal_n_per_um_mm2.likely * N_PER_UM_MM2
    return Spring("bed", normal, normal * setup.grip.bed.shear_ratio.likely)


def support_of(setup: Setup) -> Support:
    """Return what holds the mesh.

    Raises
    ------
    InputError
        The grip style is not modelled yet.
    """
    if isinstance(setup.grip, RigidGrip):
        return Support(held=("root",))
    if isinstance(setup.grip, HeldGrip):
        return Support(held=("floor", "screws"))
    spring = bed_spring(setup)
    if spring is not None:
        return Support(springs={"bed": spring})
    raise InputError(
        key="grip.style",
        given=setup.grip.style,
        allowed="rigid, held or bed in this version",
        mend="Use bed, with the stiffness per area of the touching faces.",
    )


def loss_factors(setup: Setup, names: Sequence[str]) -> dict[str, Band]:
    """Return the band of the loss factor of every region and bed that is named."""
    out = {}
    for name in names:
        if name == "bed" and isinstance(setup.grip, BedGrip):
            out[name] = setup.grip.bed.loss_factor
        else:
            out[name] = setup.materials["bar" if name == "grip" else name].loss_factor
    return out


def with_material(setup: Setup, region: str, material: Material) -> Setup:
    """Return the set-up with another material in one region."""
    return replace(setup, materials={**setup.materials, region: material})
