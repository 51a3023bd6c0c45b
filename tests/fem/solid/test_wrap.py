"""Wraps: bonded as a layer that shares the bending, loose as weight alone."""

from __future__ import annotations

import math

import numpy as np
import pytest
import setups
from values import assert_close, check_value

from stickout.fem.setup.file import parse_setup
from stickout.fem.solid.body import Added
from stickout.fem.solid.elasticity import Elastic
from stickout.fem.solid.energy import cell_volumes
from stickout.fem.solid.model import Model, Support, held_model
from stickout.fem.solid.modes import Modes, solve_modes
from stickout.fem.solid.setting import added_mass, wound_mass
from stickout.fem.solid.supports import skin_mass
from stickout.fem.study.damping import energy_shares
from stickout.fem.study.study import levels_of, run_study, solve_level
from stickout.meshes.parts import Bar, Step, Wrap
from stickout.meshes.pieces import Fineness
from stickout.meshes.tagged import FloatArray
from stickout.meshes.tool import bar_mesh

STEEL = Elastic(youngs_modulus=210e9, poisson_ratio=0.3, density=7850.0)
# Twenty diameters long, so that the plane sections of the closed forms are within 0.3 %.
SLENDER = Bar(320, diameter_mm=16)
COARSE = Fineness(first=0.3, longest=1.0)
ROOT = Support(held=("root",))
# The wire of section d: 3 mm lead, close wound; kg per metre of bar.
PER_METRE = 1.5968917948398604


def first_mode(bar: Bar, *, wrap: Wrap | None = None, soft: Elastic = STEEL) -> tuple[Model, Modes]:
    """Return a rigidly held steel bar with a wrap, loose as 3 mm lead wire, and its modes."""
    mesh = bar_mesh(bar, wrap=wrap, fineness=COARSE)
    added = Added()
    if "wound" in mesh.patches:
        skin = skin_mass(mesh, "wound", per_area=spread_mass)
        added = Added(0.0, [(mesh.patches["wound"], skin)])
    materials = {name: soft if name == "wrap" else STEEL for name in mesh.regions}
    model = held_model(mesh, materials, support=ROOT, added=added)
    return model, solve_modes(model, 2)


def spread_mass(radius: FloatArray) -> FloatArray:
    """Return the wire's mass per area of skin [kg/m2]."""
    return PER_METRE / (2 * np.pi * radius)


def note(bar: Bar, **more: object) -> float:
    """Return the first frequency [Hz]."""
    return float(first_mode(bar, **more)[1].frequency_hz[0])  # type: ignore[arg-type]


def wound(diameter_mm: float, **keys: object) -> FloatArray:
    """Return mass per length [kg/m] of a set-up's loose wrap on a bar of some diameter."""
    loose = setups.changed(setups.WRAPPED, '"bonded"', '"loose"')
    text = setups.changed(
        loose, "thickness = 2", "\n".join(f"{key} = {value}" for key, value in keys.items())
    )
    return wound_mass(parse_setup(text).setup)(np.array(diameter_mm * 1e-3))


def test_mass_of_wound_wire() -> None:
    """[d.wrap.m_per_m] and its ratio to the bar: 3 mm lead close-wound on 16 mm, table density 11340."""
    loose = setups.changed(setups.WRAPPED, '"bonded"', '"loose"').replace("tin-lead solder", "lead")
    text = setups.changed(loose, "thickness = 2", "wire_diameter = 3\npitch = 3")
    per_length = wound_mass(parse_setup(text).setup)(np.array(0.016))
    assert_close("d.wrap.m_per_m", float(per_length))
    assert_close("d.wrap.ratio", float(per_length) / (7850 * math.pi * 0.008**2))


def test_wire_and_layer() -> None:
    """Closed forms: a full layer is a ring; close-wound round wire fills pi/4 of one, but for its slope."""
    ring = 8500 * math.pi / 4 * (0.020**2 - 0.016**2)
    assert float(wound(16, thickness=2)) == pytest.approx(ring, rel=1e-12)
    close, open_ = float(wound(16, wire_diameter=2)), float(wound(16, wire_diameter=2, pitch=8))
    # The helix is longer than its rings by (p / pi (D + d))^2 / 2: 0.06 % and 1 %.
    assert close / ring == pytest.approx(math.pi / 4, rel=1e-3)
    assert open_ / close == pytest.approx(1 / 4, rel=2e-2)
    assert open_ > close / 4


@pytest.mark.parametrize("bar", ["round", "tube", "stepped"])
def test_the_skin_carries_the_wire_and_no_more(bar: str) -> None:
    """Closed form: the matrix sums to mass per length times length, on each piece its own, no more."""
    base = {"round": setups.ROUND, "tube": setups.TUBE, "stepped": setups.STEPPED}[bar]
    loose = setups.changed(setups.WRAP, '"bonded"', '"loose"').replace("start = 50", "start = 30")
    setup = parse_setup(base + loose).setup
    level = solve_level(setup, levels_of(setup).fineness[0])
    ((_, mass),) = added_mass(setup, level.model.mesh).skins
    per_length = wound_mass(setup)
    sizes = (0.016, 0.012 if bar == "stepped" else 0.016)
    lengths = (0.010, 0.020)  # from 30 to 60 mm; the step is at 40
    expected = sum(float(per_length(np.array(d))) * length for d, length in zip(sizes, lengths, strict=True))
    # Round skins drawn with parabolas over 45 degrees: 1e-4.
    assert mass.sum() == pytest.approx(expected, rel=2e-4)
    assert "wrap" not in level.model.mesh.regions
    assert set(level.modes.energy) == {"bar", "grip", "bed"}


@pytest.mark.parametrize(
    ("start", "length", "record"),
    [
        (0, 320, "d.wrap.fratio.full"),
        (0, 160, "d.wrap.fratio.0-0.5"),
        (160, 160, "d.wrap.fratio.0.5-1"),
        (80, 160, "d.wrap.fratio.0.25-0.75"),
    ],
)
def test_notes_under_a_loose_wrap(start: float, length: float, record: str) -> None:
    """[d.wrap.fratio.*] Thin beams with mass alone; the solid's rotary inertia and shear are 0.1 % here."""
    ratio = note(SLENDER, wrap=Wrap(3, start, length, "loose")) / note(SLENDER)
    assert ratio == pytest.approx(check_value(record).value, rel=2e-3)


@pytest.mark.parametrize(
    ("name", "modulus", "density"),
    # The records' moduli; their densities, from memory, are the table's.
    [("solder60Sn40Pb", 30e9, 8500.0), ("lead", 16e9, 11340.0), ("copper.annealed", 120e9, 8930.0)],
)
def test_a_bonded_wrap_shares_the_bending(name: str, modulus: float, density: float) -> None:
    """[d.sleeve.*] Plane sections: share EsIs / (EI + EsIs), note by both stiffnesses and both masses."""
    # Poisson's ratio of the steel: plane sections know no other.
    soft = Elastic(youngs_modulus=modulus, poisson_ratio=0.3, density=density)
    model, modes = first_mode(SLENDER, wrap=Wrap(3, 0, 320), soft=soft)
    share = energy_shares(modes.energy)["wrap"][0]
    inner, outer = 0.016**4, 0.022**4
    expected = modulus * (outer - inner) / (210e9 * inner + modulus * (outer - inner))
    # Shear of twenty diameters, and the held face: some per mille.
    assert share == pytest.approx(expected, rel=6e-3)
    eta = {"lead": 0.02, "solder60Sn40Pb": 0.02, "copper.annealed": 0.002}[name]
    assert share * eta == pytest.approx(check_value(f"d.sleeve.{name}.eta").value, rel=6e-3)
    ratio = modes.frequency_hz[0] / note(SLENDER)
    by_record = {"lead": "d.sleeve.lead.hi.fratio"}.get(name, f"d.sleeve.{name}.fratio")
    assert ratio == pytest.approx(check_value(by_record).value, rel=4e-3)
    assert len(model.mesh.regions["wrap"]) > 0


def test_a_steel_wrap_is_a_thicker_bar() -> None:
    """Limit: a bonded layer of the bar's own metal over the whole overhang; and [d.sleeve.vs_steel]."""
    wrapped = first_mode(Bar(320, diameter_mm=16), wrap=Wrap(2, 0, 320))[1].frequency_hz[0]
    # Two meshes of one solid, both coarse.
    assert wrapped == pytest.approx(note(Bar(320, diameter_mm=20)), rel=2e-3)
    # Same density, so stiffness goes with the square of the note times the area: (20/16)^4.
    stiffness = (wrapped / note(SLENDER)) ** 2 * (20 / 16) ** 2
    assert stiffness == pytest.approx(check_value("d.sleeve.vs_steel").value, rel=5e-3)


def test_a_wrap_of_no_thickness_is_none() -> None:
    """Limit: bonded and loose, the change of the note goes with the thickness."""
    bare = note(SLENDER)
    soft = Elastic(youngs_modulus=30e9, poisson_ratio=0.38, density=8500.0)
    gaps = [note(SLENDER, wrap=Wrap(t, 160, 160), soft=soft) / bare - 1 for t in (0.1, 0.02)]
    assert gaps[1] / gaps[0] == pytest.approx(0.2, rel=0.1)
    assert abs(gaps[1]) < 3e-3
    text = setups.changed(setups.WRAPPED, '"bonded"', '"loose"')
    thin = parse_setup(text, changes=["wrap.thickness=0.02"]).setup
    none = parse_setup(setups.ROUND).setup
    notes = [solve_level(s, levels_of(s).fineness[0]).modes.frequency_hz[0] for s in (thin, none)]
    # 0.02 mm of 8500 kg/m3 near the end of an 80 mm bar: 0.5 % of its mass, where it counts most; and
    # the stations where the wrap begins make another mesh.
    assert notes[0] == pytest.approx(notes[1], rel=5e-3)


def test_a_wrap_on_a_step_follows_it() -> None:
    """A bonded wrap over a step is a layer of its own on each size; volumes by closed form."""
    mesh = bar_mesh(Bar(80, diameter_mm=16, steps=[Step(40, diameter_mm=12)]), wrap=Wrap(2, 30, 30))
    volume = cell_volumes(mesh.points, mesh.cells[mesh.regions["wrap"]]).sum()
    expected = math.pi * (0.010**2 - 0.008**2) * 0.010 + math.pi * (0.008**2 - 0.006**2) * 0.020
    assert volume == pytest.approx(expected, rel=1e-6)


def test_rubbing_is_a_band_from_none() -> None:
    """What the user gives is the upper end; likely and low stay those of the bar."""
    loose = setups.changed(setups.WRAPPED, '"bonded"', '"loose"')
    text = setups.changed(loose, "bond =", "rubbing_loss_factor = 0.2\nbond =")
    coarse = ["solve.accuracy=0.01", "solve.modes=2"]
    plain, rubbed = (run_study(parse_setup(t, changes=coarse).setup) for t in (loose, text))
    assert rubbed.loss.likely[:2] == pytest.approx(plain.loss.likely[:2], rel=1e-12)
    assert rubbed.loss.low[:2] == pytest.approx(plain.loss.low[:2], rel=1e-12)
    added = rubbed.loss.high[:2] - plain.loss.high[:2]
    # At most the given figure, and a good part of it: the wrap sits where the bar moves most.
    assert np.all((added > 0.03) & (added < 0.2))
