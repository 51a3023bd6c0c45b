"""The command ``modes``: same input same output, mm and inch, files, nothing written on a fault."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
import setups
from answers import EXAMPLES, ROOT, Told, answer_of, result_of, told

from stickout.cli import run as run_module
from stickout.fem.errors import SolveError


def test_the_way_to_standard_output() -> None:
    """``--json -`` gives the file's content and no answer; the screen's answer is not in it."""
    done = told("modes", EXAMPLES / "boring_bar_16mm.toml", "--json", "-")
    assert (done.code, done.err) == (0, "")
    assert json.loads(done.out) == result_of("boring_bar_16mm")


def test_same_input_same_output(tmp_path: Path) -> None:
    """Byte for byte, from two processes: answer and result file."""
    both = []
    for name in ("one.json", "two.json"):
        done = piped("modes", str(EXAMPLES / "boring_bar_16mm.toml"), "--json", name, folder=tmp_path)
        assert done.returncode == 0
        both.append((done.stdout, (tmp_path / name).read_bytes()))
    assert both[0] == both[1]
    assert both[0][0].decode() == answer_of("boring_bar_16mm").out


def piped(*words: str, folder: Path) -> subprocess.CompletedProcess[bytes]:
    """Run the command in a process of its own, its output piped."""
    return subprocess.run(
        [sys.executable, "-m", "stickout.cli", *words],
        capture_output=True,
        cwd=folder,
        env={**os.environ, "OMP_NUM_THREADS": "1"},
        check=False,
    )


def test_piped_output_is_plain(tmp_path: Path) -> None:
    """No control characters but line ends, no colours, nothing on standard error, no odd file left."""
    done = piped("modes", str(EXAMPLES / "boring_bar_16mm.toml"), "--verbose", folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, b"")
    text = done.stdout.decode("utf-8")
    assert [one for one in text if not one.isprintable() and one != "\n"] == []
    assert "worst cell quality" in text
    assert list(tmp_path.iterdir()) == []


# The same bar twice; 12.7 mm is half an inch exactly.
IN_MM = setups.changed(setups.changed(setups.ROUND, "= 16", "= 12.7"), "= 80", "= 63.5")
IN_INCH = (
    IN_MM.replace('"mm"', '"inch"')
    .replace("12.7", "0.5")
    .replace("63.5", "2.5")
    .replace("gripped = 60", 'gripped = "60 mm"')
)


def test_mm_and_inch_give_the_same(tmp_path: Path) -> None:
    """Principle: the unit is how a length is written. Rounding of the inches is all that may differ."""
    told_by = {}
    for name, text in (("mm", IN_MM), ("inch", IN_INCH)):
        (tmp_path / f"{name}.toml").write_text(text, encoding="utf-8")
        target = tmp_path / f"{name}.json"
        done = told("modes", tmp_path / f"{name}.toml", "--json", target)
        told_by[name] = (done.out, json.loads(target.read_text(encoding="utf-8")))
    (mm_text, mm), (inch_text, inch) = told_by["mm"], told_by["inch"]
    for key in ("frequency_hz", "loss_factor"):
        assert [one[key] for one in inch["modes"]] == pytest.approx(
            [one[key] for one in mm["modes"]], rel=1e-9
        )
    assert "µm for 10 N (1 kg)" in mm_text
    assert " thou for 10 lbf" in inch_text
    assert "63.5 mm out (5 diameters)" in mm_text
    assert "2.5 in out (5 diameters)" in inch_text


def test_a_mesh_file_holds_the_modes_that_were_told(tmp_path: Path) -> None:
    """As many as asked for, under the frequencies of the answer; the mesh reads back whole."""
    meshio = pytest.importorskip("meshio")
    target, record = tmp_path / "bar.vtu", tmp_path / "bar.json"
    done = told("modes", EXAMPLES / "boring_bar_16mm.toml", "--mesh", target, "--json", record)
    assert done.code == 0
    result = json.loads(record.read_text(encoding="utf-8"))
    read = meshio.read(target)
    data = read.point_data
    assert [name for name in data if name.endswith("_motion")] == [f"mode_{n}_motion" for n in range(1, 7)]
    assert len(result["modes"]) == 6
    for n, mode in enumerate(result["modes"], 1):
        assert set(data[f"mode_{n}_frequency_hz"]) == {mode["frequency_hz"]}
    solids = len(read.cells_dict["hexahedron20"])
    # One point more: the edge.
    assert (solids, len(read.points) - 1) == (result["mesh"]["cells"], result["mesh"]["nodes"])
    assert {one.name for one in tmp_path.iterdir()} == {"bar.vtu", "bar.json"}


@pytest.mark.parametrize(
    ("words", "key", "hint"),
    [
        (("--mesh", "bar.stl"), "--mesh", ".vtu or .msh"),
        (("--mesh", "none/bar.vtu"), "--mesh", "does not exist"),
        (("--mesh", "folder.vtu"), "--mesh", "a folder"),
        (("--json", "same.vtu", "--mesh", "same.vtu"), "--mesh", "another file than --json"),
        (("--json", "folder.vtu"), "--json", "a folder"),
    ],
)
def test_targets_are_checked_before_the_work(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, words: tuple[str, ...], key: str, hint: str
) -> None:
    """Exit 2, one line, nothing written, and nothing solved first."""
    refuse_to_solve(monkeypatch)
    monkeypatch.chdir(tmp_path)
    Path("folder.vtu").mkdir()
    code, out, err = told("modes", EXAMPLES / "boring_bar_16mm.toml", *words)
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert err.startswith(f"{key} is ")
    assert hint in err
    assert [one.name for one in tmp_path.rglob("*")] == ["folder.vtu"]


def refuse_to_solve(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let every study fail at once."""

    def fail(*_: object, **__: object) -> None:
        raise SolveError("Only 4 of 6 modes converged. Ask for fewer modes.")

    monkeypatch.setattr("stickout.fem.study.study.run_study", fail)


def test_a_computation_that_fails_leaves_nothing(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Exit 1, the reason on standard error, no mesh file, no half answer."""
    refuse_to_solve(monkeypatch)
    code, out, err = told("modes", EXAMPLES / "boring_bar_16mm.toml", "--mesh", tmp_path / "bar.vtu")
    assert (code, out) == (1, "")
    assert err == "The computation failed. Only 4 of 6 modes converged. Ask for fewer modes.\n"
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("option", "name", "limit"), [("--json", "bar.json", 2000), ("--mesh", "bar.vtu", 50_000)]
)
def test_a_disk_that_fills_up(tmp_path: Path, option: str, name: str, limit: int) -> None:
    """A limit on file sizes stands in for the end of the disk: exit 2, and the old result is still there."""
    resource = pytest.importorskip("resource")
    (tmp_path / name).write_text("old", encoding="utf-8")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, hard))
    try:
        code, out, err = told("modes", EXAMPLES / "boring_bar_16mm.toml", option, tmp_path / name)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert err.startswith(f"{option} is {tmp_path / name}, and there is no room left")
    assert [(one.name, one.read_text(encoding="utf-8")) for one in tmp_path.iterdir()] == [(name, "old")]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_both_files_or_none(tmp_path: Path) -> None:
    """The mesh would fit, the result does not: no mesh either."""
    words = ("--mesh", tmp_path / "bar.vtu", "--json", "/dev/full")
    code, out, err = told("modes", EXAMPLES / "boring_bar_16mm.toml", *words)
    assert (code, out) == (2, "")
    assert "no room left" in err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_an_answer_that_cannot_be_shown(tmp_path: Path) -> None:
    """Standard output on a full disk: exit 2 and one line, no traceback."""
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "stickout.cli", "materials"],
            stdout=full,
            stderr=subprocess.PIPE,
            cwd=tmp_path,
            env={**os.environ},
            check=False,
        )
    assert done.returncode == run_module.AT_FAULT
    assert done.stderr.decode() == (
        "The answer could not be written to standard output: no space left on device.\n"
    )


@pytest.mark.parametrize(
    "command", [("modes",), ("show", "--out", "bar.html"), ("report", "--out", "bar.html"), ("cut",)]
)
def test_heavy_libraries_stay_out(tmp_path: Path, command: tuple[str, ...]) -> None:
    """What draws, exchanges meshes or edits files is not imported to answer; nor what few bars need."""
    rare = [f"stickout.fem.{one}" for one in ("solid.two_level", "study.complex_modes")]
    rare += [] if command[0] == "report" else ["stickout.fem.records"]
    heavy = (
        "pyvista",
        "vtkmodules",
        "matplotlib",
        "skfem",
        "meshio",
        "PIL",
        "tomlkit",
        "scipy.special",
        *rare,
    )
    code = (
        "import sys, stickout.cli.__main__ as m; code = m.main(sys.argv[1:]); "
        f"sys.exit(str([n for n in {heavy} if n in sys.modules]))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *command, str(EXAMPLES / "boring_bar_16mm.toml")],
        capture_output=True,
        text=True,
        cwd=tmp_path,
        env={**os.environ, "OMP_NUM_THREADS": "1"},
        check=False,
    )
    assert done.stderr == "[]\n"
    assert "he edge springs" in done.stdout or (tmp_path / "bar.html").is_file()


def test_an_answer_is_what_the_words_say() -> None:
    """The first sentences of the example of the guide stand in the guide."""
    opening = answer_of("boring_bar_16mm").out.split("\n\n")[1]
    assert opening in (ROOT / "examples/GUIDE.md").read_text(encoding="utf-8")


def test_told_is_what_a_shell_sees() -> None:
    """The helper of these tests gives the code and both channels."""
    assert told("modes", "no such file.toml") == Told(2, "", told("modes", "no such file.toml").err)
    assert "is missing" in told("modes", "no such file.toml").err


def test_a_second_opinion_comes_behind_the_same_answer() -> None:
    """``--check``: the usual screen, then one sentence with a difference near rounding and what it proves."""
    done = told("modes", EXAMPLES / "boring_bar_16mm.toml", "--check")
    usual = answer_of("boring_bar_16mm").out
    assert (done.code, done.err) == (0, "")
    assert done.out.startswith(usual)
    said = " ".join(done.out[len(usual) :].split())
    apart = float(said.split("modes): ")[1].split(" apart")[0])
    assert apart < 1e-7
    assert "mass at the edge taken over as ours" in said
    # A round bar is solved without a mesh: Ritz's principle, a coarse mesh rings higher, but not by much.
    least, most = said.split("their notes lie ")[1].split(" % from it")[0].split(" to ")
    assert -0.1 < float(least) <= float(most) < 5
    assert float(most) > 0


def test_a_second_opinion_on_a_mesh_says_so() -> None:
    """``--check`` of a bar with flats: the answer comes from meshes, whose error is told apart."""
    said = " ".join(told("modes", EXAMPLES / "flatted_bar_30deg.toml", "--check").out.split())
    assert float(said.split("modes): ")[1].split(" apart")[0]) < 1e-7
    assert "not for the mesh" in said
    assert "without a mesh" not in said
