"""Several loops at once: every file that was asked for, or none."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import show_bars
from answers import EXAMPLES
from PIL import Image

from stickout.cli.commands.talk import OWN_NAMES
from stickout.cli.commands.talk_films import write_together
from stickout.cli.show.scene.film import write_films
from stickout.fem import read_setup
from stickout.fem.errors import InputError
from stickout.fem.study.study import run_study

SIZE = (320, 180)


def test_every_file_that_was_asked_for(tmp_path: Path) -> None:
    """Two loops and a copy: three files, the copy the same to the byte."""
    mesh = show_bars.bar()
    up, aside = (show_bars.scene(mesh, show_bars.bending(mesh, direction=d)) for d in ((0, 0, 1), (0, 1, 0)))
    files = [tmp_path / f"{name}.gif" for name in ("up", "copy", "aside")]
    reports = write_films([(up, files[:2]), (aside, files[2:])], size=SIZE, frames=8)
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
        write_films([(good, [tmp_path / "a.gif"]), (bad, [tmp_path / "b.gif"])], size=SIZE, frames=8)
    assert list(tmp_path.iterdir()) == []


def test_tool_and_part_together_are_in_the_pack(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A post in the set-up: a loop that moves and a still slide, known to ``--force``; alone none."""
    monkeypatch.setattr("stickout.cli.commands.talk_films.video_suffixes", tuple)
    monkeypatch.setattr("stickout.cli.show.plots.together_plot.FRAMES", 4)
    few = ("solve.modes=2", "solve.accuracy=0.05")
    posted, alone = (
        run_study(read_setup(EXAMPLES / f"{name}.toml", changes=few).setup)
        for name in ("measured_post", "turning_tool_12mm")
    )
    files, pictures = write_together(posted, tmp_path)
    assert sorted(files) == sorted(one.name for one in tmp_path.iterdir()) == ["together.gif", "together.png"]
    assert all(OWN_NAMES.fullmatch(one) for one in files)
    with Image.open(tmp_path / "together.gif") as loop:
        assert loop.n_frames == 4
        moments = []
        for at in range(4):
            loop.seek(at)
            moments.append(np.asarray(loop.convert("RGB")))
    # Tool and part swing with a lag, so the way back is another than the way there: none stands for two.
    assert len({one.tobytes() for one in moments}) == 4
    assert len(pictures) == 4
    assert write_together(alone, tmp_path) == ({}, [])
