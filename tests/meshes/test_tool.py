"""Meshes of held bars: volumes, conforming steps, regions, patches, edge, quality."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from measured import area, facing, skin, volume

from stickout.meshes.check import check_mesh, mesh_quality
from stickout.meshes.errors import InputError
from stickout.meshes.faces import face_counts
from stickout.meshes.outlines import Outline
from stickout.meshes.parts import Bar, Block, Edge, Hold, Shim, Step, Wrap
from stickout.meshes.pieces import Fineness, pieces_of
from stickout.meshes.tagged import TaggedMesh
from stickout.meshes.tool import bar_mesh

MM = 1e-3
ROUND = Bar(80, diameter_mm=16, gripped_mm=48)
SHANK = Bar(40, section="square", width_mm=12, gripped_mm=60)
HELD = Hold("held", (15, 45))
BED = Hold("bed")


def exact_volume(bar: Bar, hold: Hold | None = None) -> float:
    """Return the volume of a bar, length by length [m^3]."""
    return sum(
        (p.stop - p.start) * (p.outline.area() - (p.bore.area() if p.bore else 0.0))
        for p in pieces_of(bar, hold or Hold("rigid"))
    )


def checked(mesh: TaggedMesh) -> TaggedMesh:
    """Return a mesh that has passed the public check."""
    check_mesh(mesh)
    return mesh


def test_volume_of_random_bars() -> None:
    """Closed forms: bars of random kind, size, step and turn; seed fixed."""
    draw = np.random.default_rng(11)
    for _ in range(12):
        d, ratio = float(draw.uniform(6, 50)), float(draw.uniform(0.4, 1.9))
        start, turn = float(draw.uniform(20, 100)), float(draw.uniform(-180, 180))
        for bar in (
            Bar(120, diameter_mm=d, steps=[Step(start, diameter_mm=d * ratio)]),
            Bar(120, section="tube", diameter_mm=d, bore_mm=d / 2, steps=[Step(start, bore_mm=d / 3)]),
            Bar(120, section="flatted", diameter_mm=d, across_flats_mm=0.5 * d * ratio, rotation_deg=turn),
            Bar(120, section="rectangle", width_mm=d, height_mm=0.6 * d, rotation_deg=turn,
                steps=[Step(start, height_mm=d * ratio)]),
        ):  # fmt: skip
            mesh = checked(bar_mesh(bar))
            # The corner rays of a flatted bar are rounded to 1e-12 of a turn; else rounding of sums.
            assert volume(mesh) == pytest.approx(exact_volume(bar), rel=1e-9), bar


STEPPED = {
    "thinner": Bar(80, diameter_mm=20, steps=[Step(40, diameter_mm=12)]),
    "1 to 3": Bar(80, diameter_mm=8, steps=[Step(40, diameter_mm=24)]),
    "3 to 1": Bar(80, diameter_mm=24, steps=[Step(40, diameter_mm=8)]),
    "twice": Bar(80, diameter_mm=20, steps=[Step(30, diameter_mm=14), Step(60, diameter_mm=18)]),
    "square": Bar(80, section="square", width_mm=10, steps=[Step(40, width_mm=30)]),
    "bore opens": Bar(80, section="tube", diameter_mm=20, bore_mm=8, steps=[Step(40, bore_mm=14)]),
}


@pytest.mark.parametrize("name", STEPPED)
def test_unlike_sizes_are_conforming(name: str) -> None:
    """Principle: the open faces are the surface of the solid and no more, so no node hangs at a step."""
    bar = STEPPED[name]
    mesh = checked(bar_mesh(bar))
    assert face_counts(mesh.cells)[1].max() == 2
    parts = pieces_of(bar, Hold("rigid"))
    full = [p.outline.area() - (p.bore.area() if p.bore else 0.0) for p in parts]
    # Two ends and the shoulders: sections lie inside each other, so a shoulder is a difference of areas.
    flat = full[0] + full[-1] + sum(abs(b - a) for a, b in pairwise(full))
    around = sum(
        (p.stop - p.start) * (perimeter(p.outline) + (perimeter(p.bore) if p.bore else 0)) for p in parts
    )
    # A parabola over 45 degrees, its area exact, is 2.4e-5 of its length longer than the arc.
    assert skin(mesh) == pytest.approx(flat + around, rel=5e-5)


def perimeter(outline: Outline) -> float:
    """Return the length of a circle or a rectangle [m]."""
    if np.isfinite(outline.radius):
        return 2 * np.pi * outline.radius
    return 4 * (outline.half_width + outline.half_height)


@pytest.mark.parametrize("flats", [(14, 16), (10, 14), (14, 10), (5, 15.9), (15, 8), (14, 13.5)])
def test_flats_that_change_leave_no_gap(flats: tuple[float, float]) -> None:
    """Closed form of the shoulder: the layer between two flats pinches out where both meet the circle."""
    first, second = flats
    bar = Bar(
        60, section="flatted", diameter_mm=16, across_flats_mm=first, steps=[Step(30, across_flats_mm=second)]
    )
    mesh = checked(bar_mesh(bar))
    parts = pieces_of(bar, Hold("rigid"))
    sizes = [p.outline.area() for p in parts]
    rounds = [2 * 16 * np.arcsin(h / 16) + 2 * np.sqrt(16**2 - h**2) for h in flats]
    expected = sum(sizes) + abs(sizes[1] - sizes[0]) + sum(0.03 * length * MM for length in rounds)
    # Arcs between uneven rays: up to 60 degrees, 1.2e-4 too long at the most.
    assert skin(mesh) == pytest.approx(expected, rel=2e-4)


@pytest.mark.parametrize("around", [2, 3, 4])
def test_quality_over_a_wide_sweep(around: int) -> None:
    """Own bounds on the least Jacobian over the greatest in a cell; at or below zero it would be folded."""
    fineness = Fineness(around=around)
    flatted = {"section": "flatted", "diameter_mm": 16.0}
    plain = [
        *(Bar(60, **flatted, across_flats_mm=a, rotation_deg=30) for a in (4.8, 7, 9.6, 12, 14, 15.7)),
        *(Bar(60, section="tube", diameter_mm=16, bore_mm=16 * f) for f in (0.3, 0.6, 0.95)),
        Bar(60, section="rectangle", width_mm=40, height_mm=10),
        Bar(60, section="rectangle", width_mm=10, height_mm=40),
        ROUND,
    ]  # fmt: skip
    for bar in plain:
        # 0.33 where the corner of a flat lies between two rays, 0.44 for the round bar, measured. The bars
        # with a narrow bore are left to the second bound: a sector's ratio is bore over diameter.
        assert mesh_quality(bar_mesh(bar, fineness=fineness)).worst_ratio > 0.28, bar
    flats = (5, 10, 13.5, 14, 15.9)
    stepped = [*STEPPED.values(), Bar(60, section="tube", diameter_mm=16, bore_mm=2)]
    stepped += [
        Bar(60, **flatted, across_flats_mm=a, steps=[Step(30, across_flats_mm=b)])
        for a in flats
        for b in flats
        if a != b
    ]
    for bar in stepped:
        # Kites where a layer pinches out have a blunt corner: 0.05 for flats 10 and 15.9 of 16, measured.
        assert mesh_quality(bar_mesh(bar, fineness=fineness)).worst_ratio > 0.04, bar


def test_a_step_of_equal_size_changes_nothing() -> None:
    """Invariance: identical arrays, for a step that repeats a size and one that says nothing."""
    plain = bar_mesh(ROUND)
    for step in (Step(40, diameter_mm=16), Step(40)):
        again = bar_mesh(Bar(**{**vars(ROUND), "steps": [step]}))
        for key in ("points", "cells", "edge", "family"):
            assert np.array_equal(getattr(plain, key), getattr(again, key)), key
        assert {k: v.tolist() for k, v in plain.patches.items()} == {
            k: v.tolist() for k, v in again.patches.items()
        }


def test_rotation_turns_the_section_right_handed() -> None:
    """Frame of the design: rotation_deg turns about +x, from y toward z; flats are normal to z at 0."""
    bar = Bar(40, section="flatted", diameter_mm=16, across_flats_mm=10)
    turned = Bar(40, section="flatted", diameter_mm=16, across_flats_mm=10, rotation_deg=30)
    c, s = np.cos(np.pi / 6), np.sin(np.pi / 6)
    y, z = bar_mesh(bar).points[:, 1:].T
    expected = np.column_stack([bar_mesh(bar).points[:, 0], c * y - s * z, s * y + c * z])
    assert bar_mesh(turned).points == pytest.approx(expected, abs=1e-15)
    upright = bar_mesh(Bar(40, section="rectangle", width_mm=20, height_mm=8, rotation_deg=90)).points
    # Width along y becomes height along z.
    assert np.ptp(upright, axis=0) == pytest.approx([0.040, 0.008, 0.020], rel=1e-12)
    skew = bar_mesh(Bar(40, section="square", width_mm=10, rotation_deg=45)).points
    assert np.ptp(skew, axis=0)[1:] == pytest.approx([0.010 * np.sqrt(2)] * 2, rel=1e-12)


def test_outlines_that_cross_are_refused() -> None:
    """The message says what lies across what and how to mend it; nothing is made."""
    flatted = Bar(80, section="flatted", diameter_mm=16, across_flats_mm=10)
    with pytest.raises(InputError) as caught:
        bar_mesh(Bar(**{**vars(flatted), "steps": [Step(40, diameter_mm=13, across_flats_mm=12)]}))
    assert caught.value.key == "bar.steps"
    assert "inside" in caught.value.allowed


def test_rigid_bar() -> None:
    """Exact positions and areas: root at x = 0 facing back, end at the overhang facing forward."""
    bar = Bar(80, section="flatted", diameter_mm=16, across_flats_mm=14)
    mesh = checked(bar_mesh(bar, edge=Edge(end_distance_mm=3, offset_y_mm=1, offset_z_mm=-2)))
    section = exact_volume(bar) / 0.08
    assert set(mesh.patches) == {"root", "end"}
    assert set(mesh.regions) == {"bar"}
    assert facing(mesh, mesh.patches["root"]).sum(axis=0) == pytest.approx(
        [-section, 0, 0], rel=1e-9, abs=1e-15
    )
    assert facing(mesh, mesh.patches["end"]).sum(axis=0) == pytest.approx(
        [section, 0, 0], rel=1e-9, abs=1e-15
    )
    assert set(mesh.points[mesh.patches["root"]][..., 0].ravel()) == {0.0}
    assert mesh.points[mesh.patches["end"]][..., 0].ravel() == pytest.approx(0.08, rel=1e-15)
    assert mesh.edge == pytest.approx([0.077, 0.001, -0.002], rel=1e-12)


def test_bed_is_every_gripped_side_face() -> None:
    """Exact: side of the gripped length, pi D a for a round bar, 4 w a for a square one; ends left free."""
    mesh = checked(bar_mesh(ROUND, hold=BED))
    # The length of a parabola over 45 degrees, its area exact, is 2.4e-5 above that of the arc.
    assert area(mesh, mesh.patches["bed"]) == pytest.approx(np.pi * 0.016 * 0.048, rel=5e-5)
    assert volume(mesh, mesh.regions["grip"]) == pytest.approx(np.pi * 0.008**2 * 0.048, rel=1e-9)
    assert volume(mesh, mesh.regions["bar"]) == pytest.approx(np.pi * 0.008**2 * 0.080, rel=1e-9)
    tube = Bar(80, section="tube", diameter_mm=16, bore_mm=10, gripped_mm=48)
    held = checked(bar_mesh(tube, hold=BED, wrap=Wrap(2, 50, 20, bond="loose")))
    # Neither the holder nor a wrap touches the bore.
    assert area(held, held.patches["bed"]) == pytest.approx(np.pi * 0.016 * 0.048, rel=5e-5)
    assert area(held, held.patches["wound"]) == pytest.approx(np.pi * 0.016 * 0.020, rel=5e-5)
    square = checked(bar_mesh(SHANK, hold=BED))
    assert area(square, square.patches["bed"]) == pytest.approx(4 * 0.012 * 0.060, rel=1e-12)
    outward = np.einsum(
        "fi,fi->f", facing(mesh, mesh.patches["bed"]), mesh.points[mesh.patches["bed"]].mean(1) * [0, 1, 1]
    )
    assert np.all(outward > 0)


@pytest.mark.parametrize("quarter", [0, 90, 180, 270])
def test_held_shank_with_a_shim(quarter: int) -> None:
    """Exact areas: underside of the shim, the pressed part of the top; the shim's own volume and place."""
    bar = Bar(40, section="rectangle", width_mm=12, height_mm=16, gripped_mm=60, rotation_deg=quarter)
    wide, high = (12, 16) if quarter % 180 == 0 else (16, 12)
    mesh = checked(bar_mesh(bar, hold=HELD, shim=Shim(0.5)))
    floor, screws = (mesh.points[mesh.patches[k]] for k in ("floor", "screws"))
    assert facing(mesh, mesh.patches["floor"]).sum(axis=0) == pytest.approx(
        [0, 0, -wide * 60e-6], rel=1e-9, abs=1e-15
    )
    assert facing(mesh, mesh.patches["screws"]).sum(axis=0) == pytest.approx(
        [0, 0, wide * 30e-6], rel=1e-9, abs=1e-15
    )
    assert floor[..., 2].ravel() == pytest.approx(-(high / 2 + 0.5) * MM, rel=1e-12)
    assert screws[..., 2].ravel() == pytest.approx(high / 2 * MM, rel=1e-12)
    assert [screws[..., 0].min(), screws[..., 0].max()] == pytest.approx([-0.045, -0.015], rel=1e-12)
    assert volume(mesh, mesh.regions["shim"]) == pytest.approx(wide * 60 * 0.5e-9, rel=1e-9)
    assert set(mesh.regions) == {"bar", "grip", "shim"}


def test_held_shank_is_pressed_all_along_unless_told() -> None:
    """Exact: the whole gripped top, and the underside of the bar itself without a shim."""
    mesh = checked(bar_mesh(SHANK, hold=Hold("held")))
    for name, up in (("screws", 1), ("floor", -1)):
        whole = facing(mesh, mesh.patches[name]).sum(axis=0)
        assert whole == pytest.approx([0, 0, up * 12 * 60e-6], rel=1e-12, abs=1e-15)


def test_bonded_wrap_is_a_solid_layer() -> None:
    """Exact volume of the ring; at the end it belongs to the end face; a loose one is no solid."""
    for start, length in ((50, 20), (50, 30)):
        mesh = checked(bar_mesh(ROUND, wrap=Wrap(2, start, length)))
        ring = np.pi * (0.010**2 - 0.008**2)
        assert volume(mesh, mesh.regions["wrap"]) == pytest.approx(ring * length * MM, rel=1e-9)
        reaches = start + length == 80
        end = np.pi * 0.008**2 + (ring if reaches else 0.0)
        assert facing(mesh, mesh.patches["end"]).sum(axis=0)[0] == pytest.approx(end, rel=1e-9)
    loose = checked(bar_mesh(ROUND, wrap=Wrap(2, 50, 20, bond="loose")))
    assert "wrap" not in loose.regions
    assert volume(loose) == pytest.approx(np.pi * 0.008**2 * 0.08, rel=1e-9)


def test_families_hold_cells_that_differ_by_their_length_only() -> None:
    """Principle behind the element matrices: cells of a family, brought to one length, coincide."""
    mesh = bar_mesh(
        Bar(80, section="flatted", diameter_mm=16, across_flats_mm=13, steps=[Step(40, across_flats_mm=12)])
    )
    for family in np.unique(mesh.family):
        corner = mesh.points[mesh.cells[mesh.family == family]]
        x = corner[..., 0] - corner[..., :1, 0]
        unit = np.concatenate([(x / x[:, 4:5])[..., None], corner[..., 1:] / MM], axis=2)
        # Rounding of positions of 16 mm and lengths of a tenth.
        assert np.abs(unit - unit[0]).max() < 1e-10


HOLDS = {
    "slot": (SHANK, Hold("slot", screws_mm=(15, 45), screw_diameter_mm=8), Shim(0.5)),
    "bonded slot": (SHANK, Hold("slot", screws_mm=(15, 45), screw_diameter_mm=8, bonded=True), Shim(0.5)),
    "sleeve": (ROUND, Hold("sleeve", block=Block(40, 40, 8)), None),
    "split sleeve": (ROUND, Hold("sleeve", block=Block(40, 40, 8, split=True)), None),
    "bonded sleeve": (ROUND, Hold("sleeve", block=Block(40, 40, 8), bonded=True), None),
}


@pytest.mark.parametrize("name", HOLDS)
def test_holders_pass_the_check(name: str) -> None:
    """Closed forms: screw patches, base and joint areas; a bonded holder has no joint but shared nodes."""
    bar, hold, shim = HOLDS[name]
    mesh = checked(bar_mesh(bar, hold=hold, shim=shim))
    if shim is not None:
        expected = {"screws": 2 * np.pi * 16e-6, "floor": 12 * 60e-6}
        joint = 12 * 60e-6
    else:
        expected = {"holder_base": 40 * 48e-6}
        joint = np.pi * 16 * 48e-6
    for patch, size in expected.items():
        assert area(mesh, mesh.patches[patch]) == pytest.approx(size, rel=1e-9), patch
    assert len(mesh.joints) == (0 if hold.bonded else 1)
    for both in mesh.joints.values():
        # Arcs of 45 degrees: 2.4e-5 too long; the two sides face each other.
        assert area(mesh, both[:, :8]) == pytest.approx(joint, rel=5e-5)
        assert facing(mesh, both[:, 8:]) == pytest.approx(facing(mesh, both[:, :8]), rel=1e-9, abs=1e-15)
