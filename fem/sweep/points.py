"""Which set-ups share their mesh, and where among them one lies: overhang, materials, faces, edge.

A set-up is split in two: its *likeness*, what decides mesh and topology, and its *point*, the numbers by
which the matrices of like set-ups differ by factors alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from stickout.fem.setup.parts import Setup
from stickout.fem.solid.setting import hold_of
from stickout.fem.study.study import held_as_one
from stickout.fem.units import MM, N_PER_UM_MM2
from stickout.meshes.parts import Edge
from stickout.meshes.tagged import FloatArray, IntArray


@dataclass(frozen=True)
class Point:
    """Numbers by which like set-ups differ.

    Attributes
    ----------
    overhang
        Overhang of the bar [m].
    young, density
        Young's modulus [Pa] and density [kg/m^3] of every part by name (bar, holder, shim, wrap).
    normal, shear
        Stiffness of the touching faces [N/m^3]; 0 where none are modelled.
    mass
        Point mass at the edge [kg].
    lever
        The edge from the middle of the end face [m], in the section's own frame, shape (3,).
    """

    overhang: float
    young: Mapping[str, float]
    density: Mapping[str, float]
    normal: float
    shear: float
    mass: float
    lever: tuple[float, float, float]


@dataclass(frozen=True)
class Points:
    """Points as columns: one value each in every array, ``lever`` (n, 3); the fields of ``Point``."""

    overhang: FloatArray
    young: Mapping[str, FloatArray]
    density: Mapping[str, FloatArray]
    normal: FloatArray
    shear: FloatArray
    mass: FloatArray
    lever: FloatArray

    @staticmethod
    def of(points: Sequence[Point]) -> Points:
        """Return points, at least one, as columns."""
        return Points(
            overhang=np.array([p.overhang for p in points]),
            young={name: np.array([p.young[name] for p in points]) for name in points[0].young},
            density={name: np.array([p.density[name] for p in points]) for name in points[0].density},
            normal=np.array([p.normal for p in points]),
            shear=np.array([p.shear for p in points]),
            mass=np.array([p.mass for p in points]),
            lever=np.array([p.lever for p in points]),
        )

    def __len__(self) -> int:
        """Return the number of points."""
        return len(self.overhang)

    def pick(self, rows: slice | IntArray) -> Points:
        """Return some of the points."""
        return Points(
            self.overhang[rows],
            {name: values[rows] for name, values in self.young.items()},
            {name: values[rows] for name, values in self.density.items()},
            self.normal[rows],
            self.shear[rows],
            self.mass[rows],
            self.lever[rows],
        )

    def one(self, row: int) -> Points:
        """Return one of the points."""
        return self.pick(slice(row, row + 1))


def likeness(setup: Setup) -> str:
    """Return what decides mesh and topology of a set-up in its own frame, as a text to compare.

    Two set-ups with the same likeness differ by their points alone, and in what is no mechanics: loss
    factors, the cut, the words. An overhang belongs to the point only while no step, wrap or edge mass
    beside the axis ties the mesh to the free end.
    """
    bar, faces = setup.bar, setup.grip.faces
    parts = (
        replace(bar, overhang_mm=bar.overhang_mm if _ends_at_tip(setup) else 0.0),
        hold_of(setup),
        None if faces is None else faces.bonded,
        held_as_one(setup),
        setup.shim,
        setup.wrap,
        _loose(setup),
        _massive_edge(setup),
        {name: one.poisson_ratio.likely for name, one in sorted(setup.materials.items()) if name != "work"},
        (setup.solve.modes, setup.solve.accuracy),
    )
    return repr(parts)


def point_of(setup: Setup) -> Point:
    """Return the point of a set-up in its own frame."""
    modelled = [name for name in setup.materials if name != "work"]
    springs = setup.grip.springs
    normal = 0.0 if springs is None else springs.normal_n_per_um_mm2.likely * N_PER_UM_MM2
    edge = setup.edge
    return Point(
        overhang=setup.bar.overhang_mm * MM,
        young={name: setup.materials[name].youngs_modulus.likely for name in modelled},
        density={name: setup.materials[name].density.likely for name in modelled},
        normal=normal,
        shear=0.0 if springs is None else normal * springs.shear_ratio.likely,
        mass=edge.mass_g * 1e-3,
        lever=(-edge.end_distance_mm * MM, edge.offset_y_mm * MM, edge.offset_z_mm * MM),
    )


def bare(setup: Setup) -> Setup:
    """Return a set-up without what the point tells of the edge; a mass beside the axis stays where it is."""
    return setup if _massive_edge(setup) else replace(setup, edge=Edge())


def _massive_edge(setup: Setup) -> Edge | None:
    """Return the edge where its mass breaks the symmetry of the bar."""
    edge = setup.edge
    return edge if edge.mass_g and (edge.offset_y_mm or edge.offset_z_mm) else None


def _ends_at_tip(setup: Setup) -> bool:
    """Return whether a wrap ends at the free end, so that the overhang cannot change without it."""
    wrap = setup.wrap
    return wrap is not None and wrap.start_mm + wrap.length_mm > setup.bar.overhang_mm * (1 - 1e-6)


def _loose(setup: Setup) -> object:
    """Return what else decides the mass of a loose wrap: the wire it is wound of."""
    if setup.wrap is None or setup.wrap.bond != "loose":
        return None
    return setup.turns and (setup.turns.wire_diameter_mm, setup.turns.pitch_mm)
