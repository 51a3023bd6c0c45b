"""Geometry of the engaged edge."""

from __future__ import annotations

import re

import numpy as np
import pytest
from cut_cases import MM, N_PER_MM2, edge_of, ids
from force_references import cut_matrix
from values import assert_close, check_value

from stickout.fem.force.checks import check_cut
from stickout.fem.force.edge_load import FloatArray, local_chip, local_force
from stickout.fem.force.edge_matrices import local_cut_matrix
from stickout.fem.force.law import ForceLaw
from stickout.fem.force.nose import crest_height, cusp_angle, engaged_edge
from stickout.meshes.errors import InputError


@pytest.mark.parametrize("record_id", ids(r"a\.nose\.r[\d.]+ap[\d.]+(A|L|hm|kappa_eq|Bpp|Bff|Bfp)"))
def test_nose_geometry(record_id: str) -> None:
    """Area, length, mean chip, chord and dynamic widths [a.nose], checked by brute force at source."""
    edge = edge_of(record_id)
    results = {
        "A": edge.area / MM**2,
        "L": edge.length / MM,
        "hm": edge.mean_chip / MM,
        "kappa_eq": np.degrees(edge.chord_angle),
        "Bpp": edge.width_pp / MM,
        "Bff": edge.width_ff / MM,
        "Bfp": edge.width_pf / MM,
    }
    assert_close(record_id, float(results[re.split(r"\.", record_id)[-1]]))


def test_passive_width_saturates() -> None:
    """At 90 degrees the passive width is pi r / 4 at any depth from the nose radius on [a.nose.Bpp.limit]."""
    given = check_value("a.nose.Bpp.limit").inputs
    for depth in (1.0, 2.5):
        edge = engaged_edge(
            depth * given["r_eps_mm"] * MM, 0.05 * MM, nose_radius=given["r_eps_mm"] * MM, edge_angle_deg=90.0
        )
        assert_close("a.nose.Bpp.limit", float(edge.width_pp) / MM)


def test_crest_area() -> None:
    """Crest left by each pass, exact and to leading order [a.scallop]."""
    given = check_value("a.scallop.area.exact").inputs
    feed, nose, depth = given["f_mm"] * MM, given["r_eps_mm"] * MM, 0.3 * MM
    edge = engaged_edge(depth, feed, nose_radius=nose, edge_angle_deg=95.0)
    assert_close("a.scallop.area.exact", float(feed * depth - edge.area) / MM**2)
    assert_close("a.scallop.area", feed**3 / (24.0 * nose) / MM**2)
    # Rt = f^2 / 8 r = 0.78125 um to leading order (computed apart); the next term is f^2 / 16 r^2 of it.
    assert crest_height(feed, nose) == pytest.approx(0.78125e-6, rel=1.1 * feed**2 / (16.0 * nose**2))


@pytest.mark.parametrize("angle", [10.0, 15.0, 45.0, 90.0, 95.0, 120.0])
@pytest.mark.parametrize("depth", [0.001, 0.004, 0.02, 0.3, 1.2])
def test_area_and_length_by_brute_force(angle: float, depth: float) -> None:
    """Independent: the cut region counted on a fine grid of levels, for shallow, flat and steep edges."""
    feed, nose = 0.15 * MM, 0.4 * MM
    edge = engaged_edge(depth * MM, feed, nose_radius=nose, edge_angle_deg=angle)
    kappa, z = np.radians(angle), (np.arange(20000) + 0.5) / 20000 * depth * MM
    arc_top = nose * (1.0 - np.cos(kappa))
    trailing = np.sqrt(nose**2 - np.maximum(nose - z, 0.0) ** 2)
    lead_arc = nose * np.sin(np.arccos(np.clip(1.0 - z / nose, -1.0, 1.0)))
    lead = np.where(z <= arc_top, lead_arc, nose * np.sin(kappa) + (z - arc_top) / np.tan(kappa))
    # At each level the new pass removes one feed, or all of its own width below the crest.
    width = np.minimum(feed, lead + trailing)
    # Midpoint rule near the root of the arc's width at the bottom: about 1e-6 of the area.
    assert float(edge.area) == pytest.approx(width.mean() * depth * MM, rel=1e-5)
    polyline = _edge_points(edge.trailing_angle, edge.leading_angle, edge.straight_length, nose, kappa)
    assert float(edge.length) == pytest.approx(_length(polyline), rel=1e-7)  # chords of 1/4000 of an arc
    rise = np.ptp(polyline[:, 0])
    assert rise == pytest.approx(depth * MM, rel=1e-6)  # the edge ends at the uncut surface


def _edge_points(trail: float, lead: float, straight: float, nose: float, kappa: float) -> np.ndarray:
    """Return points of the engaged edge, columns height over the bottom and feed position."""
    phi = np.linspace(-float(trail), float(lead), 4001)
    arc = nose * np.stack([1.0 - np.cos(phi), np.sin(phi)], axis=1)
    tip = arc[-1] + float(straight) * np.array([np.sin(kappa), np.cos(kappa)])
    return np.vstack([arc, tip])


def _length(points: np.ndarray) -> float:
    """Return the length of a polyline."""
    return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())


def test_crest_against_a_flat_edge() -> None:
    """Where the edge angle is small the arc meets the straight edge of the pass before: distances agree."""
    feed, nose, kappa = 0.2 * MM, 0.4 * MM, np.radians(10.0)
    angle = cusp_angle(feed, nose_radius=nose, edge_angle=kappa)
    assert angle < np.arcsin(feed / (2.0 * nose))
    p, q = nose * np.cos(angle), -nose * np.sin(angle) + feed
    # The point lies on the line n.x = r of the previous pass; rounding only.
    assert p * np.cos(kappa) + q * np.sin(kappa) == pytest.approx(nose, rel=1e-12)


def test_dynamic_widths_by_quadrature() -> None:
    """Closed forms of the arc part (computed apart from the program) against a quadrature along the edge."""
    edge = engaged_edge(0.7 * MM, 0.1 * MM, nose_radius=0.4 * MM, edge_angle_deg=75.0)
    phi, weight = np.polynomial.legendre.leggauss(40)
    phi = (phi + 1.0) / 2.0 * edge.edge_angle
    weight = weight / 2.0 * edge.edge_angle * edge.nose_radius
    phi, weight = np.append(phi, edge.edge_angle), np.append(weight, edge.straight_length)
    for ours, integrand in (
        (edge.width_pp, np.cos(phi) ** 2),
        (edge.width_ff, np.sin(phi) ** 2),
        (edge.width_pf, np.sin(phi) * np.cos(phi)),
        (edge.cos_integral, np.cos(phi)),
        (edge.sin_integral, np.sin(phi)),
    ):
        assert float(ours) == pytest.approx(
            float(weight @ integrand), rel=1e-12
        )  # Gauss rule, smooth integrand
    assert float(edge.sin_integral) == pytest.approx(0.7 * MM, rel=1e-12)  # the edge rises by the depth


def test_matrix_has_no_cutting_column() -> None:
    """Principle: motion along the cutting direction changes no thickness, and the matrix is as told in b."""
    edge = engaged_edge(0.2 * MM, 0.05 * MM, nose_radius=0.4 * MM, edge_angle_deg=95.0)
    matrix = cut_matrix(edge, tangential=2000 * N_PER_MM2, thrust=800 * N_PER_MM2)
    assert np.all(matrix[:, 1] == 0.0)
    assert matrix[0, 2] == matrix[2, 0] == 800 * N_PER_MM2 * edge.width_pf
    assert matrix[1, 0] == 2000 * N_PER_MM2 * edge.cos_integral


def test_chord_rule_beside_the_integral() -> None:
    """The chord rule is a factor of two off in a deep cut [b.chord]."""
    for record_id in ids(r"b\.chord\..*"):
        given = check_value(record_id).inputs
        edge = engaged_edge(
            given["ap_mm"] * MM, given["f_mm"] * MM, nose_radius=given["r_mm"] * MM, edge_angle_deg=95.0
        )
        assert_close(record_id, float(edge.length * np.cos(edge.chord_angle) ** 2) / MM)


def test_many_depths_at_once() -> None:
    """Principle: an array of depths gives what each depth gives alone."""
    depths = np.array([0.001, 0.05, 0.4, 2.0]) * MM
    many = engaged_edge(depths, 0.1 * MM, nose_radius=0.4 * MM, edge_angle_deg=93.0)
    for i, depth in enumerate(depths):
        one = engaged_edge(depth, 0.1 * MM, nose_radius=0.4 * MM, edge_angle_deg=93.0)
        assert many.width_pp[i] == one.width_pp
        assert many.area[i] == one.area
        assert many.chord_angle[i] == one.chord_angle


@pytest.mark.parametrize(
    ("key", "changes"),
    [
        ("depth", {"depth": 0.0}),
        ("depth", {"depth": -1e-4}),
        ("feed", {"feed": 0.0}),
        ("feed", {"feed": 9e-4}),
        ("edge_angle_deg", {"edge_angle_deg": 9.0}),
        ("edge_angle_deg", {"edge_angle_deg": 121.0}),
        ("nose_radius", {"nose_radius": -1e-4}),
        ("nose_radius", {"nose_radius": 0.02, "bar_size": 0.016}),
    ],
)
def test_impossible_cut(key: str, changes: dict[str, float]) -> None:
    """Each fault names its key, what came and how to mend it."""
    given = {"depth": 2e-4, "feed": 5e-5, "nose_radius": 4e-4, "edge_angle_deg": 95.0, **changes}
    with pytest.raises(InputError) as caught:
        check_cut(given.pop("depth"), given.pop("feed"), **given)
    assert caught.value.key == key
    assert caught.value.given == changes[key]
    if key == "depth":
        assert "half of the change in diameter" in caught.value.mend


@pytest.mark.parametrize(
    ("depth", "feed", "nose", "angle"), [(2e-4, 5e-5, 4e-4, 95.0), (1e-3, 1e-4, 4e-4, 75.0)]
)
def test_the_cut_matrix_is_the_slope_of_the_printed_force(
    depth: float, feed: float, nose: float, angle: float
) -> None:
    """The printed force with every chip thickened by a small motion, both ways: a numerical derivative."""
    law = ForceLaw(kc11=1.5e9, mc=0.22, thrust_ratio=0.4)
    edge = engaged_edge(depth, feed, nose_radius=nose, edge_angle_deg=angle)
    phi, chip, length = local_chip(edge)
    normal = np.stack([np.cos(phi), np.sin(phi)])

    def force(motion: FloatArray) -> FloatArray:
        thick = chip + motion @ normal
        along = law.kc11 * 1e-3**law.mc * thick ** (1 - law.mc) * length
        return np.array([0.4 * along @ normal[0], along.sum(), 0.4 * along @ normal[1]])

    printed = local_force(law, edge)
    assert force(np.zeros(2)) == pytest.approx([printed.p, printed.c, printed.f], rel=1e-12)
    matrix = local_cut_matrix(law, edge)
    step = 1e-5 * chip[chip > 0].min()
    for column, way in ((0, np.array([step, 0.0])), (2, np.array([0.0, step]))):
        slope = (force(way) - force(-way)) / (2 * step)
        assert matrix[:, column] == pytest.approx(slope, rel=1e-5)
    assert np.all(matrix[:, 1] == 0.0)
