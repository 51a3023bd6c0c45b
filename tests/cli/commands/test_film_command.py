"""The command ``film``: which mode is drawn, where to, and what is refused before anything is computed."""

from __future__ import annotations

import importlib.util
import json
import math
from pathlib import Path

import numpy as np
import pytest
import setups
from answers import EXAMPLES, result_of, spring, told
from PIL import Image

from stickout.cli.commands import film as film_module
from stickout.cli.show.scene.film import DrawReport
from stickout.cli.show.scene.scene import Scene
from stickout.fem.errors import SolveError
from stickout.fem.setup.file import read_setup
from stickout.fem.study.result import Result
from stickout.fem.study.study import run_study

BAR = EXAMPLES / "boring_bar_16mm.toml"
FEW = ("--set", "solve.modes=3", "--set", "solve.accuracy=0.01")


@pytest.fixture(autouse=True)
def elsewhere(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Work in an empty folder."""
    monkeypatch.chdir(tmp_path)


@pytest.fixture(scope="module")
def result() -> Result:
    """Return the study of the README's bar."""
    return run_study(read_setup(BAR).setup)


@pytest.mark.slow
def test_a_loop_of_the_aligned_mode() -> None:
    """One sentence says mode, note and file; and the GIF moves."""
    code, out, err = told("film", BAR, "--out", "bar.gif", *FEW)
    assert code == 0
    assert out.startswith("Mode 1, the one along the cutting force, at 1.26 kHz, as a loop.")
    assert "magnified" in out
    assert "bar.gif (" in out
    assert out.count("\n") == 1
    assert not err
    with Image.open("bar.gif") as film:
        assert film.n_frames > 8
        first = np.asarray(film.convert("RGB")).copy()
        film.seek(film.n_frames // 2)
        assert not np.array_equal(first, np.asarray(film.convert("RGB")))
    assert [one.name for one in Path().iterdir()] == ["bar.gif"]


def test_a_sheet() -> None:
    """As many modes as there are, four at most."""
    code, out, _ = told("film", BAR, "--out", "bar.png", *FEW)
    assert code == 0
    assert out.startswith("Modes 1 to 3, as a still sheet.")
    with Image.open("bar.png") as sheet:
        assert sheet.size == (1600, 900)


def test_the_scene_of_a_mode(result: Result) -> None:
    """Note, force, share and real swing are those of the study."""
    scene = film_module.scene_of(result, 0)
    assert isinstance(scene, Scene)
    assert (scene.number, scene.kind, scene.grip, scene.units) == (1, "bending", "bed", "mm")
    assert scene.title == "Home-made 16 mm boring bar"
    assert scene.frequency_hz == pytest.approx(float(result.frequency_hz[0]))
    assert scene.share == pytest.approx(float(result.alignment[0]))
    assert scene.force == pytest.approx(result.loading.direction)


def test_the_swing_is_what_the_cut_would_do(result: Result) -> None:
    """Principle: mode 1 carries 98 % of the static spring, and moves the edge by its alignment's root more.

    The end of the bar moves a little more than the edge's mean (2 %, plane sections and Poisson's strain).
    """
    record = result_of("boring_bar_16mm")
    share = record["modes"][0]["static_share"] / math.sqrt(record["modes"][0]["alignment"])
    swing = film_module.swing_of(result, 0)
    assert swing is not None
    # 37 N: the force of the example's cut as the answer tells it, to two digits.
    assert swing == pytest.approx(37 * spring(record) * share, rel=0.05)
    # The twin of the pair is not moved by the force, and a bar without a force model has no known force.
    assert film_module.swing_of(result, 1) is None
    bare = read_setup(EXAMPLES / "tube_bar.toml", changes=["solve.modes=1"], leave_out=["cut"]).setup
    assert film_module.swing_of(run_study(bare), 0) is None


def test_which_mode_is_told(result: Result) -> None:
    """The one along the force is called so, another is not; one mode on a sheet is a picture."""
    assert "along the cutting force" in film_module.film_words(result, 0)
    assert "along" not in film_module.film_words(result, 2)
    assert film_module.sheet_words([2]) == "Mode 2, as a still picture."


@pytest.mark.parametrize(
    ("words", "key", "hint"),
    [
        (("--out", "bar.gif", "--mode", "0"), "--mode", "from 1 to 6"),
        (("--out", "bar.gif", "--mode", "7"), "--mode", "counted from 1"),
        (("--out", "bar.jpg"), "--out", ".gif, .mp4, .webm or .png"),
        (("--out", "bar"), "--out", ".gif"),
        (("--out", "none/bar.gif"), "--out", "does not exist"),
        (("--out", "folder.gif"), "--out", "a folder"),
        (("--out", "bar.gif", "--set", "bar.overhang=0"), "bar.overhang", "above 0 mm"),
        ((), "command line", "--out"),
        (("--out", "bar.gif", "--mode", "two"), "command line", "two"),
    ],
)
def test_what_is_refused(
    monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], key: str, hint: str
) -> None:
    """Exit 2, one line, nothing written, nothing computed."""

    def fail(*_: object, **__: object) -> None:
        raise SolveError("nothing may be solved here")

    monkeypatch.setattr("stickout.fem.study.study.run_study", fail)
    Path("folder.gif").mkdir()
    code, out, err = told("film", BAR, *words)
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert err.startswith(f"{key} is ")
    assert hint in err
    assert [one.name for one in Path().rglob("*")] == ["folder.gif"]


@pytest.mark.skipif(importlib.util.find_spec("imageio_ffmpeg") is not None, reason="the extra is installed")
def test_a_video_needs_the_extra() -> None:
    """The message names the extra and the way out."""
    code, _, err = told("film", BAR, "--out", "bar.mp4")
    assert code == 2
    assert "stickout[video]" in err
    assert list(Path().iterdir()) == []


def test_a_disk_that_fills_up() -> None:
    """A limit on file sizes stands in for the end of the disk: exit 2, and the old film is still there."""
    resource = pytest.importorskip("resource")
    Path("bar.png").write_text("old", encoding="utf-8")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, hard))
    try:
        code, out, err = told("film", BAR, "--out", "bar.png", *FEW)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert (code, out) == (2, "")
    assert "--out is bar.png, and there is no room left" in err
    assert [(one.name, one.read_text(encoding="utf-8")) for one in Path().iterdir()] == [("bar.png", "old")]


def test_the_mode_that_limits_is_the_one_of_cut(monkeypatch: pytest.MonkeyPatch) -> None:
    """``film --limiting`` and ``cut --json`` name the same mode, and that one is drawn."""
    drawn: list[Scene] = []

    def write(scene: Scene, path: Path, *, size: tuple[int, int]) -> DrawReport:
        drawn.append(scene)
        path.write_bytes(b"")
        return DrawReport(path, frames=1, size=size)

    monkeypatch.setattr("stickout.cli.show.scene.film.write_film", write)
    tool = EXAMPLES / "turning_tool_12mm.toml"
    words = ("--set", "solve.accuracy=0.02")
    assert told("cut", tool, "--json", "cut.json", *words)[0] == 0
    wanted = json.loads(Path("cut.json").read_text(encoding="utf-8"))["limiting_mode"]
    code, out, _ = told("film", tool, "--out", "tool.gif", "--limiting", *words)
    assert code == 0
    assert out.startswith(f"Mode {wanted}, the one ")
    assert "that limits" in out
    assert [one.number for one in drawn] == [wanted]


@pytest.mark.parametrize(
    ("words", "part"),
    [
        (("--out", "bar.gif", "--mode", "2"), "with --mode 2"),
        (("--out", "bar.png"), "with a loop"),
    ],
)
def test_limiting_is_refused_before_anything_is_computed(words: tuple[str, ...], part: str) -> None:
    """A number beside it, or a still sheet."""
    code, _, err = told("film", BAR, "--limiting", *words)
    assert code == 2
    assert part in err
    assert not list(Path().iterdir())


def test_limiting_wants_a_cut() -> None:
    """A set-up without a cut has no mode that limits one."""
    Path("plain.toml").write_text(setups.ROUND, encoding="utf-8")
    code, _, err = told("film", "plain.toml", "--out", "bar.gif", "--limiting")
    assert code == 2
    assert "without [cut]" in err


@pytest.mark.parametrize("given", ["12", "1921x1080", "1920x", "99999x99999", "300x100", "1e3x500"])
def test_a_size_that_no_film_has(given: str) -> None:
    """One message that names the option and what is allowed, and no file."""
    code, _, err = told("film", BAR, "--out", "bar.gif", "--size", given)
    assert code == 2
    assert "--size" in err
    assert "1920x1080" in err
    assert not list(Path().iterdir())
