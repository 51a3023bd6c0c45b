"""Two panes on one clock, and pictures of the energy: what they share, what they colour, what they refuse."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import setups
from PIL import Image

from stickout.cli.show.scene.energy import EnergyPicture, energy_stage, write_energy
from stickout.cli.show.scene.film import DrawReport
from stickout.cli.show.scene.scene import Scene
from stickout.cli.show.scene.two_panes import (
    beside,
    distinct_swings,
    same_magnification,
    shared_stages,
    swings_in_loop,
    write_two_panes,
)
from stickout.fem.cut.quick import quick_study
from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.energy import cell_energies, cell_volumes, node_densities
from stickout.fem.study.result import Result
from stickout.fem.study.study import run_study
from stickout.meshes.errors import InputError


@cache
def result_of(text: str) -> Result:
    """Return what the first mesh tells: pictures, and sums over its own cells, need no more."""
    return quick_study(setup_of(text))


def setup_of(text: str, *changes: str) -> Setup:
    """Return a set-up of which two modes are solved."""
    return parse_setup(text, changes=["solve.modes=2", *changes]).setup


def scene_of(text: str, *, swing: float = 2e-6, hertz: float = 1000.0) -> Scene:
    """Return a picture of the first mode."""
    result = result_of(text)
    return Scene(result.model.mesh, result.modes.shapes[0], hertz, title="bar", grip="bed", swing_m=swing)


def pair(swing: float = 1e-6) -> tuple[Scene, Scene]:
    """Return a bar that swings 2 µm and another that swings ``swing``."""
    return scene_of(setups.ROUND), scene_of(setups.WRAPPED, swing=swing, hertz=800.0)


@pytest.mark.parametrize(
    ("left", "right", "swings"),
    [
        (1000, 1000, (1, 1)),
        (1000, 1020, (1, 1)),  # nearer than ten swings can show
        (1000, 2000, (1, 2)),
        (1258, 1054, (6, 5)),
        (3798, 3439, (10, 9)),
        (100, 9000, (1, 10)),
    ],
)
def test_one_clock(left: float, right: float, swings: tuple[int, int]) -> None:
    """Whole swings, ten at the most, in the ratio of the notes."""
    assert swings_in_loop(left, right) == swings
    assert swings_in_loop(right, left) == swings[::-1]


@pytest.mark.parametrize(
    ("count", "frames", "different"), [(1, 24, 13), (6, 72, 7), (5, 72, 37), (10, 120, 7)]
)
def test_each_instant_of_a_pane_is_drawn_once(count: int, frames: int, different: int) -> None:
    """Closed form: cos(2 pi n k / N), its different values of the first half loop alone, in their order."""
    swings, places = distinct_swings(count, frames)
    shown = np.array(swings)[places]
    assert shown == pytest.approx(np.cos(2 * np.pi * count * np.arange(frames // 2 + 1) / frames), abs=1e-12)
    assert len(swings) == different
    assert np.diff(swings).min() > 1e-4


def test_one_magnification_and_one_colour_range() -> None:
    """The bar that really moves half as far is drawn half as far, and never brighter than half."""
    scenes = same_magnification(pair())
    assert scenes[0].magnification == scenes[1].magnification
    left, right = shared_stages(scenes, (640, 360))
    sizes = [float(np.linalg.norm(stage.moves, axis=1).max()) for stage in (left, right)]
    assert sizes[1] / sizes[0] == pytest.approx(0.5, rel=1e-9)
    assert left.values.max() == pytest.approx(1.0)
    assert right.values.max() == pytest.approx(0.5)
    assert left.view == right.view
    # And within reach: the one that moves more sets the factor where both are alike.
    assert same_magnification(pair(4e-6))[0].magnification < scenes[0].magnification


@pytest.mark.slow
def test_a_loop_of_two_panes(tmp_path: Path) -> None:
    """Both halves move, each with its own number of swings, and the loop closes."""
    report = write_two_panes(pair(), tmp_path / "two.gif", size=(640, 180))
    assert report.size == (640, 180)
    with Image.open(tmp_path / "two.gif") as film:
        assert film.n_frames == report.frames == 60
        frames = []
        for at in range(report.frames):
            film.seek(at)
            frames.append(np.asarray(film.convert("RGB"), dtype=int))
    left, right = (np.stack([f[:, part] for f in frames]) for part in (slice(0, 318), slice(322, 640)))
    # 1000 and 800 Hz: five swings on the left, four on the right, so it is back where it was after a fifth.
    back = np.abs(left - left[:1]).mean(axis=(1, 2, 3))
    assert back[12] < 0.2 * back.max()
    assert np.abs(right[15] - right[0]).mean() < 0.2 * np.abs(right - right[:1]).mean(axis=(1, 2, 3)).max()
    assert np.abs(right[12] - right[0]).mean() > 0.05
    assert all(np.any(a != b) for a, b in zip(frames, [*frames[1:], frames[0]], strict=True))


def test_panes_side_by_side() -> None:
    """Each picture keeps its half; a line parts them."""
    dark, light = np.zeros((10, 20, 3), np.uint8), np.full((10, 20, 3), 255, np.uint8)
    both = beside(dark, light)
    assert both.shape == (10, 40, 3)
    assert both[:, :18].max() == 0
    assert both[:, 22:].min() == 255


@pytest.mark.parametrize(
    ("out", "size"), [("two.png", (640, 180)), ("two.gif", (600, 180)), ("no/two.gif", (640, 180))]
)
def test_loops_that_cannot_be(tmp_path: Path, out: str, size: tuple[int, int]) -> None:
    """A still, panes too narrow, a folder that is not there."""
    with pytest.raises(InputError):
        write_two_panes(pair(), tmp_path / out, size=size)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.slow
@pytest.mark.parametrize(
    ("text", "each", "whole"),
    [
        (setups.SLOT + setups.SHIM, 1e-6, 1e-6),
        # A body of revolution is solved without the mesh that its shapes are told on, also one in a block.
        (setups.SLEEVE, 1e-2, 3e-3),
        (setups.WRAPPED, 3e-2, 1e-3),
    ],
)
def test_energy_of_the_cells(text: str, each: float, whole: float) -> None:
    """Principle: cells and faces together hold the mode's energy, half the square of its frequency."""
    # The two bendings in a sleeve lie so near that the first mesh tells them as an equal pair, turned.
    near = text == setups.SLEEVE
    result = run_study(setup_of(text, "solve.accuracy=0.01")) if near else result_of(text)
    mesh, shape = result.model.mesh, result.modes.shapes[0]
    energy = cell_energies(result.model, shape)
    for name, cells in mesh.regions.items():
        assert energy[cells].sum() == pytest.approx(result.modes.energy[name][0], rel=each)
    faces = sum(result.modes.energy[name][0] for name in result.model.ties)
    assert energy.sum() + faces == pytest.approx(result.modes.omega[0] ** 2 / 2, rel=whole)


def test_volume_of_the_cells() -> None:
    """Closed form: a square shank of 100 x 12 x 12 mm on a 60 x 12 x 0.5 mm sheet."""
    mesh = result_of(setups.SLOT + setups.SHIM).model.mesh
    volume = cell_volumes(mesh.points, mesh.cells)
    assert volume.sum() == pytest.approx(100e-3 * 144e-6 + 60e-3 * 12e-3 * 0.5e-3, rel=1e-12)


def test_density_lies_where_the_bar_bends() -> None:
    """Beam theory: bending energy per length goes with the square of the moment; none at the free end."""
    result = result_of(setups.ROUND)
    density = node_densities(result.model, result.modes.shapes[0])["bar"]
    x = result.model.mesh.points[:, 0]
    root, tip = density[(x > 0) & (x < 0.02)].max(), density[x > 0.075].max()
    assert tip < 0.02 * root
    # Only the region's own nodes: the gripped part holds its own.
    assert density[x < -1e-6].max() == 0


def picture_of(text: str) -> EnergyPicture:
    """Return the energy picture of a set-up's first mode."""
    result = result_of(text)
    return EnergyPicture(
        scene=scene_of(text),
        density=node_densities(result.model, result.modes.shapes[0]),
        shares={name: values[:2] for name, values in result.shares.items()},
        names=["mode 1", "mode 2"],
    )


def test_a_stage_coloured_by_energy() -> None:
    """Colours run from none to most; inside a block nothing is hidden."""
    stage = energy_stage(picture_of(setups.SLEEVE))
    assert (stage.values.min(), stage.values.max()) == (pytest.approx(0.0, abs=0.01), 1.0)
    assert stage.holder_skin is None
    sample = stage.skin.sample(stage.points)
    assert sample[stage.triangles.ravel(), 0].min() == pytest.approx(-0.060, abs=1e-6)


@pytest.mark.slow
@pytest.mark.parametrize("suffix", [".png", ".svg"])
def test_energy_pictures(tmp_path: Path, suffix: str) -> None:
    """Written whole, twice the same; the scalable one holds its words and a bar for every share."""

    def write(name: str) -> DrawReport:
        return write_energy(picture_of(setups.SLOT + setups.SHIM), tmp_path / name)

    report = write(f"one{suffix}")
    write(f"two{suffix}")
    first, second = ((tmp_path / f"{name}{suffix}").read_bytes() for name in ("one", "two"))
    assert first == second
    if suffix == ".png":
        with Image.open(tmp_path / "one.png") as image:
            assert image.size == report.size
            assert len(np.unique(np.asarray(image.convert("RGB")).reshape(-1, 3), axis=0)) > 100
    else:
        assert b"bar on shim" in first
        assert b"share of the mode" in first


@pytest.mark.parametrize("out", ["energy.gif", "no/energy.png"])
def test_energy_pictures_that_cannot_be(tmp_path: Path, out: str) -> None:
    """An ending not known, a folder that is not there."""
    with pytest.raises(InputError, match="--energy is"):
        write_energy(replace(picture_of(setups.ROUND)), tmp_path / out)
    assert list(tmp_path.iterdir()) == []
