"""Triangles as pixels: each pixel once, the nearest seen, every quantity straight across."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from matplotlib.path import Path as Outline
from scipy.spatial import Delaunay
from show_bars import bar, bending, scene

from stickout.cli.show.scene.picture import draw
from stickout.cli.show.scene.props import Prop
from stickout.cli.show.scene.raster import (
    BRIGHTEST,
    SHADES,
    WHITE,
    Canvas,
    Triangles,
    colour_table,
    fragments_of,
)
from stickout.cli.show.scene.scene import COLOURS
from stickout.cli.show.scene.solids import Solid
from stickout.cli.show.scene.stage import Stage, build_stage
from stickout.cli.show.scene.workpiece import Workpiece

SIZE = (90, 70)
RED, BLUE = "#ff0000", "#0000ff"
TABLE = colour_table([RED, BLUE])


def flat(corners: np.ndarray, *, near: float = 0.0, ink: float = 0.5) -> Triangles:
    """Return triangles of one colour, all of them equally near."""
    shape = corners.shape[:2]
    return Triangles(corners, np.full(shape, near), np.full(shape, ink), np.ones(shape))


def test_each_pixel_of_a_net_belongs_to_one_triangle() -> None:
    """Principle: triangles that cover the picture without gap leave no pixel out and take none twice."""
    rng = np.random.default_rng(3)
    # Some corners on middles of pixels, where a careless rule counts twice.
    inner = np.concatenate([rng.uniform(0, 1, (60, 2)) * SIZE, rng.integers(0, 60, (40, 2)) + 0.5])
    points = np.concatenate([inner, [[0, 0], [90, 0], [0, 70], [90, 70]]])
    found = fragments_of(flat(points[Delaunay(points).simplices]), SIZE, table=TABLE)
    assert np.array_equal(np.sort(found.place), np.arange(SIZE[0] * SIZE[1]))


def test_a_triangle_takes_the_pixels_whose_middle_it_holds() -> None:
    """Reference library: Matplotlib's own test of points in an outline; parts outside are cut away."""
    rng = np.random.default_rng(5)
    x, y = np.meshgrid(np.arange(SIZE[0]) + 0.5, np.arange(SIZE[1]) + 0.5)
    for corners in rng.uniform(-20, 100, (40, 3, 2)):
        found = fragments_of(flat(corners[None]), SIZE, table=TABLE)
        inside = Outline(corners).contains_points(np.column_stack([x.ravel(), y.ravel()]))
        assert np.array_equal(np.sort(found.place), np.flatnonzero(inside))


def test_quantities_are_straight_across_a_triangle() -> None:
    """Closed form: nearness that is linear in x and y at the corners is so at every pixel's middle."""
    corners = np.array([[[3.2, 5.1], [80.7, 12.0], [31.0, 66.6]]])
    near = 2.0 + 0.03 * corners[:, :, 0] - 0.07 * corners[:, :, 1]
    found = fragments_of(dataclasses.replace(flat(corners), near=near), SIZE, table=TABLE)
    row, column = np.divmod(found.place, SIZE[0])
    assert len(row) > 1000
    assert found.near == pytest.approx(2.0 + 0.03 * (column + 0.5) - 0.07 * (row + 0.5), abs=1e-5)


def test_colours_change_where_the_whole_part_of_the_ink_does() -> None:
    """Closed form: ink from 0 to 2 over 80 pixels turns red to blue in the middle, without a blend."""
    corners = np.array([[[0.0, 0.0], [80.0, 0.0], [0.0, 60.0]], [[80.0, 0.0], [80.0, 60.0], [0.0, 60.0]]])
    canvas = Canvas.blank(*SIZE)
    canvas.lay(fragments_of(dataclasses.replace(flat(corners), ink=corners[:, :, 0] / 40), SIZE, table=TABLE))
    assert np.all(canvas.colour[:60, :40] == 0x0000FF)  # red is the lowest byte
    assert np.all(canvas.colour[:60, 40:79] == 0xFF0000)
    assert np.all(canvas.colour[60:] == WHITE)


def test_the_nearer_is_seen_whatever_comes_first() -> None:
    """Principle: two squares that cross, laid in both orders and at once, give one picture."""
    square = np.array([[[10.0, 10], [60, 10], [60, 60]], [[10.0, 10], [60, 60], [10, 60]]])
    tilted = dataclasses.replace(flat(square), near=(square[:, :, 0] - 35) / 50)
    level = flat(square, ink=1.5)
    pictures = []
    for order in ((tilted, level), (level, tilted)):
        canvas = Canvas.blank(*SIZE)
        for one in order:
            canvas.lay(fragments_of(one, SIZE, table=TABLE))
        pictures.append(canvas.colour)
    both = Triangles(
        *(
            np.concatenate([getattr(one, field.name) for one in (tilted, level)])
            for field in dataclasses.fields(Triangles)
        )
    )
    canvas = Canvas.blank(*SIZE)
    canvas.lay(fragments_of(both, SIZE, table=TABLE))
    assert np.array_equal(pictures[0], pictures[1])
    assert np.array_equal(pictures[0], canvas.colour)
    assert np.all(canvas.colour[10:60, 10:34] == 0xFF0000)
    assert np.all(canvas.colour[10:60, 36:60] == 0x0000FF)


def test_light_is_a_share_of_the_colour() -> None:
    """Closed form: half the light is half of each channel; more than all of it ends at full."""
    half = int(colour_table(["#c86432"])[round(0.5 / BRIGHTEST * (SHADES - 1))])
    assert [half >> at & 255 for at in (0, 8, 16)] == pytest.approx([100, 50, 25], abs=1)
    assert colour_table(["#ffffff"])[-1] == WHITE


@pytest.fixture(scope="module")
def stage() -> Stage:
    """Return a square bar in a block."""
    mesh = bar()
    return build_stage(scene(mesh, bending(mesh)), (320, 180))


def test_a_picture_does_not_hang_on_the_others(stage: Stage) -> None:
    """Principle: what stands still is drawn once for all pictures, and none leaves a trace in the next."""
    three = draw(stage, [1.0, 0.2, -1.0])
    for at, swing in enumerate((1.0, 0.2, -1.0)):
        (alone,) = draw(stage, [swing])
        assert np.array_equal(three[at], alone)
    assert not np.array_equal(three[0], three[2])


def test_the_two_ends_of_a_swing_differ_where_the_bar_does_and_nowhere_else(stage: Stage) -> None:
    """Principle: far behind the face nothing moves; at the free end the bar is elsewhere."""
    one, two = draw(stage, [1.0, -1.0])
    differs = np.flatnonzero(np.any(one != two, axis=(0, 2)))
    root, tip = stage.view.pixels(np.array([[0.0, 0, 0], [0.08, 0, 0]]))[:, 0]
    low, high = sorted((root, tip))
    assert differs.min() > low - 12
    assert differs.max() < high + 40


def test_what_is_half_seen_is_mixed(stage: Stage) -> None:
    """Closed form: 45 parts of the work's colour in 100 over white paper, and under it the bar shows."""
    width, height = stage.view.size
    right, up, toward = stage.view.axes
    size = 0.2 * np.array([width, height]) / stage.view.scale
    corners = (
        stage.view.middle + 0.5 * toward + np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * size @ [right, up]
    )
    card = Solid(corners, np.tile(toward, (4, 1)), np.array([[0, 1, 2], [0, 2, 3]]), "section")
    work = Workpiece((Prop(card, np.empty((0, 2, 3))),), np.empty((0, 2, 3)), np.zeros(3), True)
    veiled = dataclasses.replace(stage, around=dataclasses.replace(stage.around, work=work))
    (bare,), (seen,) = draw(stage, [0.5]), draw(veiled, [0.5])
    part = (slice(int(0.32 * height), int(0.68 * height)), slice(int(0.32 * width), int(0.68 * width)))
    colour = np.array([int(COLOURS["section"][at : at + 2], 16) for at in (1, 3, 5)])
    assert seen[part] == pytest.approx(0.55 * bare[part] + 0.45 * colour, abs=1.5)
    assert (bare[part] < 200).any()
    assert np.array_equal(bare[: int(0.25 * height)], seen[: int(0.25 * height)])
