"""Films and sheets: pictures differ, the loop closes, one palette, bad input."""

from __future__ import annotations

import dataclasses
import importlib.util
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from show_bars import bar, bending, scene, torsion

from stickout.cli.show.scene.film import loop_order, loop_swings, write_film, write_sheet
from stickout.cli.show.scene.gif import save_gif
from stickout.cli.show.scene.picture import draw
from stickout.cli.show.scene.scene import Scene
from stickout.cli.show.scene.stage import build_stage
from stickout.fem.errors import SolveError
from stickout.meshes.errors import InputError

SIZE = (480, 270)
FRAMES = 12


@pytest.fixture(scope="module")
def held() -> Scene:
    """Return a round bar in a cut-away holder, bending aslant."""
    mesh = bar(gripped=0.05, round_=True)
    return scene(mesh, bending(mesh, direction=(0, 0.5, 1)), grip="bed")


@pytest.fixture(scope="module")
def loop(held: Scene, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a film."""
    out = tmp_path_factory.mktemp("film") / "bar.gif"
    write_film(held, out, size=SIZE, frames=FRAMES)
    return out


def frames_of(path: Path) -> list[np.ndarray]:
    """Return the pictures of a GIF, shape (height, width, 3) each."""
    pictures = []
    with Image.open(path) as film:
        for at in range(film.n_frames):
            film.seek(at)
            pictures.append(np.asarray(film.convert("RGB")).astype(int))
    return pictures


def test_pictures_differ_and_the_loop_closes(loop: Path) -> None:
    """Principle: of N pictures of a sine N/2 + 1 differ, neighbours always, and it runs back as it came."""
    pictures = frames_of(loop)
    assert len(pictures) == FRAMES
    assert pictures[0].shape == (SIZE[1], SIZE[0], 3)
    assert len({picture.tobytes() for picture in pictures}) == FRAMES // 2 + 1
    for at in range(FRAMES):
        assert not np.array_equal(pictures[at], pictures[(at + 1) % FRAMES])
        assert np.array_equal(pictures[at], pictures[-at])


def test_swings_are_a_whole_cosine() -> None:
    """Closed form: cos(2 pi k / N) in the order shown, so the last picture leads to the first."""
    swings = np.array(loop_swings(40))[loop_order(40)]
    assert swings == pytest.approx(np.cos(2 * np.pi * np.arange(40) / 40), abs=1e-15)
    assert len(loop_swings(40)) == 21


def test_one_palette_endless_and_timed(loop: Path) -> None:
    """Standard: GIF89a - a global colour table, no local one, endless, 50 ms a picture (from memory)."""
    local, delays = tables_and_delays(loop.read_bytes())
    assert local == [False] * FRAMES
    assert delays == [5] * FRAMES
    assert b"NETSCAPE2.0\x03\x01\x00\x00\x00" in loop.read_bytes()


def tables_and_delays(data: bytes) -> tuple[list[bool], list[int]]:
    """Return whether each picture of a GIF has its own colour table, and the delays [1/100 s]."""
    assert data[10] & 0x80, "no global colour table"
    at = 13 + 3 * 2 ** ((data[10] & 7) + 1)
    local, delays = [], []
    while data[at] != 0x3B:
        if data[at] == 0x21:
            if data[at + 1] == 0xF9:
                delays.append(int.from_bytes(data[at + 4 : at + 6], "little"))
            at += 2
        else:
            flags = data[at + 9]
            local.append(bool(flags & 0x80))
            at += 11 + (3 * 2 ** ((flags & 7) + 1) if flags & 0x80 else 0)
        while data[at]:
            at += data[at] + 1
        at += 1
    return local, delays


def test_large_flat_colours_are_kept(loop: Path) -> None:
    """Principle: white paper stays white; a shifted tint would show on a slide."""
    assert np.all(frames_of(loop)[0][0, 0] == 255)


def test_a_sheet_of_four_modes(tmp_path: Path) -> None:
    """Principle: four different cells, each holding a picture."""
    mesh = bar()
    shapes = [bending(mesh), bending(mesh, direction=(0, 1, 0)), bending(mesh, order=2), torsion(mesh)]
    scenes = [
        scene(mesh, shape, number=at, kind="torsion" if at == 4 else "bending")
        for at, shape in enumerate(shapes, 1)
    ]
    report = write_sheet(scenes, tmp_path / "modes.png", size=(960, 540))
    with Image.open(report.path) as sheet:
        pixels = np.asarray(sheet.convert("RGB"))
    assert pixels.shape == (540, 960, 3)
    cells = [pixels[y : y + 270, x : x + 480] for y in (0, 270) for x in (0, 480)]
    assert len({cell.tobytes() for cell in cells}) == 4
    assert min(float((cell < 250).mean()) for cell in cells) > 0.1


def test_the_colour_bar_stays_clear() -> None:
    """Principle: nothing drawn reaches the border kept for the colour bar, at either end of the swing."""
    for mesh in (bar(), bar(gripped=0.05, round_=True), bar(overhang=0.2)):
        stage = build_stage(scene(mesh, bending(mesh), force=np.array([-1.0, 0.0, -0.2])), (960, 540))
        bare = dataclasses.replace(stage, labels=())
        one, two = draw(bare, [1.0, -1.0])
        for picture in (one, two):
            assert np.all(picture[:, 960 - 160 :] == 255)
            assert np.all(picture[:110] == 255)


def test_what_is_written_is_what_was_drawn(tmp_path: Path) -> None:
    """Principle: with no more colours than a palette holds, each picture reads back exactly, in its turn."""
    rng = np.random.default_rng(7)
    colours = rng.integers(0, 256, (60, 3), dtype=np.uint8)
    cells = rng.permutation(np.arange(11 * 17) % 60).reshape(11, 17)
    numbers = [np.repeat(np.repeat(cells, 3, axis=0), 3, axis=1)]
    # Only a part changes from one to the next, another each time, down to one pixel at a corner.
    for place in (np.s_[4:9, 20:30], np.s_[:1, :1], np.s_[30:33, 48:51]):
        numbers.append(numbers[-1].copy())
        numbers[-1][place] = (numbers[-1][place] + 1) % 60
    pictures = [colours[one] for one in numbers]
    order = [0, 1, 2, 3, 2, 1]
    save_gif(pictures, tmp_path / "loop.gif", order=order)
    back = frames_of(tmp_path / "loop.gif")
    assert len(back) == 6
    for at, picture in zip(order, back, strict=True):
        assert np.array_equal(picture, pictures[at])


def test_pictures_that_do_not_differ_are_refused(tmp_path: Path) -> None:
    """Errors: a loop of equal pictures would be written shorter than asked."""
    still = np.full((20, 20, 3), 200, dtype=np.uint8)
    with pytest.raises(SolveError, match="same"):
        save_gif([still] * 5, tmp_path / "still.gif", order=loop_order(8))


@pytest.mark.parametrize(
    ("name", "more", "key"),
    [
        ("missing/bar.gif", {}, "--out"),
        ("folder.gif", {}, "--out"),
        ("bar.avi", {}, "--out"),
        ("bar.gif", {"frames": 7}, "frames"),
        ("bar.gif", {"frames": 4}, "frames"),
        ("bar.gif", {"size": (481, 270)}, "size"),
        ("bar.gif", {"size": (100, 60)}, "size"),
    ],
)
def test_bad_film_input(held: Scene, tmp_path: Path, name: str, more: dict[str, object], key: str) -> None:
    """Errors: each names what came, and leaves no file behind."""
    (tmp_path / "folder.gif").mkdir()
    with pytest.raises(InputError) as caught:
        write_film(held, tmp_path / name, **more)  # type: ignore[arg-type]
    assert caught.value.key == key
    assert [path.name for path in tmp_path.iterdir()] == ["folder.gif"]


def test_a_scene_that_cannot_be_drawn_leaves_nothing(held: Scene, tmp_path: Path) -> None:
    """Errors: the file of an earlier film survives a failed one, and no temporary file is left."""
    out = tmp_path / "bar.gif"
    out.write_bytes(b"earlier")
    bad = dataclasses.replace(held, shape=np.zeros_like(held.mesh.points))
    with pytest.raises(InputError):
        write_film(bad, out)
    assert out.read_bytes() == b"earlier"
    assert list(tmp_path.iterdir()) == [out]


def test_video_without_its_package(held: Scene, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Errors: the message names the extra."""
    monkeypatch.setattr(importlib.util, "find_spec", lambda _: None)
    with pytest.raises(InputError, match=r"stickout\[video\]"):
        write_film(held, tmp_path / "bar.mp4")
    assert not list(tmp_path.iterdir())


def test_video_with_its_package(held: Scene, tmp_path: Path) -> None:
    """Principle: an MP4 opens with its file type box, a WebM with the EBML mark (both from memory)."""
    pytest.importorskip("imageio_ffmpeg")
    write_film(held, tmp_path / "bar.mp4", size=SIZE, frames=FRAMES)
    write_film(held, tmp_path / "bar.webm", size=SIZE, frames=FRAMES)
    assert (tmp_path / "bar.mp4").read_bytes()[4:8] == b"ftyp"
    assert (tmp_path / "bar.webm").read_bytes()[:4] == b"\x1a\x45\xdf\xa3"


def test_sheet_of_none_or_five(held: Scene, tmp_path: Path) -> None:
    """Errors: a sheet holds one to four modes."""
    for scenes in ([], [held] * 5):
        with pytest.raises(InputError) as caught:
            write_sheet(scenes, tmp_path / "modes.png")
        assert caught.value.key == "scenes"
