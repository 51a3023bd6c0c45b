"""A blade that cuts its full width: area, symmetry, force and matrices against a polygon of the profile."""

from __future__ import annotations

import numpy as np
import pytest

from stickout.fem.force.blade import cutting_edge, engaged_blade
from stickout.fem.force.directions import cut_directions, force_on_tool
from stickout.fem.force.edge_load import local_chip, local_force
from stickout.fem.force.edge_matrices import flank_matrix, local_cut_matrix
from stickout.fem.force.law import force_law
from stickout.fem.force.nose import EngagedEdge
from stickout.fem.setup.work_materials import work_material
from stickout.meshes.errors import InputError

LAW = force_law(work_material("medium carbon steel"), rake_deg=0.0, wear=1.0)
MM = 1e-3


def blade(angle: float = 90.0, width: float = 2.0, corner: float = 0.2, feed: float = 0.05) -> EngagedEdge:
    """Return a blade, sizes in mm."""
    return engaged_blade(width * MM, feed * MM, corner_radius=corner * MM, edge_angle_deg=angle)


def profile(edge: EngagedEdge, points: int = 20001) -> np.ndarray:
    """Return the profile as a polygon (p, f), from one side wall to the other [m], built from its corners."""
    r, k, s = edge.nose_radius, edge.edge_angle, float(edge.straight_length)
    first, last = np.linspace(0, k, points), np.linspace(k, np.pi, points)
    other = s * np.array([-np.sin(k), np.cos(k)])
    arcs = [r * np.stack([np.cos(a), np.sin(a)], 1) for a in (first, last)]
    return np.vstack([arcs[0], arcs[1] + other])


@pytest.mark.parametrize("angle", [75.0, 90.0, 105.0])
def test_the_chip_is_width_times_feed(angle: float) -> None:
    """Geometry: the profile moves on by one feed; Pappus: the mean chip over the length is that area."""
    edge = blade(angle)
    line = profile(edge)
    assert np.ptp(line[:, 0]) == pytest.approx(2.0 * MM, rel=1e-6)
    assert np.linalg.norm(np.diff(line, axis=0), axis=1).sum() == pytest.approx(float(edge.length), rel=1e-6)
    _, chip, length = local_chip(edge)
    assert float(length.sum()) == pytest.approx(float(edge.length), rel=1e-12)
    # Thickness along the normal on a curved corner: the strip's area to the order of feed over radius.
    assert float(chip @ length) == pytest.approx(2.0 * MM * 0.05 * MM, rel=0.02)


@pytest.mark.parametrize("angle", [75.0, 90.0, 105.0])
def test_thickness_against_rays_on_polygons(angle: float) -> None:
    """The same profile one feed before as a polygon: the first crossing of the ray back along the normal."""
    edge = blade(angle, corner=0.4)
    phi, chip, _ = local_chip(edge)
    r, k, s = edge.nose_radius, edge.edge_angle, float(edge.straight_length)
    before = profile(edge) - np.array([0.0, edge.feed])
    for at in range(0, 160, 13):
        normal = np.array([np.cos(phi[at]), np.sin(phi[at])])
        shift = 0.0 if phi[at] <= k else s
        point = r * normal + shift * np.array([-np.sin(k), np.cos(k)])
        along = np.array([-normal[1], normal[0]])
        off = (before - point) @ along
        cross = np.flatnonzero(off[:-1] * off[1:] <= 0.0)
        back = (point - before[cross]) @ normal
        assert chip[at] == pytest.approx(float(back[back > -1e-9].min()), abs=2e-8), (angle, at)


def test_the_force_of_a_square_blade_goes_straight_in() -> None:
    """Symmetry: both corners push the blade to either side alike; the front edge is the power law's strip."""
    edge = blade()
    force = local_force(LAW, edge)
    assert force.p == pytest.approx(0.0, abs=1e-9 * force.c)
    sharp = local_force(LAW, blade(corner=0.0))
    assert sharp.c == pytest.approx(LAW.kc11 * 1e-3**LAW.mc * (0.05 * MM) ** (1 - LAW.mc) * 2 * MM, rel=1e-9)
    assert sharp.f == pytest.approx(LAW.thrust_ratio * sharp.c, rel=1e-9)
    pushed = force_on_tool(cut_directions("parting"), force)
    assert pushed == pytest.approx([-force.f, 0.0, -force.c], abs=1e-9 * force.c)


def test_a_lead_angle_pushes_the_blade_aside() -> None:
    """Sign: the normal leans to p below 90 degrees, and to the other side above, mirrored."""
    one, other = (local_force(LAW, blade(angle)) for angle in (75.0, 105.0))
    assert one.p > 0.05 * one.f
    assert one.p == pytest.approx(-other.p, rel=1e-9)
    assert one.c == pytest.approx(other.c, rel=1e-9)


@pytest.mark.parametrize("angle", [75.0, 90.0])
def test_the_matrix_is_the_slope_of_the_force(angle: float) -> None:
    """A numerical derivative of the local force for motions along p, c and f."""
    edge = blade(angle)
    found, step = local_cut_matrix(LAW, edge), 1e-10
    phi, chip, length = local_chip(edge)
    for axis, moved in enumerate((np.cos(phi), np.zeros_like(phi), np.sin(phi))):
        forces = []
        for side in (1.0, -1.0):
            new = np.maximum(chip + side * step * moved, 0.0)
            cut = LAW.kc11 * MM**LAW.mc * new ** (1 - LAW.mc) * length
            push = LAW.thrust_ratio * cut
            forces.append([push @ np.cos(phi), cut.sum(), push @ np.sin(phi)])
        slope = (np.array(forces[0]) - forces[1]) / (2 * step)
        assert found[:, axis] == pytest.approx(slope, rel=2e-3, abs=1e-4 * np.abs(found).max())


def test_both_corners_rub_and_cut_sideways() -> None:
    """Closed integrals: two quarter arcs hold pi r / 2 across, the straight edge the rest of the infeed."""
    edge = blade()
    flank = flank_matrix(edge, 1.0, friction=0.3)
    r, straight = 0.2 * MM, 1.6 * MM
    arcs = np.pi * r / 2
    expected = np.array([[arcs, 0, 0], [0, 0, 0.3 * 2.0 * MM], [0, 0, straight + arcs]])
    assert flank == pytest.approx(expected, rel=1e-9, abs=1e-15)
    widths = [float(one) for one in (edge.width_pp, edge.width_ff, edge.width_pf, edge.sin_integral)]
    assert widths == pytest.approx([arcs, straight + arcs, 0.0, 2.0 * MM], rel=1e-9, abs=1e-15)
    # One corner alone would be held sideways by half as much.
    nose = cutting_edge(2.0 * MM, 0.05 * MM, nose_radius=r, edge_angle_deg=90.0, corners=1)
    assert float(nose.width_pp) == pytest.approx(arcs / 2, rel=1e-9)


def test_the_matrix_of_a_form_edge_grows_with_its_width() -> None:
    """Along the infeed a broad form edge demands in proportion to its width, corners aside."""
    narrow, broad = (local_cut_matrix(LAW, blade(width=w, corner=0.0)) for w in (2.0, 10.0))
    assert broad == pytest.approx(5 * narrow, rel=1e-9)


def test_a_blade_narrower_than_its_corners_is_round() -> None:
    """A scan over widths passes below twice the corner radius: no straight edge is left."""
    edge = blade(width=0.3, corner=0.2)
    assert (edge.nose_radius, float(edge.straight_length)) == pytest.approx((0.15 * MM, 0.0))
    with pytest.raises(InputError, match="depth"):
        blade(width=0.0)
