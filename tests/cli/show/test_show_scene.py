"""What a picture shows and says: camera, arrows, holder, words, magnification."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from show_bars import bar, bending, scene, torsion

from stickout.cli.show.scene.captions import made_up_lines, mode_line, round_two, scale_line, way_words
from stickout.cli.show.scene.holder import cut_block
from stickout.cli.show.scene.lettering import Words, letter
from stickout.cli.show.scene.scene import (
    COLOURS,
    Scene,
    bar_surface,
    check_scene,
    drawn_movement,
    face_ride,
    magnification,
)
from stickout.cli.show.scene.stage import at_instant, build_stage
from stickout.cli.show.scene.view import fit_view
from stickout.meshes.errors import InputError


def test_camera_looks_from_front_above() -> None:
    """Principle: x runs to the right, z up, and what is to the front (-y) or above is nearer."""
    view = fit_view(np.eye(3), size=(960, 540), margins=(30, 100, 150, 50))
    origin, x, _, z = view.pixels(np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]]))
    assert x[0] > origin[0]
    assert z[1] < origin[1]
    assert z[0] == pytest.approx(origin[0], abs=1e-9)
    assert view.axes @ view.axes.T == pytest.approx(np.eye(3), abs=1e-14)
    assert view.toward[1] < 0 < view.toward[2]


def test_fit_fills_the_room_and_no_more() -> None:
    """Closed form: the points' box touches the margins in one direction and is centred in the other."""
    points = np.random.default_rng(5).normal(size=(200, 3))
    pixels = fit_view(points, size=(960, 540), margins=(30, 100, 150, 50)).pixels(points)
    low, high = pixels.min(axis=0), pixels.max(axis=0)
    assert np.all(low >= np.array([30, 100]) - 1e-6)
    assert np.all(high <= np.array([810, 490]) + 1e-6)
    assert (low + high) / 2 == pytest.approx(np.array([420, 295]), abs=1e-6)


def test_edge_rides_rigidly_on_the_end_face() -> None:
    """Closed form: a rigid shift and turn gives u + w x r at an edge off the axis."""
    mesh = dataclasses.replace(bar(), edge=np.array([0.08, 0.006, -0.004]))
    shift, turn = np.array([1e-3, -2e-3, 3e-3]), np.array([0.2, -0.1, 0.3])
    moves = shift + np.cross(turn, mesh.points)
    assert face_ride(mesh, moves).of(mesh.edge) == pytest.approx(shift + np.cross(turn, mesh.edge), abs=1e-15)


def test_the_arrow_rides_on_the_edge() -> None:
    """Principle: a rigid turn about the face's middle carries the arrow's tip where the edge goes."""
    mesh = dataclasses.replace(bar(), edge=np.array([0.08, 0.006, -0.004]))
    stage = build_stage(scene(mesh, bending(mesh)), (960, 540))
    assert stage.arrow is not None
    tip = stage.arrow[1] - 0.7 * stage.ride.of(stage.arrow)[1]
    assert tip == pytest.approx(mesh.edge - 0.7 * face_ride(mesh, stage.moves).of(mesh.edge), abs=1e-15)


def test_the_arrow_is_red_where_the_edge_is() -> None:
    """Principle: whatever else is drawn, the pixels just behind the tip have the colour of the force."""
    mesh = bar()
    stage = build_stage(scene(mesh, bending(mesh)), (960, 540))
    white = np.full((1, 540, 960, 3), 255, dtype=np.uint8)
    words = Words(title="", lines=(), foot="")
    (picture,) = letter(white, stage, swings=[0.5], words=words)
    assert stage.arrow is not None
    tail, tip = stage.view.pixels(stage.arrow + 0.5 * stage.ride.of(stage.arrow))
    x, y = np.rint(tip + 12 * (tail - tip) / np.linalg.norm(tail - tip)).astype(int)
    assert tuple(picture[y, x]) == to_rgb_255(COLOURS["force"])


def to_rgb_255(colour: str) -> tuple[int, ...]:
    """Return a hexadecimal colour as three numbers up to 255."""
    return tuple(int(colour[at : at + 2], 16) for at in (1, 3, 5))


def test_drawn_swing_and_magnification() -> None:
    """Closed form: a tenth of 80 mm is drawn for 0.001 mm of life, hence 8000 times."""
    mesh = bar()
    view = scene(mesh, bending(mesh))
    moves = drawn_movement(view, bar_surface(view))
    assert np.linalg.norm(moves, axis=1).max() == pytest.approx(0.008, rel=1e-12)
    assert magnification(view, moves) == pytest.approx(8000, rel=1e-12)
    given = dataclasses.replace(view, magnification=500.0)
    assert magnification(given, drawn_movement(given, bar_surface(given))) == pytest.approx(500, rel=1e-12)
    inch = dataclasses.replace(view, units="inch")
    assert magnification(inch, moves) == pytest.approx(0.008 / 2.54e-6, rel=1e-12)


def test_a_twist_is_not_swollen() -> None:
    """Principle: the drawn turn of the end face stays near 0.35 rad, so that corners do not fly out."""
    mesh = bar()
    view = scene(mesh, torsion(mesh), kind="torsion")
    moves = drawn_movement(view, bar_surface(view))
    corner = np.argmax(mesh.points @ [1.0, 1.0, 1.0])
    turn = np.linalg.norm(moves[corner]) / np.linalg.norm(mesh.points[corner, 1:])
    assert 0.2 < turn < 0.4


def test_holder_stands_behind_the_face_and_clear_of_the_bar() -> None:
    """Principle: no drawn holder reaches past x = 0, and the bore leaves a gap all round."""
    mesh = bar()
    (prop,) = build_stage(scene(mesh, bending(mesh)), (960, 540)).around.behind
    block = prop.solid
    assert block.points[:, 0].max() == 0
    assert np.abs(block.points[:, 1:]).max() > 0.008
    turn = np.linspace(0, 2 * np.pi, 90)
    section = 0.008 * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    behind, before = cut_block(section, start=-0.05, margin=0.006)
    points = np.concatenate([body.points for body in (*behind, *before)])
    assert points[:, 0].max() <= 0
    assert points[:, 0].min() == pytest.approx(-0.05)
    assert np.hypot(points[:, 1], points[:, 2]).min() > 0.008


def test_words_on_the_picture() -> None:
    """Principle: note, way, share, magnification and slowing are stated; 1043 Hz in 2 s is 2100 times."""
    mesh = bar()
    view = scene(mesh, bending(mesh))
    line = mode_line(view, edge=np.array([0, 0, 1.0]), largest=1.0)
    assert line == "80 mm out, mode 1, 1043 Hz: swings along the cutting force"
    bare = dataclasses.replace(view, share=None)
    assert mode_line(bare, edge=np.array([0, 0, 1.0]), largest=1.0).endswith(": swings up and down")
    across = dataclasses.replace(view, share=0.04, units="inch")
    assert mode_line(across, edge=np.array([0, 1.0, 0]), largest=1.0).startswith("3.15 in out")
    assert mode_line(across, edge=np.array([0, 1.0, 0]), largest=1.0).endswith("across the cutting force")
    half = dataclasses.replace(view, share=0.5)
    assert mode_line(half, edge=np.array([0, 1.0, 1.0]), largest=1.0).endswith("45° from upright")
    assert made_up_lines(view, ["cutter", "work"], aside=True)[0] == "cutter, work: as drawn"
    assert made_up_lines(view, [], aside=False) == []
    text = scale_line(view, 8000.0, period_s=2.0)
    assert "magnified 8\u2009000 times" in text
    assert "0.001 mm" in text
    assert text.endswith("slowed about 2\u2009100 times")
    assert "slowed" not in scale_line(view, 8000.0, period_s=None)
    assert "0.1 thou" in scale_line(dataclasses.replace(view, units="inch"), 3150.0, period_s=2.0)
    still = mode_line(dataclasses.replace(view, kind="breathing"), edge=np.array([0, 0, 0.01]), largest=1.0)
    assert still.endswith("breathing, the edge hardly moves")
    assert "twists" in mode_line(dataclasses.replace(view, kind="torsion"), edge=np.zeros(3), largest=1.0)


@pytest.mark.parametrize(
    ("way", "words"),
    [
        ((0, 0, -1), "up and down"),
        ((0, 1, 0.1), "sideways"),
        ((1, 0, 0.2), "along the bar"),
        ((0, 1, 1), "slantwise, 45° from upright"),
        ((1, 1, 1), "slantwise"),
    ],
)
def test_ways_in_words(way: tuple[float, float, float], words: str) -> None:
    """Principle: z is up, y across, x along the bar."""
    assert way_words(np.array(way, dtype=float)) == words


@pytest.mark.parametrize(
    ("value", "text"), [(8123, "8\u2009100"), (95, "95"), (0.0314, "0.031"), (995, "1\u2009000")]
)
def test_two_digits(value: float, text: str) -> None:
    """Principle: two digits, thousands parted."""
    assert round_two(value) == text


@pytest.mark.parametrize(
    ("more", "key"),
    [
        ({"shape": np.zeros((3, 3))}, "shape"),
        ({"frequency_hz": 0.0}, "frequency_hz"),
        ({"swing_m": -1.0}, "swing_m"),
        ({"force": np.zeros(3)}, "force"),
    ],
)
def test_scenes_that_cannot_be_drawn(more: dict[str, object], key: str) -> None:
    """Errors: each names the field."""
    mesh = bar()
    good: Scene = scene(mesh, bending(mesh))
    with pytest.raises(InputError) as caught:
        check_scene(dataclasses.replace(good, **more))  # type: ignore[arg-type]
    assert caught.value.key == key


def test_a_shape_that_is_not_finite() -> None:
    """Errors: one value that is not a number is enough."""
    mesh = bar()
    shape = bending(mesh)
    shape[5] = np.nan
    with pytest.raises(InputError) as caught:
        check_scene(scene(mesh, shape))
    assert caught.value.key == "shape"


def test_a_meshed_holder_is_drawn_instead_of_a_block() -> None:
    """Principle: a region ``holder`` is drawn from the mesh, moves with it, and covers what it holds."""
    thin, thick = bar(gripped=0.05), bar(width=0.03, overhang=0.05)
    points = np.concatenate([thin.points, thick.points - [0.05, 0, 0]])
    regions = {**thin.regions, "holder": np.arange(len(thick.cells)) + len(thin.cells)}
    cells = np.concatenate([thin.cells, thick.cells + len(thin.points)])
    family = np.full(len(cells), -1)
    mesh = dataclasses.replace(thin, points=points, cells=cells, regions=regions, family=family)
    stage = build_stage(scene(mesh, bending(mesh), grip="sleeve"), (960, 540))
    assert (stage.around.behind, stage.around.before) == ((), ())
    shown, holder = at_instant(stage, 1.0).solids
    assert (shown.colour, holder.colour) == ("steel", "holder")
    assert holder.points[:, 0].max() <= 1e-12
    assert shown.points[shown.triangles].max(axis=1)[:, 0].min() > 0
