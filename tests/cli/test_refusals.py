"""A read-only disk, a long name, a full folder for temporary files: each is told as what it is."""

from __future__ import annotations

import errno
import os
import tempfile
from pathlib import Path

import pytest
import setups
from answers import told

from stickout.cli import refusals
from stickout.cli.folders import FolderTarget
from stickout.cli.outputs import writing
from stickout.cli.refusals import refused, refused_temporary
from stickout.fem.errors import InputError


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.EROFS, "read-only"),
        (errno.ENAMETOOLONG, "too long a name"),
        (errno.ENOSPC, "no room left"),
        (errno.EACCES, "permission denied"),
        (errno.ELOOP, "a loop of links"),
        (errno.ENOENT, "does not exist"),
    ],
)
def test_the_true_reason(number: int, words: str) -> None:
    """Error numbers of POSIX, told in words with what to do."""
    error = OSError(number, os.strerror(number), "/far/away/out.json")
    for kind in ("file", "folder"):
        fault = refused(error, Path("/far/away/out.json"), key="--out", kind=kind)
        assert words in str(fault)
        assert fault.key == "--out"
        assert fault.mend


def test_a_full_folder_for_temporary_files_is_not_the_target(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the picture's frames found no room, the message names that folder and TMPDIR."""
    scratch, home = tmp_path / "scratch", tmp_path / "home"
    scratch.mkdir()
    home.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(scratch))
    with pytest.raises(InputError) as caught, writing(home / "bar.gif", key="--out"):
        raise OSError(errno.ENOSPC, "No space left on device", str(scratch / "frame-1.png"))
    assert caught.value.key == "temporary files"
    assert str(scratch) in str(caught.value)
    assert "TMPDIR" in caught.value.mend
    # A write says no name: then it is the disk without room, and the target's has some.
    monkeypatch.setattr(refusals, "_is_full", lambda folder: folder == scratch)
    assert refused_temporary(OSError(errno.ENOSPC, "full"), home / "bar.gif") is not None
    monkeypatch.setattr(refusals, "_is_full", lambda _: True)
    assert refused_temporary(OSError(errno.ENOSPC, "full"), home / "bar.gif") is None


def test_no_folder_for_temporary_files(monkeypatch: pytest.MonkeyPatch) -> None:
    """None can be written in: told, and how to name one."""

    def none() -> str:
        raise FileNotFoundError(errno.ENOENT, "No usable temporary directory found")

    monkeypatch.setattr(tempfile, "gettempdir", none)
    fault = refused_temporary(OSError(errno.EIO, "broken"))
    assert fault is not None
    assert "TMPDIR" in str(fault)


def test_a_name_as_long_as_the_disk_takes_is_written(tmp_path: Path) -> None:
    """255 bytes are a name on nearly every disk: the temporary neighbour is no longer than that."""
    for stem in ("n" * 250, "\u00f8" * 125):
        target = tmp_path / f"{stem}.json"
        with writing(target, key="--json") as part:
            part.write_text("{}", encoding="utf-8")
        assert target.read_text(encoding="utf-8") == "{}"


@pytest.mark.parametrize("name", ["n" * 300 + ".json", "a\x00b.json", "\ud800.json"])
@pytest.mark.parametrize("option", ["--json", "--plot"])
def test_a_name_no_disk_takes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, option: str
) -> None:
    """One message of that option, exit code 2, before anything is computed."""
    monkeypatch.chdir(tmp_path)
    Path("bar.toml").write_text(setups.CUTTING, encoding="utf-8")
    done = told("force", "bar.toml", option, name)
    assert (done.code, done.out) == (2, "")
    [line] = done.err.splitlines()
    assert line.startswith(f"{option} is ")
    assert "a name that a disk takes" in line


def test_a_folder_with_a_long_name(tmp_path: Path) -> None:
    """The same for what a talk is written into."""
    import re

    from stickout.cli.folders import check_folder

    target = FolderTarget(tmp_path / ("n" * 300), own=re.compile(""))
    with pytest.raises(InputError, match="too long a name"):
        check_folder(target)
