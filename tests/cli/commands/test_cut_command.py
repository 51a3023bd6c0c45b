"""The commands ``force`` and ``cut``: answers, result files, pictures, and every way to get them wrong."""

from __future__ import annotations

import json
import re
import tempfile
from functools import cache
from pathlib import Path
from typing import Any

import mistakes_cut
import numpy as np
import pytest
import setups
from answers import EXAMPLES, Told, told

from stickout.cli.text.cut_answer import CAUTIONS, CHECKLIST
from stickout.cli.text.screen import FOOT, RULE

PNG = b"\x89PNG\r\n\x1a\n"
# Set-ups with a whole cut; the second and third carry other operations and units.
FULL = ("boring_bar_16mm", "turning_tool_12mm", "inch_bar")
WORKED = [name for name, (text, _, _) in mistakes_cut.MISTAKES.items() if "[cut]" in text]


@cache
def cut_of(name: str, *changes: str) -> tuple[Told, dict[str, Any]]:
    """Return the answer and the result file of ``cut`` on an example, some keys changed."""
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder) / "cut.json"
        sets = [f"--set={change}" for change in changes]
        answer = told("cut", EXAMPLES / f"{name}.toml", "--more", "--json", target, *sets)
        assert answer.code == 0, answer.err
        answer = answer._replace(out=answer.out.partition(f"{FOOT[1]}\n\n")[2])  # what follows the screen
        return answer, json.loads(target.read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", FULL)
def test_the_result_file_keeps_its_contract(name: str) -> None:
    """The result file's contract: every key of the cut block, with sane values, and the modes beside it."""
    record = cut_of(name)[1]
    cut = record["cut"]
    assert set(cut["force_n"]) == {"c", "f", "p"}
    assert np.linalg.norm(cut["force_direction"]) == pytest.approx(1.0)
    assert np.linalg.norm(list(cut["force_n"].values())) > cut["force_n"]["c"] > 0
    edge = cut["edge"]
    assert edge["area_mm2"] == pytest.approx(edge["length_mm"] * edge["mean_chip_mm"])
    low, likely, high = (cut["margin"][side] for side in ("low", "likely", "high"))
    assert 0 < low <= likely <= high
    assert record["modes"][0]["frequency_hz"] < cut["chatter_hz"]
    assert set(cut["depth_limit_mm"]) == {"low", "likely", "high"}
    assert record["limiting_mode"] in [mode["number"] for mode in record["modes"]]
    for one in cut["speeds"]:
        assert one["margin"] >= likely * (1 - 1e-6)
    assert {"loss factor of the clamping", "thrust over cutting force"} <= {
        one["name"] for one in record["assumptions"]
    }


def test_one_mode_of_the_file_gives_about_its_margin() -> None:
    """The file is at one with itself: k eta over the passive demand of its limiting mode, closed form."""
    record = cut_of("boring_bar_16mm")[1]
    mode = record["modes"][record["limiting_mode"] - 1]
    # Kr Bpp: tangent (1 - mc) kc at the mean chip, VDI 3323 group 2, thrust 0.4 of it, on a width
    # Bpp = r (phi/2 + sin 2 phi / 4), cos phi = 1 - 0.2/0.4: 319.246 N/mm [x.chain.L80.r0.4.ap0.2.demand].
    expected = mode["modal_stiffness_n_per_m"] * mode["loss_factor"] / 319.246e3
    # Residual of the higher modes: some per cent.
    assert record["cut"]["margin"]["likely"] == pytest.approx(expected, rel=0.03)


def test_speeds_of_the_set_up_are_answered() -> None:
    """All of them, in order, and that none is much better than another with so many waves a turn."""
    answer, record = cut_of("boring_bar_16mm")
    assert [one["rpm"] for one in record["cut"]["speeds"]] == [120, 200, 315, 500, 800, 1250]
    assert "At your speeds it hardly matters" in " ".join(answer.out.split())
    assert "waves of the note" in " ".join(answer.out.split())


def test_the_boring_example_tells_what_to_change_first() -> None:
    """The issue's own wish: the nose radius first, and the depth is weak medicine (fem/THEORY.md, 5)."""
    answer, record = cut_of("boring_bar_16mm")
    keys = [one["key"] for one in record["cut"]["levers"]]
    assert keys[0] == "nose_radius"
    assert {"overhang", "feed", "depth", "speed"} < set(keys)
    text = " ".join(answer.out.split())
    assert "What helps most: halve the nose radius to 0.2 mm (margin x 2.0)" in text
    assert "nose radius, not of depth" in text
    assert "By that trend the likely margin reaches 1 at about 44 mm of overhang" in text
    opening = answer.out.split("\n\n")[1]
    assert opening.startswith("Likely noisy as it stands")


@pytest.mark.parametrize("name", [*FULL, "slender_shaft", "absorber_bar"])
def test_the_cut_fits_one_screen(name: str) -> None:
    """At most 25 lines of 100 columns: verdict, spring and what to try before the rule, the foot last."""
    done = told("cut", EXAMPLES / f"{name}.toml")
    lines = done.out.splitlines()
    assert done.code == 0
    assert len(lines) <= 25
    assert max(map(len, lines)) <= 100
    above = done.out.partition(RULE)[0]
    assert "The edge springs " in above
    assert "Try first: " in above or "Nothing needs changing." in above
    assert lines[-2:] == list(FOOT)
    if name == "inch_bar":
        assert " N " not in done.out
        assert "10 lbf" in above


@pytest.mark.parametrize("name", FULL)
def test_the_answer_reads_well(name: str) -> None:
    """No line beyond 100 columns; the opening has no number of more than two digits; checks and cautions."""
    answer = cut_of(name)[0]
    assert answer.err == ""
    assert [line for line in answer.out.splitlines() if len(line) > 100] == []
    opening = " ".join(answer.out.split("\n\n")[1].split())
    numbers = [one for one in re.findall(r"\d[\d.]*", opening) if "." in one]
    assert [one for one in numbers if len(one.strip(".").replace(".", "").lstrip("0")) > 2] == [], opening
    assert all(one in " ".join(answer.out.split()) for one in (*CHECKLIST, *CAUTIONS))
    assert "not a promise" in answer.out


def test_inches_stay_inches() -> None:
    """Depths in thou, lengths in inches, no millimetre anywhere in the answer."""
    text = cut_of("inch_bar")[0].out.split("Assumed for the cut")[0]
    assert "nose radius 8 thou" in text
    assert re.findall(r"\d mm\b", text) == []
    assert "shorten the overhang to 1.35 in" in text


def test_depth_that_limits() -> None:
    """An edge angle of 45 degrees: the width grows with depth, and the limit is a depth."""
    changes = ("cut.edge_angle_deg=45", "cut.depth=0.6")
    answer, record = cut_of("turning_tool_12mm", *changes)
    low, likely, high = (record["cut"]["depth_limit_mm"][side] for side in ("low", "likely", "high"))
    assert 0 < low < likely < high
    assert re.search(
        r"Likely quiet up to about [\d.]+ mm, surely noisy past [\d.]+ mm", " ".join(answer.out.split())
    )
    rerun = cut_of("turning_tool_12mm", changes[0], f"cut.depth={likely:.6f}")[1]
    assert rerun["cut"]["margin"]["likely"] == pytest.approx(
        1.0, rel=2e-3
    )  # six digits of depth, and the search


def test_no_depth_limit_is_null() -> None:
    """A stiff bar at 95 degrees: no depth limits, and the file says null."""
    changes = ("bar.overhang=32", "cut.nose_radius=0.1", 'cut.work_material="aluminium"')
    answer, record = cut_of("boring_bar_16mm", *changes)
    assert record["cut"]["depth_limit_mm"] == {"low": None, "likely": None, "high": None}
    assert record["cut"]["margin"]["low"] > 1
    assert "No depth limits it" in answer.out
    assert "Likely quiet as it stands" in answer.out


def test_work_beside_the_tool() -> None:
    """A slender shaft in a chuck is the soft side, the first lever is a centre; with it the tool decides."""
    answer, record = cut_of("slender_shaft")
    text = " ".join(answer.out.split())
    assert "The work is the soft side: support it." in text
    assert "What helps most: put a centre into the work" in text
    assert "Chuck and centres are taken as rigid" in text
    assert "a mode of the work limits" in text
    assert record["limiting_mode"] is None
    supported = cut_of("slender_shaft", "work.held=chuck and centre")[1]
    factor = next(one["factor"] for one in record["cut"]["levers"] if one["key"] == "support")
    gained = supported["cut"]["margin"]["likely"] / record["cut"]["margin"]["likely"]
    assert factor == pytest.approx(gained, rel=1e-6)  # the same models by another road
    assert supported["cut"]["work"]["soft_side"] != "work"
    near = cut_of("slender_shaft", "work.cut_at=30")[1]
    # Thin-beam deflection goes with the cube of the distance: (30/85)^3 = 0.044.
    assert near["cut"]["work"]["spring_m_per_n"] / record["cut"]["work"]["spring_m_per_n"] == pytest.approx(
        (30 / 85) ** 3, rel=1e-9
    )


def test_force_tells_components_and_edge() -> None:
    """a.nose.r0.4.ap0.2: Fc 34.46 N, edge 0.4439 mm, mean chip 0.02250 mm, Fp/Ff 1.408 by integration."""
    answer = told("force", EXAMPLES / "boring_bar_16mm.toml", "--more")
    record = json.loads(told("force", EXAMPLES / "boring_bar_16mm.toml", "--json", "-").out)
    cut = record["cut"]
    # The record's Fc is by the mean chip; the integral of the local chip is a little below it.
    assert cut["force_n"]["c"] == pytest.approx(34.46, rel=0.03)
    assert cut["edge"]["length_mm"] == pytest.approx(0.4439, abs=5e-5)  # last printed digit
    assert cut["edge"]["mean_chip_mm"] == pytest.approx(0.02250, abs=5e-6)
    assert cut["force_n"]["p"] / cut["force_n"]["f"] == pytest.approx(1.408, rel=0.01)
    assert "chord rule (Colwell), to compare" in answer.out
    assert "down 0.93, left 0.29, back 0.21" in " ".join(answer.out.split())
    assert [line for line in answer.out.splitlines() if len(line) > 100] == []


def test_a_chip_too_thin_is_warned_of() -> None:
    """Computed apart: nose 0.8, depth 0.02, feed 0.05: mean chip 4.9 um, below the least of a honed edge."""
    sets = ("--set=cut.nose_radius=0.8", "--set=cut.depth=0.02", "--set=cut.edge_radius_um=50")
    answer = told("force", EXAMPLES / "boring_bar_16mm.toml", "--more", *sets)
    assert "Warning: the mean chip is 4.9 µm" in answer.out
    for command in ("force", "cut"):
        record = json.loads(told(command, EXAMPLES / "boring_bar_16mm.toml", "--json", "-", *sets).out)
        assert "it will rub, then bite" in record["warnings"][-1]


@pytest.mark.parametrize("command", ["force", "cut"])
@pytest.mark.parametrize("suffix", [".png", ".svg"])
def test_pictures_are_written(command: str, suffix: str, tmp_path: Path) -> None:
    """A picture of some size, and the same one again for the same set-up."""
    example = EXAMPLES / "boring_bar_16mm.toml"
    files = [tmp_path / f"{n}{suffix}" for n in range(2 if command == "force" else 1)]
    for file in files:
        assert told(command, example, "--plot", file).code == 0
    data = files[0].read_bytes()
    assert data.startswith(PNG) if suffix == ".png" else b"<svg" in data
    assert len(data) > 20_000
    assert all(file.read_bytes() == data for file in files)


@pytest.mark.parametrize(
    ("words", "key", "parts"),
    [
        (["--plot", "p.jpg"], "--plot", ("ends in .svg, .png or .pdf",)),
        (["--plot", "no/p.svg"], "--plot", ("folder does not exist",)),
        (["--json", "x.svg", "--plot", "x.svg"], "--plot", ("another file than --json",)),
        (["--set", "cut.depth=0"], "cut.depth", ("radial",)),
        (["--set", "cut.speeds_rpm=[]"], "cut.speeds_rpm", ("one speed or more",)),
        (["--set", "cut.speeds_rpm=[0, 200]"], "cut.speeds_rpm", ("above 0",)),
        (["--set", "cut.depth=0.4 mm on diameter"], "cut.depth", ("Depth is radial",)),
        (["--set", "cut.work_material=mild steal"], "cut.work_material", ("low carbon steel",)),
    ],
)
@pytest.mark.parametrize("command", ["force", "cut"])
def test_wrong_words(
    command: str,
    words: list[str],
    key: str,
    parts: tuple[str, ...],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> None:
    """Exit code 2, one line, nothing written."""
    monkeypatch.chdir(tmp_path)
    done = told(command, EXAMPLES / "boring_bar_16mm.toml", *words)
    assert (done.code, done.out) == (2, "")
    assert done.err.startswith(f"{key} is ")
    assert len(done.err.splitlines()) == 1
    assert [part for part in parts if part not in done.err] == []
    # Only the error itself, where --json was told where to.
    assert {one.name for one in tmp_path.iterdir()} <= {"x.svg"}


@pytest.mark.parametrize("command", ["force", "cut"])
def test_a_cut_that_is_not_described_far_enough(command: str, tmp_path: Path) -> None:
    """One message names all that is missing; without [cut] it asks for it; one key is told as itself."""
    half = tmp_path / "half.toml"
    half.write_text(setups.ROUND + '\n[cut]\noperation = "boring"\n', encoding="utf-8")
    done = told(command, half)
    assert done.code == 2
    [error_line] = done.err.splitlines()
    assert error_line.startswith("cut is without work_material, depth, feed, nose_radius, edge_angle_deg; ")
    bare = tmp_path / "bare.toml"
    bare.write_text(setups.ROUND, encoding="utf-8")
    done = told(command, bare, "--json", "-")
    assert done.code == 2
    error = json.loads(done.out)["error"]
    assert (error["key"], error["given"]) == ("cut", "missing")
    assert all(key in error["mend"] for key in ("operation", "work_material", "depth", "feed", "nose_radius"))
    bare.write_text(setups.CUTTING.replace("feed = 0.05\n", ""), encoding="utf-8")
    done = told(command, bare)
    assert (done.code, done.err.splitlines()[-1].split(";")[0]) == (2, "cut.feed is missing")


@pytest.mark.parametrize("wrong", WORKED)
def test_mistakes_of_the_cut_through_the_real_command(wrong: str, tmp_path: Path) -> None:
    """The table of mistakes, told by ``cut`` itself."""
    text, key, words = mistakes_cut.MISTAKES[wrong]
    file = tmp_path / "bar.toml"
    file.write_text(text, encoding="utf-8")
    done = told("cut", file)
    assert (done.code, done.out) == (2, "")
    assert done.err.startswith(f"{key} is ")
    assert [word for word in words if word.lower() not in done.err.lower()] == []
