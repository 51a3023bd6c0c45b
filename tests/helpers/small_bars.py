"""Small held bars that use every kind of support, joint and added mass, for the tests of principles."""

from __future__ import annotations

from dataclasses import replace

from solids import STEEL

from stickout.fem.solid.body import Added
from stickout.fem.solid.elasticity import Elastic
from stickout.fem.solid.model import Model, Support, held_model
from stickout.fem.solid.supports import Spring
from stickout.meshes.parts import Bar, Block, Edge, Hold, Shim, Step, Wrap
from stickout.meshes.pieces import Fineness
from stickout.meshes.tagged import TaggedMesh
from stickout.meshes.tool import bar_mesh

COARSE = Fineness(first=0.4, longest=0.8)
ROOT = Support(held=("root",))
COPPER = Elastic(youngs_modulus=117e9, poisson_ratio=0.34, density=8930.0)
ROUND = Bar(64, diameter_mm=16, gripped_mm=30)
FLATTED = Bar(64, section="flatted", diameter_mm=16, across_flats_mm=12)
# Eigenvalues are iterated until the square of the residual is below 1e-7; the error is that or a fifth
# more (measured), and two solves are compared.
ITERATED = 3e-7
SHANK = Bar(40, section="square", width_mm=12, gripped_mm=30)
SUPPORTS = {
    "rigid": ROOT,
    "bed": Support(springs={"bed": Spring("bed", 1e12, 4e11)}),
    "shim": Support(held=("floor", "screws")),
    "sleeve": Support(held=("holder_base",), joints={"bar in sleeve": Spring("bar in sleeve", 1e13, 3e12)}),
    "stepped wrap": ROOT,
}


def model_of(
    mesh: TaggedMesh, support: Support = ROOT, *, material: Elastic = STEEL, mass: float = 0.0
) -> Model:
    """Return a mesh of one material held somehow; a shim is of copper."""
    materials = {name: COPPER if name == "shim" else material for name in mesh.regions}
    return held_model(mesh, materials, support=support, added=Added(edge_mass=mass))


def small_meshes() -> dict[str, TaggedMesh]:
    """Return a mesh for each of ``SUPPORTS``."""
    stepped, short = replace(ROUND, steps=[Step(40, diameter_mm=12)]), replace(ROUND, gripped_mm=16)
    sleeve = Hold("sleeve", block=Block(30, 30, 6))
    return {
        "rigid": bar_mesh(FLATTED, edge=Edge(offset_y_mm=4), fineness=COARSE),
        "bed": bar_mesh(ROUND, hold=Hold("bed"), fineness=COARSE),
        "shim": bar_mesh(SHANK, hold=Hold("held", (5, 25)), shim=Shim(1), fineness=COARSE),
        "sleeve": bar_mesh(short, hold=sleeve, fineness=COARSE),
        "stepped wrap": bar_mesh(stepped, wrap=Wrap(2, 10, 20), fineness=COARSE),
    }


# Each with 20 g at the edge.
MODELS = {name: model_of(mesh, SUPPORTS[name], mass=0.02) for name, mesh in small_meshes().items()}
