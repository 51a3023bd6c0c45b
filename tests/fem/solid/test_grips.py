"""Slots, sleeves, shims and beds: the limits that must hold, and statics of rigid bodies on springs."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import setups
from beam_bars import steel
from beam_references import bed_wave_number, deep_bed_stiffness, without_shear
from solids import STEEL, block, welded
from values import check_value

from stickout.fem.beam.frequencies import tip_stiffness
from stickout.fem.beam.sections import rectangle_section, round_section
from stickout.fem.beam.spans import FREE, Bed, Span
from stickout.fem.setup.file import parse_setup
from stickout.fem.solid.elasticity import Elastic
from stickout.fem.solid.model import Model, Support, held_model
from stickout.fem.solid.modes import solve_modes, static_compliance
from stickout.fem.solid.setting import hold_of
from stickout.fem.solid.supports import Spring
from stickout.fem.study.accuracy import Level
from stickout.fem.study.study import levels_of, solve_level
from stickout.meshes.faces import outer_faces
from stickout.meshes.parts import Bar, Hold, Shim
from stickout.meshes.pieces import Fineness
from stickout.meshes.tagged import FloatArray, TaggedMesh
from stickout.meshes.tool import bar_mesh

# Likely values of the table's steel, and those of sections d and e of the check values.
STEEL_TABLE = Elastic(youngs_modulus=210e9, poisson_ratio=0.30, density=7850.0)
COARSE = Fineness(first=0.3, longest=0.6, skin=0.2)
SHANK = Bar(30, section="square", width_mm=12, gripped_mm=40)
SHIMMED = setups.SLOT + setups.SHIM
SPLIT = setups.with_line(setups.SLEEVE, "grip", "split = true")


def coarsest(text: str, *changes: str) -> Level:
    """Return a set-up solved on its coarsest mesh."""
    setup = parse_setup(text, changes=changes).setup
    return solve_level(setup, levels_of(setup).fineness[0])


def notes(text: str, *changes: str) -> FloatArray:
    """Return the first four frequencies of a set-up on its coarsest mesh [Hz]."""
    return coarsest(text, *changes).modes.frequency_hz[:4]


@pytest.mark.parametrize(
    "text", [setups.SLOT, SHIMMED, setups.SLEEVE, SPLIT], ids=["slot", "shim", "sleeve", "split"]
)
def test_a_stiff_joint_is_a_bonded_one(text: str) -> None:
    """Limit: the gap to the bonded result closes from below, ten times less for ten times the stiffness."""
    bonded = notes(text, "grip.joint_bonded=true")
    gaps = []
    for stiffness in (3e5, 3e6):
        stiff = notes(text, f"grip.joint_n_per_um_mm2={stiffness}", "grip.joint_shear_ratio=0.5")
        gaps.append(1 - stiff / bonded)
    assert np.all(gaps[1] > 0)
    # First order in 1/k once the joint is stiffer than the cells at its rim.
    assert gaps[1] / gaps[0] == pytest.approx(np.full(4, 0.1), abs=0.015)
    assert gaps[1].max() < 1e-4


def test_a_bonded_shim_of_the_same_metal_is_one_piece() -> None:
    """Limit: shank and shim of one steel, bonded, against one solid of the same outline, welded here."""
    text = setups.SQUARE + setups.SHIM.replace("annealed copper", "steel")
    level = coarsest(text, "shim.thickness=3", "bar.material=steel", "bar.gripped=24", "bar.overhang=36")
    solid = stepped_solid(level.model.mesh)
    model = held_model(solid, {"work": STEEL_TABLE}, support=Support(held=("floor", "screws")))
    # Another mesh, even cells of 1.5 to 4 mm: held faces end in singular corners, 1.2 % high at such sizes.
    assert level.modes.frequency_hz[:4] == pytest.approx(solve_modes(model, 4).frequency_hz[:4], rel=1.5e-2)
    # And it is the shim that is tested: without it the tool is stiffer by more than that.
    bare = coarsest(
        text.replace("[shim]", "[solve]").replace('material = "steel"\nthickness = 0.5', "modes = 4")
    )
    assert bare.modes.frequency_hz[0] != pytest.approx(level.modes.frequency_hz[0], rel=0.02)


def stepped_solid(like: TaggedMesh) -> TaggedMesh:
    """Return a solid of even cells: 12 x 12 mm over 36 mm, and 3 mm deeper over the 24 mm behind."""
    size = 1e-3 * np.array([1.0, 1.0, 1.0])

    def box(
        n: tuple[int, int, int], low: tuple[float, float, float], high: tuple[float, float, float]
    ) -> FloatArray:
        start, stop = size * low, size * high
        return block(n, lambda at: start + (at + 1) / 2 * (stop - start))

    mesh = welded(
        [
            box((12, 4, 6), (-24, -6, -6), (0, 6, 6)),
            box((12, 4, 2), (-24, -6, -9), (0, 6, -6)),
            box((9, 4, 6), (0, -6, -6), (36, 6, 6)),
        ]
    )
    facets = outer_faces(mesh.cells)
    middle = mesh.points[facets].mean(axis=1)
    floor = np.abs(middle[:, 2] + 9e-3) < 1e-9
    top = (np.abs(middle[:, 2] - 6e-3) < 1e-9) & (middle[:, 0] < 0)
    patches = {**mesh.patches, "floor": facets[floor], "screws": facets[top]}
    assert like.points[:, 2].min() == pytest.approx(-9e-3)
    return TaggedMesh(mesh.points, mesh.cells, mesh.regions, patches, mesh.edge, mesh.family)


@pytest.mark.parametrize(("grip", "added"), [("held", setups.SHIM), ("slot", setups.SHIM)])
def test_a_shim_of_no_thickness_is_none(grip: str, added: str) -> None:
    """Limit of zero thickness: bonded faces, the layer's compliance goes with its thickness."""
    base = setups.SQUARE if grip == "held" else setups.SLOT
    bonded = () if grip == "held" else ("grip.joint_bonded=true",)
    bare = notes(base, *bonded)
    gaps = [1 - notes(base + added, *bonded, f"shim.thickness={t}") / bare for t in (0.02, 0.005)]
    # 0.02 mm of copper is 1/600 of the depth; the singular rim makes it go slower than the thickness.
    assert np.abs(gaps[1]).max() < 1e-2
    assert np.all(np.abs(gaps[1]) < 0.7 * np.abs(gaps[0]))


def test_a_shim_stays_under_a_bar_turned_over() -> None:
    """Invariance: flats turned by half a turn are the same flats, and what lies under them stays there."""
    slot = 'style = "slot"\nscrews = 1\nscrew_diameter = 6\nfirst_screw = 20'
    text = setups.changed(setups.FLATTED, 'style = "bed"', slot) + setups.SHIM
    assert notes(text, "bar.rotation_deg=180") == pytest.approx(notes(text), rel=1e-6)


def test_a_stiff_bed_holds_the_side_still() -> None:
    """Limit: a bed against the same mesh with the gripped skin fully clamped, from below."""
    mesh = bar_mesh(Bar(64, diameter_mm=16, gripped_mm=30), hold=Hold("bed"), fineness=COARSE)
    steels = dict.fromkeys(mesh.regions, STEEL)
    clamped = solve_modes(held_model(mesh, steels, support=Support(held=("bed",))), 4).frequency_hz
    gaps = []
    for stiffness in (1e16, 1e17):
        bed = Support(springs={"bed": Spring("bed", stiffness, stiffness)})
        gaps.append(1 - solve_modes(held_model(mesh, steels, support=bed), 4).frequency_hz / clamped)
    assert np.all(gaps[1] > 0)
    assert gaps[1].max() < 1e-3
    assert gaps[1][:4] / gaps[0][:4] == pytest.approx(np.full(4, 0.13), abs=0.05)


def on_springs(bar: Bar, hold: Hold, springs: dict[str, Spring], *, shim: Shim | None = None) -> Model:
    """Return a steel bar on springs only."""
    mesh = bar_mesh(bar, hold=hold, shim=shim, fineness=COARSE)
    joints = {name: spring for name, spring in springs.items() if name in mesh.joints}
    grounds = {name: spring for name, spring in springs.items() if name not in mesh.joints}
    support = Support(springs=grounds, joints=joints)
    return held_model(mesh, dict.fromkeys(mesh.regions, STEEL_TABLE), support=support)


def test_a_rigid_shank_tilts_on_a_soft_floor() -> None:
    """Statics of a rigid body: floor and screws so soft that the steel does not count; edge at (40, 0) mm."""
    k, shear = 1e7, 5e6  # N/m^3, a hundred-thousandth of a dry face
    slot = hold_of(parse_setup(setups.SLOT).setup)
    bar = Bar(40, section="square", width_mm=12, gripped_mm=60)
    springs = {name: Spring(name, k, shear) for name in ("floor", "screws")}
    compliance = static_compliance(on_springs(bar, slot, springs))
    # Floor 60 x 12 mm under the shank; two screws of 8 mm, as squares of that area, at 15 and 45 mm on top.
    side = math.sqrt(math.pi / 4) * 0.008
    faces = [(-0.030, 0.060, 0.012, -0.006), (-0.015, side, side, 0.006), (-0.045, side, side, 0.006)]
    # Unknowns: shift along x, shift along z, turn about y; a point (x, z) moves by (u + z t, w - x t).
    whole = np.zeros((3, 3))
    for x, length, width, z in faces:
        area = length * width
        slide, press = np.array([1, 0, z]), np.array([0, 1, -x])
        whole += area * (shear * np.outer(slide, slide) + k * np.outer(press, press))
        whole[2, 2] += k * area * length**2 / 12
    edge = np.array([[1, 0, 0], [0, 1, -0.040]])
    expected = edge @ np.linalg.solve(whole, edge.T)
    # The steel itself gives a ten-thousandth of it.
    assert compliance[np.ix_([0, 2], [0, 2])] == pytest.approx(expected, rel=1e-3)


def test_faces_in_a_row_add_their_compliance() -> None:
    """Closed form: a rigid shank on two soft faces in a row is one on a face half as stiff."""
    slot = hold_of(parse_setup(setups.SLOT).setup)
    bar = Bar(40, section="square", width_mm=12, gripped_mm=60)
    soft = {name: Spring(name, 2e7, 1e7) for name in ("floor", "bar on shim")}
    half = {"floor": Spring("floor", 1e7, 5e6)}
    two = static_compliance(on_springs(bar, slot, soft, shim=Shim(0.1)))
    one = static_compliance(on_springs(bar, slot, half))
    # The lower face lies 0.1 mm deeper: 1.7 % of the arm that the sideways push turns it by, squared.
    assert np.diag(two)[[0, 2]] == pytest.approx(np.diag(one)[[0, 2]], rel=5e-3)
    assert two[1, 1] == pytest.approx(one[1, 1], rel=2e-2)


def test_a_bar_slides_in_its_sleeve() -> None:
    """Closed form: along the bar a soft joint gives shear stiffness times the bore's area."""
    level = coarsest(setups.SLEEVE, "grip.joint_n_per_um_mm2=1e-4", "grip.joint_shear_ratio=0.5")
    skin = math.pi * 0.016 * 0.060
    # 0.5e-4 N/um per mm2 is 5e7 N/m3; a bore drawn with parabolas is exact to 1e-4.
    assert 1 / level.compliance[0, 0] == pytest.approx(5e7 * skin, rel=5e-3)


def beam_on_bed(overhang: Span, gripped_mm: float, lateral: float) -> list[Span]:
    """Return a bar whose gripped part stands on a bed."""
    return [replace(overhang, length=gripped_mm * 1e-3, bed=Bed(lateral=lateral)), overhang]


def test_a_bar_deep_in_a_bed() -> None:
    """Hetenyi's half-infinite beam [e.winkler.lambda], 16 mm bar, 2e10 N/m2, 100 mm deep, 160 mm out."""
    lateral = 2e10
    slender = without_shear(steel(0.160, round_section(0.016, poisson_ratio=0.3)))
    gripped = beam_on_bed(slender, 100, lateral)[0]
    wave = check_value("e.winkler.lambda")
    assert bed_wave_number(gripped) == pytest.approx(wave.value, rel=wave.tolerance["rel"])
    # Springs across a round skin: pi r (normal + shear); next to no shear, which would hold the slope too.
    normal = lateral / (math.pi * 0.008) / 1.001
    springs = {"bed": Spring("bed", normal, 1e-3 * normal)}
    model = on_springs(Bar(160, diameter_mm=16, gripped_mm=100), Hold("bed"), springs)
    solid = 1 / static_compliance(model)[2, 2]
    # Thin beam against solid: shear of ten diameters is 0.5 % of the spring, in the bed as much again.
    assert solid == pytest.approx(deep_bed_stiffness(slender, gripped), rel=0.02)


def one_sided(shim: Shim | None, *, face: float = 1e12) -> tuple[Model, float]:
    """Return a 12 x 12 shank, 40 mm on a floor of 1 N/um per mm2 alone, and its tip stiffness [N/m]."""
    slot = Hold("slot", screws_mm=[20], screw_diameter_mm=4)  # the screws stay loose
    names = ("floor",) if shim is None else ("floor", "bar on shim")
    springs = {name: Spring(name, face, 1e-4 * face) for name in names}
    model = on_springs(SHANK, slot, springs, shim=shim)
    return model, float(1 / static_compliance(model)[2, 2])


def test_shank_and_shim_on_a_one_sided_bed() -> None:
    """[d.shim.*] Shank on a floor; with a shim two such faces in a row, and next to nothing in its metal."""
    slender = without_shear(steel(0.030, rectangle_section(0.012, 0.012, poisson_ratio=0.3)))
    full = steel(0.030, rectangle_section(0.012, 0.012, poisson_ratio=0.3))
    none, two = check_value("d.shim.none.k"), check_value("d.shim.copper0.5.k")
    # The record's transfer matrix is a thin beam on a bed of 1e12 * 12 mm.
    by_record = tip_stiffness(beam_on_bed(slender, 40, 1.2e10), root=FREE) / 1e6
    assert by_record == pytest.approx(none.value, rel=none.tolerance["rel"])
    # Two faces of 1e12 and 0.5 mm of copper, 120 GPa, in a row.
    row = 1 / (2 / 1e12 + 0.5e-3 / 120e9)
    assert tip_stiffness(beam_on_bed(slender, 40, 0.012 * row), root=FREE) / 1e6 == pytest.approx(
        two.value, rel=two.tolerance["rel"]
    )
    # The solid also shears, as Timoshenko's beam does; what is left is the face pressed on one side only.
    bare, shimmed = one_sided(None), one_sided(Shim(0.5))
    assert bare[1] == pytest.approx(tip_stiffness(beam_on_bed(full, 40, 1.2e10), root=FREE), rel=0.01)
    assert shimmed[1] == pytest.approx(tip_stiffness(beam_on_bed(full, 40, 0.012 * row), root=FREE), rel=0.01)
    assert shimmed[1] / bare[1] == pytest.approx(two.value / none.value, rel=0.02)
    model = shimmed[0]
    modes = solve_modes(model, 6)
    # Below it the almost free sliding and turning on the floor; the first that bends and tilts upward.
    upward = int(np.argmax(modes.edge[:, 2] ** 2 / modes.frequency_hz**2))
    energy = {name: values[upward] for name, values in modes.energy.items()}
    share = check_value("d.shim.copper0.5.joint_share").value
    faces = energy["floor"] + energy["bar on shim"] + energy["shim"]
    # The thin beam has no shear energy: 2 % of the whole less for the joints in the solid.
    assert faces / sum(energy.values()) == pytest.approx(share, abs=0.03)
    # The metal alone, per mille; in the solid it is also spread sideways, so half as much again.
    assert energy["shim"] / sum(energy.values()) == pytest.approx(
        check_value("d.shim.copper0.5.shim_share").value, rel=0.5
    )


def test_faces_twice_as_stiff_make_a_shim_neutral() -> None:
    """[d.shim.neutral] Two faces of twice the stiffness in a row are one bare face again."""
    factor = check_value("d.shim.neutral").value
    # 0.05 mm of steel between them gives 1/2400 of what the faces give.
    assert one_sided(Shim(0.05), face=factor * 1e12)[1] == pytest.approx(one_sided(None)[1], rel=3e-3)
