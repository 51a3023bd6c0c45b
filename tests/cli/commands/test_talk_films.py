"""Several loops at once: one drawing process, half the pictures, every file that was asked for."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

import pytest
import show_bars
from answers import EXAMPLES
from PIL import Image

from stickout.cli.commands.talk import OWN_NAMES
from stickout.cli.commands.talk_films import write_together
from stickout.cli.show.scene import film as film_module
from stickout.cli.show.scene.film import write_films
from stickout.cli.show.scene.picture import Pictures
from stickout.cli.show.scene.plain import draw_plain
from stickout.cli.show.scene.probe import child_environment
from stickout.cli.show.scene.stage import Stage
from stickout.fem import read_setup
from stickout.fem.errors import InputError
from stickout.fem.study.study import run_study

SIZE = (320, 180)


def test_one_process_draws_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two loops and a copy: one call to the drawing child, 8 / 2 + 1 pictures a loop, three files."""
    calls: list[tuple[int, int]] = []

    def draw_once(stages: Sequence[Stage], swings: Sequence[float]) -> list[Pictures]:
        calls.append((len(stages), len(swings)))
        return draw_plain(stages, swings)

    monkeypatch.delenv("STICKOUT_DRAW", raising=False)
    monkeypatch.setattr(film_module, "draw_gl", draw_once)
    mesh = show_bars.bar()
    up, aside = (show_bars.scene(mesh, show_bars.bending(mesh, direction=d)) for d in ((0, 0, 1), (0, 1, 0)))
    files = [tmp_path / f"{name}.gif" for name in ("up", "copy", "aside")]
    reports = write_films([(up, files[:2]), (aside, files[2:])], size=SIZE, frames=8)
    assert calls == [(2, 5)]
    assert [one.path for one in reports] == files
    assert files[0].read_bytes() == files[1].read_bytes() != files[2].read_bytes()
    for file in files:
        with Image.open(file) as loop:
            assert loop.n_frames == 8


def test_one_film_that_fails_leaves_no_other(tmp_path: Path) -> None:
    """Whole or not at all: the second scene cannot be drawn, so the first is not written either."""
    mesh = show_bars.bar()
    good = show_bars.scene(mesh, show_bars.bending(mesh))
    bad = show_bars.scene(mesh, 0 * show_bars.bending(mesh))
    with pytest.raises(InputError, match="somewhere not zero"):
        write_films(
            [(good, [tmp_path / "a.gif"]), (bad, [tmp_path / "b.gif"])], size=SIZE, frames=8, use_gl=False
        )
    assert list(tmp_path.iterdir()) == []


def test_threads_of_the_software_driver(monkeypatch: pytest.MonkeyPatch) -> None:
    """The child draws on every core, unless the user says otherwise (variable: Mesa's, from memory)."""
    monkeypatch.delenv("LP_NUM_THREADS", raising=False)
    assert child_environment()["LP_NUM_THREADS"] == str(min(os.cpu_count() or 1, 16))
    monkeypatch.setenv("LP_NUM_THREADS", "3")
    assert child_environment()["LP_NUM_THREADS"] == "3"


def test_tool_and_part_together_are_in_the_pack(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A post in the set-up: a loop that moves and a still slide, known to ``--force``; alone none."""
    monkeypatch.setattr("stickout.cli.commands.talk_films.video_suffixes", tuple)
    monkeypatch.setattr("stickout.cli.show.plots.together_plot.FRAMES", 4)
    few = ("solve.modes=2", "solve.accuracy=0.05")
    posted, alone = (
        run_study(read_setup(EXAMPLES / f"{name}.toml", changes=few).setup)
        for name in ("measured_post", "turning_tool_12mm")
    )
    files = write_together(posted, tmp_path)
    assert sorted(files) == sorted(one.name for one in tmp_path.iterdir()) == ["together.gif", "together.png"]
    assert all(OWN_NAMES.fullmatch(one) for one in files)
    with Image.open(tmp_path / "together.gif") as loop:
        assert loop.n_frames > 1
    assert write_together(alone, tmp_path) == {}
