"""Every error text: through the command line, exit code 2, one line a mistake, nothing written."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tomllib
from collections.abc import Callable, Sequence
from pathlib import Path

import mistakes_absorber
import mistakes_bar
import mistakes_cut
import mistakes_work
import pytest
import setups

import stickout.cli.__main__ as command_line
from stickout.fem.setup.material_table import MATERIALS
from stickout.fem.setup.work_materials import WORK_MATERIALS

Told = tuple[int, str, str]
Run = Callable[..., Told]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Run:
    """Return a way to run the command line, with the tests' own ``read``, which solves nothing, beside it."""
    mine = ("read", "reading_command:read", "Read a set-up.")
    monkeypatch.setattr(command_line, "COMMANDS", (*command_line.COMMANDS, mine))
    monkeypatch.chdir(tmp_path)

    def call(*words: str) -> Told:
        code = command_line.main(words)
        told = capsys.readouterr()
        return code, told.out, told.err

    return call


SOUND = (
    *(setups.ROUND, setups.SQUARE, setups.SLOT, setups.SLEEVE, setups.STEPPED, setups.TUBE, setups.FLATTED),
    *(setups.WRAPPED, setups.CUTTING, setups.WORKING, setups.SQUARE + setups.SHIM, setups.OWN),
)
MISTAKES = mistakes_bar.MISTAKES | mistakes_cut.MISTAKES | mistakes_absorber.MISTAKES | mistakes_work.MISTAKES


@pytest.mark.parametrize("wrong", MISTAKES)
def test_one_mistake_is_one_line(run: Run, tmp_path: Path, wrong: str) -> None:
    """Exit code 2, one line with key, value and remedy, the same parts as JSON, and no result."""
    text, key, words = MISTAKES[wrong]
    Path("bar.toml").write_text(text, encoding="utf-8")
    code, out, told = run("modes", "bar.toml", "--json", "out.json")
    lines = told.splitlines()
    assert code == 2
    assert out == ""
    assert len(lines) == 1, told
    assert lines[0].startswith(f"{key} is ")
    assert [word for word in words if word.lower() not in lines[0].lower()] == [], lines[0]
    record = json.loads(Path("out.json").read_text(encoding="utf-8"))
    assert set(record) == {"error"}
    assert record["error"]["key"] == key
    assert all(record["error"][part] for part in ("allowed", "mend"))
    assert {one.name for one in tmp_path.iterdir()} == {"bar.toml", "out.json"}


def test_several_mistakes_are_several_lines(run: Run) -> None:
    """The first is the error of the JSON, the others follow it."""
    Path("bar.toml").write_text(
        setups.changed(setups.ROUND, "= 16", "= -16").replace("= 80", "= 0"), encoding="utf-8"
    )
    code, out, told = run("modes", "bar.toml", "--json", "-")
    record = json.loads(out)
    assert code == 2
    assert [line.split(" ", 1)[0] for line in told.splitlines()] == ["bar.overhang", "bar.diameter"]
    assert record["error"]["key"] == "bar.overhang"
    assert [one["given"] for one in record["errors"]] == [-16]


def test_a_sound_set_up_is_read(run: Run) -> None:
    """The base of every mistake above is itself without one; a slender bar is warned of and read."""
    for text in SOUND:
        Path("bar.toml").write_text(text, encoding="utf-8")
        assert run("read", "bar.toml")[::2] == (0, "")
    Path("bar.toml").write_text(mistakes_absorber.WITH, encoding="utf-8")
    code, out, told = run("read", "bar.toml")
    assert (code, out) == (0, "Home-made bar\n")
    assert "leave the absorber out" in told
    Path("bar.toml").write_text(setups.OWN, encoding="utf-8")
    code, out, told = run("read", "bar.toml", "--set", "bar.overhang=800")
    assert (code, out) == (0, "Home-made bar\n")
    assert told.startswith("Warning: The bar sticks out 50 times its size")


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("bra.toml", None, ("bra.toml is missing", "'bar.toml'")),
        ("folder", None, ("folder is a folder",)),
        ("empty.toml", b"", ("is empty",)),
        ("comment.toml", b"# nothing\n", ("is empty",)),
        ("latin.toml", b'units = "mm"\ntitle = "\xfcber"\n', ("not UTF-8", "line 2")),
        ("film.toml", b"GIF89a\x00\x01", ("not TOML", "line 1")),
        (
            "comma.toml",
            b'units = "mm"\n[bar]\ndiameter = 16,5\n',
            ("line 3", "diameter = 16,5", "decimal comma"),
        ),
        ("quotes.toml", b"units = mm\n", ("line 1", "quotes")),
        ("twice.toml", b'units = "mm"\nunits = "mm"\n', ("line 2", "overwrite")),
        ("open.toml", b'units = "mm"\n[bar\n', ("line 2",)),
        ("long.toml", b"#" * 1_000_001, ("too long",)),
    ],
)
def test_a_file_that_cannot_be_read(run: Run, name: str, content: bytes | None, words: Sequence[str]) -> None:
    """Missing, a folder, empty, not UTF-8, not TOML (with its line)."""
    Path("bar.toml").write_text(setups.ROUND, encoding="utf-8")
    Path("folder").mkdir()
    if content is not None:
        Path(name).write_bytes(content)
    code, out, told = run("modes", name)
    assert (code, out) == (2, "")
    assert told.count("\n") == 1
    assert [word for word in words if word not in told] == [], told


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("bar.overhang", ("--set", "key=value")),
        ("=3", ("--set", "dotted key")),
        ("bar overhang=3", ("--set", "dotted key")),
        ("bar.overhand=3", ("bar.overhand", "'overhang'")),
        ("bar.overhang=0,5", ("bar.overhang", "decimal comma")),
        ("bar.overhang=8 dm", ("bar.overhang", "'8 dm'")),
        ("bar.steps.2.start=3", ("--set", "number from 1 to 1")),
        ("bar.overhang.x=3", ("--set", "inside a single value")),
    ],
)
def test_a_change_that_cannot_be_made(run: Run, change: str, words: Sequence[str]) -> None:
    """--set is judged like the file."""
    Path("bar.toml").write_text(setups.STEPPED, encoding="utf-8")
    code, out, told = run("modes", "bar.toml", "--set", change)
    assert (code, out) == (2, "")
    assert [word for word in words if word not in told] == [], told


@pytest.mark.parametrize(
    ("words", "hints"),
    [
        (("materialz",), ("materialz", '"materials"')),
        (("materials", "--jsn", "x"), ("--jsn", "--json")),
        (("materials", "extra"), ("extra",)),
        (("materials", "--json"), ("--json", "requires")),
        (("modes",), ("SETUP",)),
        (("--bogus",), ("--bogus",)),
    ],
)
def test_a_command_line_that_fits_nothing(run: Run, words: Sequence[str], hints: Sequence[str]) -> None:
    """Unknown commands and options: exit code 2 and the nearest one we know."""
    code, out, told = run(*words)
    assert (code, out) == (2, "")
    assert told.count("\n") == 1
    assert [hint for hint in hints if hint not in told] == [], told


def test_no_command_is_answered_with_help(run: Run) -> None:
    """Exit code 2, for a script that forgot it."""
    code, out, _ = run()
    assert code == 2
    assert "materials" in out


def test_a_computation_that_fails_is_no_input_error(run: Run) -> None:
    """Exit code 1, and why."""
    Path("bar.toml").write_text(setups.ROUND, encoding="utf-8")
    code, out, told = run("read", "bar.toml", "--fail", "--json", "-")
    assert code == 1
    assert told == "The computation failed. Only 4 of 6 modes converged. Ask for fewer modes.\n"
    assert "converged" in json.loads(out)["error"]["failed"]


@pytest.mark.parametrize(
    ("target", "words"),
    [("folder", "a folder"), ("none/out.json", "does not exist"), ("bar.toml/out.json", "does not exist")],
)
def test_a_result_that_cannot_be_written(run: Run, tmp_path: Path, target: str, words: str) -> None:
    """A folder, a missing folder, a file in place of the folder: exit code 2, nothing left behind."""
    Path("bar.toml").write_text(setups.ROUND, encoding="utf-8")
    Path("folder").mkdir()
    code, out, told = run("modes", "bar.toml", "--json", target)
    assert (code, out) == (2, "")
    assert told.count("\n") == 1
    assert told.startswith(f"--json is {target}")
    assert words in told
    assert {one.name for one in tmp_path.rglob("*")} == {"bar.toml", "folder"}


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="needs a folder that nobody may write in")
def test_a_folder_that_may_not_be_written_in(run: Run) -> None:
    """/proc takes no new files, not even from the administrator."""
    Path("bar.toml").write_text(setups.ROUND, encoding="utf-8")
    code, _, told = run("modes", "bar.toml", "--json", "/proc/out.json")
    assert code == 2
    assert told.startswith("--json is /proc/out.json")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_full_device(run: Run) -> None:
    """No room: exit code 2, and the device is still a device."""
    Path("bar.toml").write_text(setups.ROUND, encoding="utf-8")
    code, _, told = run("read", "bar.toml", "--json", "/dev/full")
    assert code == 2
    assert "no room left" in told
    assert Path("/dev/full").is_char_device()


def test_the_materials_command(run: Run) -> None:
    """One screen, or all of it with --more, in 100 columns; its JSON is SI."""
    code, out, told = run("materials")
    assert (code, told) == (0, "")
    assert len(out.splitlines()) <= 25
    assert max(len(line) for line in out.splitlines()) <= 100
    flat = " ".join(out.split())
    assert [one.name for one in WORK_MATERIALS if one.name not in flat] == []
    assert [name for name in MATERIALS if f"\n{name} " not in out] == []
    code, out, told = run("materials", "--json", "table.json", "--more")
    assert (code, told) == (0, "")
    assert "Sources" in out
    assert max(len(line) for line in out.splitlines()) <= 100
    record = json.loads(Path("table.json").read_text(encoding="utf-8"))
    names = [one["name"] for one in record["materials"]]
    assert [name for name in names if f"\n{name} " not in out] == []
    assert record["materials"][names.index("steel")]["youngs_modulus"]["likely"] == 210e9
    code, out, _ = run("materials", "--json", "-")
    assert code == 0
    assert json.loads(out) == record


def test_both_ways_to_start() -> None:
    """``python -m stickout.cli`` ends with the exit code of ``main``; a closed pipe is no error."""
    program = [sys.executable, "-m", "stickout.cli"]
    root = Path(command_line.__file__).parents[1]
    done = subprocess.run([*program, "materialz"], capture_output=True, text=True, cwd=root, check=False)
    assert (done.returncode, done.stdout) == (2, "")
    read_end, write_end = os.pipe()
    os.close(read_end)
    with open(write_end, "wb") as closed:  # noqa: PTH123 - a pipe, not a path
        gone = subprocess.run(
            [*program, "materials"], stdout=closed, stderr=subprocess.PIPE, cwd=root, check=False
        )
    assert (gone.returncode, gone.stderr) == (0, b"")


def test_the_version_is_that_of_the_package(run: Run) -> None:
    """The file pyproject.toml and the command must not drift apart."""
    root = Path(command_line.__file__).parents[1]
    project = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert run("--version")[:2] == (0, f"{project['version']}\n")


def test_changes_may_stand_before_the_file(run: Run) -> None:
    """--set takes one change and no more."""
    Path("bar.toml").write_text(setups.ROUND, encoding="utf-8")
    assert run("read", "--set", "title=Other", "bar.toml", "--set=bar.overhang=90") == (0, "Other\n", "")
