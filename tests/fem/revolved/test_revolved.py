"""Bars of revolution: closed forms, the converged values of others, and our own meshes."""

from __future__ import annotations

import sys
from functools import partial
from pathlib import Path

import numpy as np
import pytest
from solids import STEEL
from values import verify_records

from stickout.fem.errors import SolveError
from stickout.fem.revolved.bar import Fine, Length, RevolvedBar, Ring
from stickout.fem.revolved.cells import cells_of
from stickout.fem.revolved.section import BENDING
from stickout.fem.revolved.solve import Solution, solve
from stickout.fem.revolved.wave import Wave
from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.elasticity import Elastic
from stickout.fem.solid.kinds import kind_shares
from stickout.fem.solid.supports import Spring
from stickout.fem.study import study
from stickout.fem.study.accuracy import refine
from stickout.fem.study.of_revolution import SPACES, revolved_bar, solved_as_revolved
from stickout.fem.study.study import levels_of, limit_of, mesh_of, solve_level, unknowns_of

sys.path.append(str(Path(__file__).parents[2] / "benchmarks"))
from round_bar import CONVERGED_HZ, DIAMETER_MM, LENGTH_MM

RADIUS, LONG = DIAMETER_MM / 2e3, LENGTH_MM / 1e3
MIDDLE = SPACES[1]


def rod(long: float, *, bore: float = 0.0, radius: float = RADIUS, material: Elastic = STEEL) -> RevolvedBar:
    """Return a bar of one section held at its first face, its edge amid the last one."""
    ring = Ring(bore, radius, material, "bar")
    return RevolvedBar([Length(0.0, long, [ring])], held=True, edge=np.array([long, 0.0, 0.0]))


@pytest.mark.parametrize("number", [1, 2])
def test_six_modes_of_a_round_bar(number: int) -> None:
    """Converged values of tests/benchmarks/round_bar.py (another program's Fourier series, order 8)."""
    found = solve(rod(LONG), SPACES[number], wanted=6).frequency_hz
    assert found == pytest.approx(CONVERGED_HZ, rel=(3e-5, 3e-6)[number - 1])
    assert np.all(found > CONVERGED_HZ * (1 - 1e-8))


def test_twist_and_stretch_of_a_slender_bar() -> None:
    """Twist: sqrt(G/rho)/(4L), exact; stretch: Rayleigh's 1 - (nu pi r / 4L)^2 / 4 of sqrt(E/rho)/(4L)."""
    long = 40 * RADIUS
    shear = STEEL.youngs_modulus / (2 * (1 + STEEL.poisson_ratio))
    twist = np.sqrt(shear / STEEL.density) / (4 * long)
    stretch = np.sqrt(STEEL.youngs_modulus / STEEL.density) / (4 * long)
    found = solve(rod(long), MIDDLE, wanted=12).frequency_hz
    assert np.abs(found / twist - 1).min() < 1e-8
    # The held end may not narrow, which stiffens it a little: by parts of a radius in the length.
    assert np.abs(found / stretch - 1).min() < 0.002


def test_static_compliance_of_a_slender_bar() -> None:
    """L/EA along, L^3/3EI across with shear at 10/9 (Cowper's factor for a round bar is near 0.9)."""
    long, area, second = 60 * RADIUS, np.pi * RADIUS**2, np.pi * RADIUS**4 / 4
    shear = STEEL.youngs_modulus / (2 * (1 + STEEL.poisson_ratio))
    found = np.diag(solve(rod(long), MIDDLE, wanted=1).compliance)
    bent = long**3 / (3 * STEEL.youngs_modulus * second) + long / (0.9 * shear * area)
    assert found == pytest.approx([long / (STEEL.youngs_modulus * area), bent, bent], rel=2e-3)


def test_an_edge_beside_the_axis_twists_the_bar() -> None:
    """The twist adds r^2 L/GJ across the lever: of order 0 and 1 only this one knows the torsion constant."""
    long, lever = 20 * RADIUS, 3 * RADIUS
    plain = rod(long)
    beside = RevolvedBar(plain.lengths, held=True, edge=np.array([long, lever, 0.0]))
    shear = STEEL.youngs_modulus / (2 * (1 + STEEL.poisson_ratio))
    gain = (solve(beside, MIDDLE, wanted=1).compliance - solve(plain, MIDDLE, wanted=1).compliance)[2, 2]
    assert gain == pytest.approx(lever**2 * long / (shear * np.pi * RADIUS**4 / 2), rel=1e-6)


@pytest.mark.parametrize("order", [2, 3, 4])
def test_a_thin_ring_rings_as_rings_do(order: int) -> None:
    """w^2 = E h^2 / (12 rho (1 - nu^2) R^4) n^2 (n^2 - 1)^2 / (n^2 + 1): Love's ring in plane strain."""
    thick, middle = RADIUS / 50, RADIUS * 0.99
    bar = rod(LONG, bore=middle - thick / 2, radius=middle + thick / 2)
    wave = Wave(bar, cells_of(bar, Fine(4, 4, 0), waves=1.0), order=order, parts=BENDING)
    n2, stiff = order**2, STEEL.youngs_modulus / (1 - STEEL.poisson_ratio**2)
    ring = stiff * thick**2 / (12 * STEEL.density * middle**4) * n2 * (n2 - 1) ** 2 / (n2 + 1)
    assert wave.lowest_of_sections == pytest.approx(ring, rel=3e-3)


def record_setups() -> list[tuple[str, Setup, dict]]:
    """Return the records of verify.json that are bodies of revolution."""
    every = [(r["id"], parse_setup(r["setup"]).setup, r) for r in verify_records()]
    return [one for one in every if solved_as_revolved(one[1])]


@pytest.mark.parametrize(("setup", "record"), [pytest.param(s, r, id=name) for name, s, r in record_setups()])
def test_told_errors_cover_those_made_against_an_independent_library(setup: Setup, record: dict) -> None:
    """Converged 3-D solutions by an independent hp library (tests/data/verify.json): notes and springs."""
    limit, hz = limit_of(setup), np.array(record["frequencies_hz"])
    n = len(hz)
    doubt = record["error_estimate"]
    assert np.all(np.abs(limit.frequency_hz[:n] / hz - 1) <= limit.error[:n] + doubt)
    given = np.array([record["compliance_m_per_n"][axis] for axis in "xyz"])
    off = np.abs(np.diag(limit.compliance) / given - 1)
    assert np.all(off <= np.diag(limit.compliance_error) + doubt)
    assert np.all(limit.error[:n] < 2e-4)


STEEL_BAR = 'units = "mm"\n[bar]\nmaterial = "steel"\n'
BESIDE = "[edge]\nmass_g = 12\noffset_y = 3\noffset_z = -5\nend_distance = 4\n"
WRAP = '[wrap]\nmaterial = "tin-lead solder"\nthickness = 2\nstart = 45\nlength = 25\nbond = "bonded"\n'
RIGID = '[grip]\nstyle = "rigid"\n'
SOFT = '[grip]\nstyle = "bed"\nbed_n_per_um_mm2 = 2\n'
STEP = "[[bar.steps]]\nstart = 30\ndiameter = 14\n"
AGAINST_MESHES = {
    "mass beside the axis": f'section = "round"\ndiameter = 16\noverhang = 60\n{BESIDE}{RIGID}',
    "stepped on a bed": f'section = "round"\ndiameter = 20\noverhang = 60\ngripped = 40\n{STEP}{SOFT}',
    "bored, wrapped to the tip": f'section = "tube"\ndiameter = 16\nbore = 8\noverhang = 70\n{RIGID}{WRAP}',
}


@pytest.mark.parametrize("text", AGAINST_MESHES.values(), ids=AGAINST_MESHES.keys())
def test_our_own_meshes_tell_the_same(text: str) -> None:
    """Hexahedra with a mesh's own limit and told error: other elements, another search."""
    setup = parse_setup(STEEL_BAR + text).setup
    assert solved_as_revolved(setup)
    ours, n = limit_of(setup), setup.solve.modes
    theirs = refine(
        partial(solve_level, setup),
        levels_of(setup),
        accuracy=5e-3,
        wanted=n,
        size=partial(unknowns_of, setup),
    )
    apart = np.abs(ours.frequency_hz / theirs.frequency_hz - 1)[:n]
    assert np.all(apart <= (ours.error + theirs.error)[:n])
    size = np.sqrt(np.diag(theirs.compliance))
    entry = np.abs(ours.compliance - theirs.compliance) / np.outer(size, size)
    assert np.all(entry <= ours.compliance_error + theirs.compliance_error)
    mesh = theirs.finest.modes
    edge = np.linalg.norm(mesh.edge[:n], axis=1)
    assert np.linalg.norm(ours.finest.modes.edge[:n], axis=1) == pytest.approx(edge, rel=5e-3, abs=0.02)
    for name, energy in mesh.energy.items():
        total = sum(mesh.energy.values())
        mine = ours.finest.modes.energy[name] / sum(ours.finest.modes.energy.values())
        assert mine[:n] == pytest.approx((energy / total)[:n], abs=2e-3)
    assert list(ours.finest.kinds[:n]) == list(theirs.finest.kinds[:n])


def test_shapes_on_a_mesh_are_mass_normalised_and_move_the_edge_as_told() -> None:
    """The mesh's own mass matrix and the mean motion of its end face, both made without a Fourier series."""
    setup = parse_setup(STEEL_BAR + AGAINST_MESHES["mass beside the axis"]).setup
    level = limit_of(setup).finest
    model, modes = level.model, level.modes
    shapes = modes.shapes.transpose(1, 2, 0)
    pushed = (model.scalar_mass @ shapes.reshape(len(shapes), -1)).reshape(shapes.shape)
    gram = np.tensordot(shapes, pushed, axes=([0, 1], [0, 1]))
    gram = gram + model.added.edge_mass * modes.edge @ modes.edge.T
    assert gram == pytest.approx(np.eye(len(gram)), abs=1e-3)
    moved = model.face.motion(shapes).T
    assert moved == pytest.approx(modes.edge, abs=1e-3 * np.abs(modes.edge).max())


@pytest.mark.parametrize("text", AGAINST_MESHES.values(), ids=AGAINST_MESHES.keys())
def test_kinds_and_greatest_motions_are_those_of_the_shapes_drawn(text: str) -> None:
    """Sections of the mesh, taken node by node, against integrals over radius and length."""
    setup = parse_setup(STEEL_BAR + text).setup
    solution = solve(revolved_bar(setup), MIDDLE, wanted=8)
    mesh = mesh_of(setup, levels_of(setup).fineness[1])
    shapes = solution.motion(mesh.points)
    assert solution.kind_shares() == pytest.approx(kind_shares(mesh, shapes), abs=5e-3)
    drawn = np.linalg.norm(shapes, axis=2).max(axis=1)
    assert np.all(solution.most() > 0.999 * drawn)
    # Of a mode that moves in several ways the sum of theirs is told.
    assert np.all(solution.most() < (2.0 if "offset" in text else 1.01) * drawn)


def test_a_body_of_revolution_is_answered_without_a_mesh(monkeypatch: pytest.MonkeyPatch) -> None:
    """The mesh is made for a picture; asked for twice it is the same one."""
    setup = parse_setup(STEEL_BAR + AGAINST_MESHES["stepped on a bed"]).setup
    made: list[object] = []
    told = study.bar_mesh

    def counted(*given: object, **named: object) -> object:
        made.append(given)
        return told(*given, **named)

    monkeypatch.setattr(study, "bar_mesh", counted)
    result = study.run_study(setup)
    assert not made
    assert result.modes.shapes.shape[1] == len(result.model.mesh.points)
    assert len(made) == 1


def spaces_of(bar: RevolvedBar) -> list[Solution]:
    """Return the first three spaces' solutions of a bar."""
    return [solve(bar, fine, wanted=8) for fine in SPACES[:3]]


@pytest.mark.parametrize("bore", [0.0, 0.9])
@pytest.mark.parametrize("poisson", [0.2, 0.4])
@pytest.mark.parametrize("aspect", [1.5, 12.0])
def test_spaces_lie_in_each_other(bore: float, poisson: float, aspect: float) -> None:
    """Frequencies fall, compliance grows as a matrix (min-max), and what is to come keeps to its bounds."""
    material = Elastic(100e9, poisson, 4000.0)
    first, second, third = spaces_of(rod(2 * aspect * RADIUS, bore=bore * RADIUS, material=material))
    fell = first.frequency_hz - second.frequency_hz
    again = second.frequency_hz - third.frequency_hz
    assert np.all(fell > -1e-8 * second.frequency_hz)
    # A slender, thin tube's third space has lost digits to rounding.
    assert np.all(again > -(2e-6 if bore and aspect > 10 else 1e-8) * second.frequency_hz)
    grown = second.compliance - first.compliance
    assert np.linalg.eigvalsh(grown).min() > -1e-8 * np.abs(grown).max()
    seen = fell > 0.05 * second.frequency_hz * (fell / second.frequency_hz).max()
    # Below 3e-6, the least error told, a step follows no rule.
    assert np.all((again < 0.11 * fell + 3e-6 * second.frequency_hz)[seen])


def test_a_bar_that_is_hardly_held_is_refused_or_swings_as_a_rigid_one() -> None:
    """On springs of next to nothing the lowest mode is that of a rigid body on springs: m w^2 = k area."""
    long = 4 * RADIUS
    spring = Spring("bed", 1e6, 1e6)
    rings = [Ring(0.0, RADIUS, STEEL, "grip")]
    lengths = [
        Length(-long, 0.0, rings, ("bed", spring)),
        Length(0.0, 1e-3, [Ring(0.0, RADIUS, STEEL, "bar")]),
    ]
    bar = RevolvedBar(lengths, held=False, edge=np.array([1e-3, 0.0, 0.0]))
    mass = STEEL.density * np.pi * RADIUS**2 * (long + 1e-3)
    along = np.sqrt(1e6 * 2 * np.pi * RADIUS * long / mass) / (2 * np.pi)
    found = solve(bar, Fine(3, 2, 0), wanted=6).frequency_hz
    assert np.abs(found / along - 1).min() < 1e-4
    loose = RevolvedBar([Length(0.0, long, rings)], held=False, edge=np.array([long, 0.0, 0.0]))
    with pytest.raises(SolveError, match="not positive"):
        solve(loose, Fine(3, 2, 0), wanted=1)


def test_a_setup_of_revolution_is_told_from_others() -> None:
    """Loose wire is mass alone and flats are not round; their set-ups are left to the meshes."""
    plain = 'section = "round"\ndiameter = 16\noverhang = 60\n'
    rigid = '[grip]\nstyle = "rigid"\n'
    wire = '[wrap]\nmaterial = "tin-lead solder"\nthickness = 2\nstart = 20\nlength = 25\nbond = "loose"'
    assert solved_as_revolved(parse_setup(STEEL_BAR + plain + rigid).setup)
    assert not solved_as_revolved(parse_setup(STEEL_BAR + plain + rigid + wire).setup)
    flats = 'section = "flatted"\ndiameter = 16\nacross_flats = 13\noverhang = 60\n'
    assert not solved_as_revolved(parse_setup(STEEL_BAR + flats + rigid).setup)


def test_lengths_follow_the_steps_the_wrap_and_the_bed() -> None:
    """Every change of the section or of what lies on it begins a length; masses add up to the bar's."""
    setup = parse_setup(STEEL_BAR + AGAINST_MESHES["stepped on a bed"]).setup
    lengths = revolved_bar(setup).lengths
    assert [(round(1e3 * one.start, 6), round(1e3 * one.stop, 6)) for one in lengths] == [
        (-40, 0),
        (0, 30),
        (30, 60),
    ]
    assert [one.bed is not None for one in lengths] == [True, False, False]
    assert [[ring.region for ring in one.rings] for one in lengths] == [["grip"], ["bar"], ["bar"]]
