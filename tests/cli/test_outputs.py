"""Results are written whole or not at all; the progress bar keeps quiet where nobody looks."""

from __future__ import annotations

import io
import sys
import time
from pathlib import Path

import pytest

from stickout.cli import progress as progress_module
from stickout.cli.outputs import check_target, writing
from stickout.cli.progress import progress
from stickout.fem.errors import InputError


def test_a_disk_that_fills_up_keeps_the_old_result(tmp_path: Path) -> None:
    """A limit on file sizes stands in for the end of the disk: the write fails half way."""
    resource = pytest.importorskip("resource")
    target = tmp_path / "out.json"
    target.write_text("old", encoding="utf-8")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, hard))
    try:
        with pytest.raises(InputError, match="no room left"), writing(target, key="--json") as part:
            part.write_text("x" * 5000, encoding="utf-8")
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert target.read_text(encoding="utf-8") == "old"
    assert [one.name for one in tmp_path.iterdir()] == ["out.json"]


def test_a_failure_while_writing_leaves_nothing(tmp_path: Path) -> None:
    """Also when it is the writer's own fault."""
    target = tmp_path / "film.gif"
    with pytest.raises(ZeroDivisionError), writing(target, key="--out") as part:
        part.write_bytes(bytes(len(part.suffix) // 0))
    assert list(tmp_path.iterdir()) == []


def test_a_target_is_checked_before_the_work(tmp_path: Path) -> None:
    """The check leaves no trace, and finds a folder out."""
    check_target(tmp_path / "out.json", key="--json")
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(InputError, match="a folder"):
        check_target(tmp_path, key="--json")


class _Screen(io.StringIO):
    """Standard error that is a terminal."""

    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize("screen", [True, False])
def test_the_progress_bar_shows_on_a_screen_only(monkeypatch: pytest.MonkeyPatch, screen: bool) -> None:
    """Piped, nothing is printed; on a screen the bar appears once patience is over."""
    stderr = _Screen() if screen else io.StringIO()
    monkeypatch.setattr(sys, "stderr", stderr)
    monkeypatch.setattr(progress_module, "PATIENCE_S", 0.0)
    with progress("Solving") as bar:
        # Until the bar is there, or, piped, for as long as it takes to be sure it is not coming.
        end = time.monotonic() + (10.0 if screen else 0.1)
        while time.monotonic() < end and "Refining" not in stderr.getvalue():
            bar.set(0.5, "Refining")
            time.sleep(0.01)
    assert ("Refining" in stderr.getvalue()) == screen


def test_quick_work_shows_no_bar(monkeypatch: pytest.MonkeyPatch) -> None:
    """Work that ends before patience does prints nothing, on a screen too."""
    stderr = _Screen()
    monkeypatch.setattr(sys, "stderr", stderr)
    with progress("Solving") as bar:
        bar.set(1.0)
    assert stderr.getvalue() == ""
