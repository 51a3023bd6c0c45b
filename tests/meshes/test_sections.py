"""Outlines and section meshes: area and second moments against closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from measured import areas, moments
from scipy.integrate import quad
from values import check_value

from stickout.meshes.bodies import flat_body, round_body
from stickout.meshes.errors import InputError
from stickout.meshes.outlines import Outline
from stickout.meshes.parts import Bar, Hold, Step
from stickout.meshes.pieces import Fineness, Piece, pieces_of
from stickout.meshes.rays import CoarseError, ray_angles
from stickout.meshes.sections import Section, grid_section
from stickout.meshes.tagged import BoolArray

MM2, MM4 = 1e-6, 1e-12
RIGID = Hold("rigid")

BARS = {
    "round": Bar(80, diameter_mm=16),
    "tube": Bar(80, section="tube", diameter_mm=20, bore_mm=12),
    "thin tube": Bar(80, section="tube", diameter_mm=20, bore_mm=19),
    "narrow bore": Bar(80, section="tube", diameter_mm=20, bore_mm=3),
    "flatted": Bar(80, section="flatted", diameter_mm=16, across_flats_mm=14),
    "deep flats": Bar(80, section="flatted", diameter_mm=16, across_flats_mm=4.8),
    "shallow flats": Bar(80, section="flatted", diameter_mm=16, across_flats_mm=15.7),
    "square": Bar(80, section="square", width_mm=12),
    "rectangle": Bar(80, section="rectangle", width_mm=32, height_mm=8),
    "upright": Bar(80, section="rectangle", width_mm=8, height_mm=32),
}


def parts_of(bar: Bar, fineness: Fineness | None = None) -> tuple[Section, list[tuple[Piece, BoolArray]]]:
    """Return the section mesh of a bar and which of its cells each length of the bar has."""
    pieces = pieces_of(bar, RIGID)
    if bar.section in ("square", "rectangle"):
        body = flat_body(pieces, RIGID, fineness=fineness or Fineness())
    else:
        body = round_body(pieces, [], fineness=fineness or Fineness())
    masks = [mask for start, _, mask, _ in body.lengths if start >= 0]
    return body.section, list(zip(pieces, masks, strict=True))


def exact(piece: Piece) -> np.ndarray:
    """Return area, integral of y^2 and of z^2 of a length of bar, its bore taken out."""
    whole = np.array([piece.outline.area(), *piece.outline.second_moments()])
    return whole if piece.bore is None else whole - [piece.bore.area(), *piece.bore.second_moments()]


@pytest.mark.parametrize("name", BARS)
def test_area_is_exact(name: str) -> None:
    """Closed forms; the area under curved edges is exact by the place of their middle nodes."""
    section, [(piece, mask)] = parts_of(BARS[name])
    # Rounding: the corner rays of a flatted bar are rounded to 1e-12 of a turn.
    assert moments(section, mask)[0] == pytest.approx(exact(piece)[0], rel=1e-9)
    assert areas(section)[mask].sum() == pytest.approx(exact(piece)[0], rel=1e-9)


@pytest.mark.parametrize("name", BARS)
def test_second_moments(name: str) -> None:
    """Closed forms: curved edges of exact area have almost exact moments too."""
    section, [(piece, mask)] = parts_of(BARS[name])
    _, along_y, along_z, mixed = moments(section, mask)
    # Edges over 45 degrees of arc: 5.7e-7 (round) to 1.6e-6 (flatted, its rays unevenly spaced), measured.
    assert [along_y, along_z] == pytest.approx(exact(piece)[1:], rel=3e-6)
    assert abs(mixed) < 1e-12 * along_y


def test_second_moment_error_falls_with_the_eighth_power() -> None:
    """Principle: a parabola is off an arc by the fourth power of the gap; exact area cancels that part."""
    error = []
    for around in (2, 4):
        section, [(piece, mask)] = parts_of(BARS["round"], Fineness(around=around))
        error.append(abs(moments(section, mask)[1] / exact(piece)[1] - 1))
    # 2^8 in the limit of fine meshes, 254 here.
    assert error[0] / error[1] == pytest.approx(256.0, rel=0.05)


def test_random_sizes_have_exact_area() -> None:
    """Closed forms for 60 sizes of every round kind, seed fixed; the whole range the set-up allows."""
    draw = np.random.default_rng(7)
    for _ in range(20):
        diameter = float(draw.uniform(5, 60))
        bore, flats = diameter * draw.uniform(0.05, 0.95), diameter * draw.uniform(0.3, 0.99)
        for bar in (
            Bar(80, diameter_mm=diameter),
            Bar(80, section="tube", diameter_mm=diameter, bore_mm=float(bore)),
            Bar(80, section="flatted", diameter_mm=diameter, across_flats_mm=float(flats)),
        ):
            section, [(piece, mask)] = parts_of(bar)
            assert areas(section)[mask].sum() == pytest.approx(exact(piece)[0], rel=1e-9), bar


STEPPED = {
    "thicker": (BARS["round"], Step(40, diameter_mm=20)),
    "a third": (Bar(80, diameter_mm=24), Step(40, diameter_mm=8)),
    "bore opens": (BARS["tube"], Step(40, bore_mm=15)),
    "bore ends": (BARS["tube"], Step(40, bore_mm=0)),
    "flats to round": (BARS["flatted"], Step(40, across_flats_mm=16)),
    "flats deeper": (BARS["flatted"], Step(40, across_flats_mm=10)),
    "flats much deeper": (BARS["shallow flats"], Step(40, across_flats_mm=5)),
    "flats a little deeper": (BARS["flatted"], Step(40, across_flats_mm=13.5)),
    "round inside flats": (BARS["flatted"], Step(40, diameter_mm=11)),
    "wider": (BARS["square"], Step(40, width_mm=20)),
    "lower": (BARS["rectangle"], Step(40, height_mm=5)),
    "wider and lower": (BARS["rectangle"], Step(40, width_mm=40, height_mm=5)),
}


@pytest.mark.parametrize("name", STEPPED)
def test_one_section_holds_the_lines_of_every_step(name: str) -> None:
    """Closed forms: the cells of each length have its own area and moments, pinched layers included."""
    bar, step = STEPPED[name]
    section, parts = parts_of(Bar(**{**vars(bar), "steps": [step]}))
    assert len(parts) == 2
    for piece, mask in parts:
        found = moments(section, mask)
        # Rays that must meet the corners of both outlines are uneven: up to 1.5e-4 where one gap is wide.
        assert found[0] == pytest.approx(exact(piece)[0], rel=1e-9)
        assert found[1:3] == pytest.approx(exact(piece)[1:], rel=2e-4)
    assert np.all(areas(section) > 0)


def test_outline_of_a_flatted_bar() -> None:
    """Physics dossier e.flats: diameter 16, 14 across; and the integrals by quadrature."""
    outline = Outline(radius=8.0, half_height=7.0)
    record = check_value("e.flats.A")
    assert outline.area() == pytest.approx(record.value, rel=record.tolerance["rel"])
    record = check_value("e.flats.Istrong")
    assert outline.second_moments()[0] == pytest.approx(record.value, rel=record.tolerance["rel"])
    weak = quad(lambda z: 2 * z**2 * np.sqrt(64 - z**2), -7, 7)[0]
    # The quadrature's own error.
    assert outline.second_moments()[1] == pytest.approx(weak, rel=1e-9)


def test_reach_meets_the_outline() -> None:
    """Closed forms along four rays, and corners where flat and arc meet."""
    outline = Outline(radius=8.0, half_height=4.0)
    angle = np.array([0.0, np.pi / 6, np.pi / 4, np.pi / 2])
    # sin 30 degrees is a half, so the second ray ends in the corner; rounding.
    assert outline.reach(angle) == pytest.approx([8.0, 8.0, 4 * np.sqrt(2), 4.0], rel=1e-12)
    assert outline.corners() == pytest.approx([np.pi / 6], rel=1e-12)
    assert Outline(radius=8.0).corners() == []


def test_grid_has_its_lines() -> None:
    """Exact: the product of the gaps, cell by cell, z running fastest."""
    section = grid_section(np.array([-2.0, 0.0, 1.0]), np.array([0.0, 0.5, 2.0]))
    # Whole and half numbers: no rounding.
    assert areas(section).tolist() == [1.0, 3.0, 0.5, 1.5]


def test_outlines_that_cross_are_refused() -> None:
    """A step whose flats are deeper and whose circle is larger cuts through the bar's own outline."""
    with pytest.raises(InputError, match="wholly inside"):
        parts_of(
            Bar(
                80,
                section="flatted",
                diameter_mm=16,
                across_flats_mm=10,
                steps=[Step(40, diameter_mm=13, across_flats_mm=12)],
            )
        )


def test_too_few_rays_are_told() -> None:
    """Two rays in a quadrant cannot meet three corners."""
    outlines = [Outline(radius=8.0, half_height=h) for h in (4.0, 5.0, 6.0)]
    with pytest.raises(CoarseError, match="rays"):
        ray_angles(outlines, 2)


@pytest.mark.parametrize("across_flats", [0.25, 0.4, 0.55, 0.7, 0.8, 0.92])
def test_halved_rays_hold_all_rays_there_were(across_flats: float) -> None:
    """Wherever the corners lie: told errors stand on sections that are subdivisions of others."""
    flats = [Outline(radius=8.0, half_height=8.0 * across_flats)]
    for around in (4, 5):
        coarse, fine, finest = (ray_angles(flats, around, halvings=n)[::2] for n in range(3))
        for less, more in ((coarse, fine), (fine, finest)):
            after = np.sort(np.mod(more - less[0] + 1e-9, 2 * np.pi))
            # Every gap is cut once: one that is not would tell nothing.
            assert len(more) == 2 * len(less)
            assert after[::2] == pytest.approx(less - less[0], abs=1e-8)
