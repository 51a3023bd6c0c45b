"""Nothing that a command reads is ever written over, and a mistyped command line writes no file at all."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest
import setups

import stickout.cli.__main__ as command_line
from stickout.cli.named_files import OUTPUTS, named_files, same_file

CUT = setups.CUTTING
Run = Callable[..., tuple[int, str]]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Run:
    """Return a way to run the command line in a folder with one set-up and other names of it."""
    monkeypatch.chdir(tmp_path)
    Path("bar.toml").write_text(CUT, encoding="utf-8")
    os.link("bar.toml", "hard.json")
    Path("soft.json").symlink_to("bar.toml")
    Path("loop.gif").symlink_to("bar.toml")
    os.link("bar.toml", "hard.svg")
    os.link("bar.toml", "hard.vtu")
    os.link("bar.toml", "hard.csv")
    os.link("bar.toml", "hard.html")

    def call(*words: str) -> tuple[int, str]:
        code = command_line.main(words)
        return code, capsys.readouterr().err

    return call


OVER_AN_INPUT = [
    (["modes", "bar.toml", "--json", "bar.toml"], "--json"),
    (["modes", "bar.toml", "--json", "./sub/../bar.toml"], "--json"),
    (["modes", "bar.toml", "--json", "hard.json"], "--json"),
    (["modes", "bar.toml", "--json", "soft.json"], "--json"),
    (["modes", "bar.toml", "--json", "hard.json", "--mesh", "hard.vtu"], "--json"),
    (["modes", "bar.toml", "--mesh", "hard.vtu"], "--mesh"),
    (["modes", "bar.toml", "--energy", "hard.svg"], "--energy"),
    (["modes", "soft.json", "--json", "bar.toml"], "--json"),
    (["cut", "bar.toml", "--plot", "hard.svg"], "--plot"),
    (["force", "bar.toml", "--json", "hard.json"], "--json"),
    (["film", "bar.toml", "--out", "loop.gif"], "--out"),
    (["compare", "bar.toml", "--with", "bar.overhang=60", "--json", "bar.toml"], "--json"),
    (["sweep", "bar.toml", "--vary", "bar.overhang=60,70", "--out", "hard.csv"], "--out"),
    (["report", "bar.toml", "--out", "hard.html"], "--out"),
    (["show", "bar.toml", "--out", "hard.html"], "--out"),
    (["size", "--bore", "20", "--depth", "40", "--cut", "bar.toml", "--out", "bar.toml"], "--out"),
    (["size", "--bore", "20", "--depth", "40", "--cut", "bar.toml", "--json", "soft.json"], "--json"),
    (["size", "bar.toml", "--absorber", "--out", "bar.toml"], "--out"),
]


@pytest.mark.parametrize(("words", "key"), OVER_AN_INPUT, ids=lambda one: " ".join(one)[:60])
def test_an_output_is_never_an_input(run: Run, words: list[str], key: str) -> None:
    """By its own name, a detour, a symbolic or a hard link: refused, and not a byte or a file changes."""
    names = sorted(Path().iterdir())
    code, told = run(*words)
    assert code == 2
    assert told.startswith(f"{key} is ")
    assert told.count("\n") == 1
    assert "would be lost" in told
    assert Path("bar.toml").read_text(encoding="utf-8") == CUT
    assert sorted(Path().iterdir()) == names


@pytest.mark.parametrize(
    "words",
    [
        ["modes", "--json", "bar.toml"],
        ["modes", "--json=bar.toml"],
        ["film", "--json", "bar.toml"],
        ["materials", "--json", "bar.toml"],
        ["modes", "none.toml", "--json", "bar.toml"],
        ["compare", "--json", "notes.json"],
        ["modes", "bar.toml", "--jsn", "x", "--json", "notes.json"],
    ],
    ids=" ".join,
)
def test_a_mistyped_line_writes_no_file(run: Run, words: list[str]) -> None:
    """No error record is written where the line itself is at fault, whatever stands there."""
    Path("notes.json").write_text("mine", encoding="utf-8")
    names = sorted(Path().iterdir())
    code, told = run(*words)
    assert code == 2
    assert told
    assert Path("bar.toml").read_text(encoding="utf-8") == CUT
    assert Path("notes.json").read_text(encoding="utf-8") == "mine"
    assert sorted(Path().iterdir()) == names


@pytest.mark.parametrize(
    ("words", "key"),
    [
        (["modes", "bar.toml", "--json", "a.vtu", "--mesh", "./a.vtu"], "--mesh"),
        (["sweep", "bar.toml", "--vary", "bar.overhang=60,70", "--out", "a.csv", "--out", "a.csv"], "--out"),
        (["size", "--bore", "20", "--depth", "40", "--json", "a.svg", "--plot", "a.svg"], "--plot"),
    ],
)
def test_two_outputs_are_two_files(run: Run, words: list[str], key: str) -> None:
    """One name for two outputs would keep the last one only."""
    code, told = run(*words)
    assert code == 2
    assert told.startswith(f"{key} is ")
    assert "Give two names." in told


def test_a_setup_that_stands_there_is_kept(run: Run) -> None:
    """``size --out`` makes a set-up; another one of that name is not replaced."""
    code, told = run("size", "--bore", "20", "--depth", "40", "--out", "bar.toml")
    assert code == 2
    assert "which exists" in told
    assert Path("bar.toml").read_text(encoding="utf-8") == CUT


def test_every_output_option_is_known() -> None:
    """A path among a command's options is an output by its help ("File for ...") or one to be read."""
    app = command_line.make_app()
    told = {
        argument.name: argument.parameter.help or ""
        for name, *_ in command_line.COMMANDS
        for argument in app[name].assemble_argument_collection()
    }
    writes = {
        name for name, words in told.items() if words.startswith(("File for", "The file:", "The table:"))
    }
    assert writes
    assert writes - {f"--{one}" for one in OUTPUTS} == set()


def test_names_of_a_command_line() -> None:
    """Inputs and outputs are told apart; ``-`` is no file; ``--json`` comes first."""
    named = named_files({"setup": Path("a.toml"), "out": (Path("x.csv"),), "json": "-", "n": 3})
    assert named.inputs == (Path("a.toml"),)
    assert named.outputs == (("--out", Path("x.csv")),)
    assert named.json_target == "-"
    later = named_files({"mesh": Path("m.vtu"), "json": "r.json"})
    assert [key for key, _ in later.outputs] == ["--json", "--mesh"]


def test_the_same_file_that_is_not_there_yet(tmp_path: Path) -> None:
    """Two spellings of a file to be are one file; a loop of links is no file and no crash."""
    assert same_file(tmp_path / "a.json", tmp_path / "b" / ".." / "a.json")
    (tmp_path / "loop").symlink_to("loop")
    assert not same_file(tmp_path / "loop", tmp_path / "a.json")
