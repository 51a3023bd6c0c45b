"""A held bar in a few dozen unknowns, split into the parts that uncertain inputs scale.

The space holds modes and static shapes at the likely stiffness of the joints, and one step of inverse
iteration at both ends of their bands and with each joint soft alone. By Rayleigh's principle what it misses
is of second order in between.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from stickout.fem.compare.inputs import NORMAL, RUBBING, SHEAR, joint_part
from stickout.fem.setup.bands import Band
from stickout.fem.setup.parts import Absorber, Setup
from stickout.fem.solid.carrier import CARRIER
from stickout.fem.solid.model import Model, held_model, tie_layers
from stickout.fem.solid.modes import solve_modes
from stickout.fem.solid.section_motion import section_face
from stickout.fem.solid.setting import added_mass, elastic, hold_of, region_materials, support_of
from stickout.fem.solid.slab import Ties
from stickout.fem.study.on_post import carrier_of
from stickout.fem.study.study import levels_of
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray, IntArray
from stickout.meshes.tool import bar_mesh

_MODES = 4  # solved at each stiffness, two more come with them
_SAME = 1e-10  # directions of the space weaker than this are dropped


@dataclass(frozen=True)
class Reduced:
    """A held bar projected on a small space of n shapes.

    Attributes
    ----------
    stiffness, mass
        Part -> matrix (n, n), [N/m] and [kg], at the likely inputs. Parts are regions, the normal and the
        shear part of each joint, the loose wrap; ``fixed`` is mass that no input rules.
    edge
        Motion of the edge in each shape, shape (n, 3).
    ties
        Names of the beds and joints.
    place
        Motion of the absorber's place in each shape, shape (n, 3); zero without an absorber.
    absorber
        The absorber there; None without one.
    sections
        Motion of the bar's section at the distances asked for [m], shape (n, 3) each.
    """

    stiffness: Mapping[str, FloatArray]
    mass: Mapping[str, FloatArray]
    edge: FloatArray
    ties: tuple[str, ...]
    place: FloatArray
    absorber: Absorber | None = None
    sections: Mapping[float, FloatArray] = field(default_factory=dict)


def reduced_model(setup: Setup, *, places: Sequence[float] = ()) -> Reduced:
    """Return the reduced model of a set-up, from its coarsest mesh.

    Parameters
    ----------
    setup
        The set-up, checked.
    places
        Distances from the holder face whose motion is wanted [m].

    Returns
    -------
    Reduced
        Ratios of two set-ups from such models lie within about one per cent of those from fine meshes.

    Raises
    ------
    SolveError
        The stiffness is not positive, or the modes did not converge.
    """
    model = _coarse(setup)
    layers = tie_layers(model.mesh, support_of(setup))
    strained, space = _with_ride(
        setup, model, model.layout.spread(_independent(_shapes(setup, model, layers)))
    )
    cells = model.mesh.cells
    stiffness = {
        name: _projected(cells[pick], model.matrices.stiffness(pick), strained)
        for name, pick in model.mesh.regions.items()
    }
    for name, (normal, shear) in layers.items():
        stiffness[joint_part(name, NORMAL)] = _projected(normal.nodes, normal.stiffness, strained)
        stiffness[joint_part(name, SHEAR)] = _projected(shear.nodes, shear.stiffness, strained)
    masses = _masses(model, space)
    _carry(setup, stiffness, masses)
    edge = model.face.motion(space).T
    place = np.zeros_like(edge)
    if setup.absorber is not None:
        place = section_face(model.mesh, setup.absorber.position_mm * MM).motion(space).T
    sections = {x: section_face(model.mesh, x).motion(space).T for x in places}
    return Reduced(stiffness, masses, edge, tuple(model.ties), place, setup.absorber, sections)


def held_still(model: Reduced) -> Reduced:
    """Return the model with its post held still; without a post it comes back as it is."""
    post = model.stiffness.get(CARRIER)
    ways = 0 if post is None else int(np.count_nonzero(np.diag(post)))
    if not ways:
        return model
    # Parts of the post stay as nothing, since inputs of the set-up still name them.
    stiffness, mass = (
        {name: one[:-ways, :-ways] for name, one in parts.items()} for parts in (model.stiffness, model.mass)
    )
    sections = {x: one[:-ways] for x, one in model.sections.items()}
    return replace(
        model,
        stiffness=stiffness,
        mass=mass,
        edge=model.edge[:-ways],
        place=model.place[:-ways],
        sections=sections,
    )


def _with_ride(setup: Setup, model: Model, space: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return shapes as what they strain and as how they move; the ride on a post strains nothing."""
    carrier = carrier_of(setup)
    if carrier is None:
        return space, space
    ride = carrier.motion(model.mesh.points)
    still = np.concatenate([space, np.zeros_like(ride)], axis=2)
    return still, np.concatenate([space, ride], axis=2)


def _carry(setup: Setup, stiffness: dict[str, FloatArray], masses: dict[str, FloatArray]) -> None:
    """Add springs and mass of a post, which rule the last of the shapes."""
    carrier = carrier_of(setup)
    if carrier is None:
        return
    ride = slice(-carrier.root.shape[1], None)
    stiffness[CARRIER] = np.zeros_like(masses["fixed"])
    stiffness[CARRIER][ride, ride] = np.eye(carrier.root.shape[1])
    own = np.zeros_like(masses["fixed"])
    own[ride, ride] = carrier.own_mass
    masses[CARRIER] = own


def _shapes(setup: Setup, model: Model, layers: Mapping[str, tuple[Ties, Ties]]) -> FloatArray:
    """Return modes, and static and inertial responses at likely, soft and stiff joints, (n_unknowns, m)."""
    modes = solve_modes(model, _MODES)
    columns = [modes.shapes.transpose(1, 2, 0)]
    for scale in _corners(setup, tuple(model.ties)):
        ties = {name: _scaled(layers[name], scale[name]) for name in model.ties}
        for number, part in enumerate(replace(model, ties=ties).parts):
            # Inverse iteration from the likely modes: no eigenproblem needs to be solved again.
            mine = part.own(modes.shapes[modes.part == number].transpose(1, 2, 0))
            loads = np.hstack([part.model.edge_loads, part.model.apply_mass(mine)])
            columns.append(part.whole(part.model.factor.solve(loads), len(model.mesh.points)))
    return model.layout.gather(np.concatenate(columns, axis=2))


def _coarse(setup: Setup) -> Model:
    """Return the model of a set-up on its coarsest mesh."""
    fineness = levels_of(setup).fineness[0]
    mesh = bar_mesh(
        setup.bar, hold=hold_of(setup), edge=setup.edge, shim=setup.shim, wrap=setup.wrap, fineness=fineness
    )
    materials = {name: elastic(one) for name, one in region_materials(setup, mesh).items()}
    return held_model(mesh, materials, support=support_of(setup), added=added_mass(setup, mesh))


def _scaled(layers: tuple[Ties, Ties], scale: float) -> Ties:
    """Return both parts of a joint as one, softer or stiffer."""
    normal, shear = layers
    return Ties(normal.nodes, scale * (normal.stiffness + shear.stiffness))


def _corners(setup: Setup, ties: tuple[str, ...]) -> Iterator[dict[str, float]]:
    """Yield factors of the joints' stiffness at which shapes are taken into the space."""
    yield dict.fromkeys(ties, 1.0)
    band = _stiffness_band(setup)
    if not ties or band.low == band.high:
        return
    soft, stiff = band.low / band.likely, band.high / band.likely
    yield dict.fromkeys(ties, soft)
    yield dict.fromkeys(ties, stiff)
    for name in ties if len(ties) > 1 else ():
        yield dict.fromkeys(ties, 1.0) | {name: soft}


def _stiffness_band(setup: Setup) -> Band:
    faces = setup.grip.faces
    return Band(1.0, 1.0, 1.0, "") if faces is None else faces.normal_n_per_um_mm2


def _independent(columns: FloatArray) -> FloatArray:
    """Return an orthonormal basis of what columns span."""
    length = np.linalg.norm(columns, axis=0)
    there = length > _SAME * length.max()  # a push sideways leaves a part that is even across it at rest
    left, size, _ = np.linalg.svd(columns[:, there] / length[there], full_matrices=False)
    return np.asarray(left[:, size > _SAME * size[0]])


def _projected(nodes: IntArray, matrices: FloatArray, space: FloatArray) -> FloatArray:
    """Return the sum of element matrices (g, 3k, 3k) projected on shapes (n_points, 3, n), (n, n)."""
    moved = space[nodes].reshape(len(nodes), -1, space.shape[2])
    forced = np.matmul(matrices, moved)
    return np.asarray(np.tensordot(moved, forced, axes=([0, 1], [0, 1])))


def _scalar_projected(nodes: IntArray, matrices: FloatArray, space: FloatArray) -> FloatArray:
    """Return the sum of scalar element matrices (g, k, k), alike for x, y and z, projected, (n, n)."""
    moved = space[nodes].reshape(*nodes.shape, -1)
    forced = np.matmul(matrices, moved).reshape(*nodes.shape, 3, -1)
    return np.asarray(np.tensordot(moved.reshape(forced.shape), forced, axes=([0, 1, 2], [0, 1, 2])))


def _masses(model: Model, space: FloatArray) -> dict[str, FloatArray]:
    """Return the projected mass of every region, of a loose wrap, and of the point mass at the edge."""
    cells, scalar = model.mesh.cells, model.matrices.scalar_mass()
    out = {
        name: _scalar_projected(cells[pick], scalar[pick], space) for name, pick in model.mesh.regions.items()
    }
    for nodes, mass in model.added.skins:
        out[RUBBING] = _scalar_projected(nodes, mass, space)
    edge = model.face.motion(space)
    out["fixed"] = model.added.edge_mass * edge.T @ edge
    return out
