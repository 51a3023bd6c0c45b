"""The commands ``force`` and ``cut``: answers, result files, pictures, and every way to get them wrong."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from xml.etree import ElementTree

import mistakes_cut
import numpy as np
import pytest
import setups
from answers import EXAMPLES, told
from cut_runs import cut_of, screen_of

from stickout.cli.text.cut_answer import CAUTIONS, CHECKLIST
from stickout.cli.text.screen import FOOT, RULE

PNG = b"\x89PNG\r\n\x1a\n"
SVG = "{http://www.w3.org/2000/svg}"
# Set-ups with a whole cut; the second and third carry other operations and units.
FULL = ("boring_bar_16mm", "turning_tool_12mm", "inch_bar")
WORKED = [name for name, (text, _, _) in mistakes_cut.MISTAKES.items() if "[cut]" in text]


@pytest.mark.slow
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
        assert one["margin"]["likely"] >= likely * (1 - 1e-6)
        assert one["margin"]["likely"] > cut["margin_without_rubbing"]["likely"]
        assert (one["verdict"] == "quiet") == (one["p_quiet"] >= 0.7)
    stated = min(cut["speeds"], key=lambda one: round(abs(one["p_quiet"] - 0.5), 2))
    assert cut["levers_at_m_per_min"] == pytest.approx(stated["cutting_speed_m_per_min"])
    for one in cut["levers"]:
        assert one["p_quiet_before"] == stated["p_quiet"]
        assert one["factor"] == pytest.approx(one["margin_after"] / one["margin_before"])
    assert {"loss factor of the clamping", "thrust over cutting force"} <= {
        one["name"] for one in record["assumptions"]
    }


def test_one_mode_of_the_file_gives_about_its_margin() -> None:
    """The file is at one with itself: k eta over the passive demand of its limiting mode, closed form."""
    record = cut_of("boring_bar_16mm")[1]
    mode = record["modes"][record["limiting_mode"] - 1]
    # Kr Bpp by quadrature along the nose, the trailing arc included: tangent (1 - mc) kc at the local chip,
    # VDI 3323 group 2 (kc1.1 1500 N/mm2, mc 0.22), thrust 0.4 of it; the chip is what two arcs a feed apart
    # leave between them, up to the surface.
    nose, feed, depth = 0.4, 0.05, 0.2
    phi = np.linspace(-math.asin(feed / (2 * nose)), math.acos(1 - depth / nose), 200_001)[1:]
    chip = nose + feed * np.sin(phi) - np.sqrt(nose**2 - (feed * np.cos(phi)) ** 2)
    chip = np.minimum(chip, nose - (nose - depth) / np.cos(phi))
    used = chip > 0
    push = 0.4 * (1 - 0.22) * 1500 * chip[used] ** -0.22 * np.cos(phi[used]) ** 2
    demand = float(nose * np.trapezoid(push, phi[used])) * 1e3  # N/mm to N/m
    expected = mode["modal_stiffness_n_per_m"] * mode["loss_factor"] / demand
    # Residual of the higher modes, and what couples through the seat: some per cent.
    assert record["cut"]["margin_without_rubbing"]["likely"] == pytest.approx(expected, rel=0.03)


def test_speeds_of_the_set_up_are_answered() -> None:
    """All of them, in order; slower is quieter, and the crossing lies between the speeds that differ."""
    answer, record = cut_of("boring_bar_16mm")
    speeds = record["cut"]["speeds"]
    assert [one["rpm"] for one in speeds] == [120, 200, 315, 500, 800, 1250]
    chances = [one["p_quiet"] for one in speeds]
    assert chances == sorted(chances, reverse=True)
    quiet = [one["cutting_speed_m_per_min"] for one in speeds if one["verdict"] == "quiet"]
    others = [one["cutting_speed_m_per_min"] for one in speeds if one["verdict"] != "quiet"]
    assert max(quiet) <= record["cut"]["crossing_m_per_min"]["quiet_up_to"] <= min(others)
    assert "holds down waves shorter than about 0.25 mm" in " ".join(answer.out.split())


def test_the_boring_example_tells_what_to_change_first() -> None:
    """A turner's order: slower, shorter, a smaller nose, a new bar last; depth does little (THEORY.md, 5)."""
    answer, record = cut_of("boring_bar_16mm")
    keys = [one["key"] for one in record["cut"]["levers"]]
    assert list(dict.fromkeys(keys)) == ["speed", "overhang", "nose_radius", "depth", "feed", "material"]
    text = " ".join(answer.out.split())
    quiet = max(int(one["rpm"]) for one in record["cut"]["speeds"] if one["verdict"] == "quiet")
    assert f"Try first: {quiet} rpm." in text
    assert "64 mm out instead of 80" in text
    assert "No help: half the depth and more feed." in text
    assert "more depth hardly pushes harder across the cut" in text


@pytest.mark.slow
@pytest.mark.parametrize("name", [*FULL, "slender_shaft", "absorber_bar"])
def test_the_cut_fits_one_screen(name: str) -> None:
    """At most 25 lines of 100 columns: verdict, spring and what to try before the rule, the foot last."""
    done = screen_of(name)
    lines = done.out.splitlines()
    assert done.code == 0
    assert len(lines) <= 25
    assert max(map(len, lines)) <= 100
    above = done.out.partition(RULE)[0]
    assert ("The work springs " if name == "slender_shaft" else "The edge springs ") in above
    assert "Try first: " in above or "Nothing needs changing." in above
    assert lines[-2:] == list(FOOT)
    if name == "inch_bar":
        assert " N " not in done.out
        assert "10 lbf" in above


@pytest.mark.slow
@pytest.mark.parametrize("name", FULL)
def test_the_answer_reads_well(name: str) -> None:
    """No line beyond 100 columns; the opening has no number of more than two digits; checks and cautions."""
    answer = cut_of(name)[0]
    assert [line for line in answer.err.splitlines() if not line.startswith("Note: ")] == []
    assert [line for line in answer.out.splitlines() if len(line) > 100] == []
    opening = " ".join(answer.out.split("\n\n")[1].split())
    opening = opening.replace("1.35 in out", "")  # a tenth off the user's own inches
    numbers = [one for one in re.findall(r"\d[\d.]*", opening) if "." in one.rstrip(".")]
    assert [one for one in numbers if len(one.strip(".").replace(".", "").lstrip("0")) > 2] == [], opening
    assert all(one in " ".join(answer.out.split()) for one in (*CHECKLIST, *CAUTIONS))
    assert "not a promise" in answer.out


def test_inches_stay_inches() -> None:
    """Depths in thou, lengths in inches, no millimetre anywhere in the answer."""
    text = cut_of("inch_bar")[0].out.split("Assumed for the cut")[0]
    assert "nose radius 8 thou" in text
    assert re.findall(r"\d mm\b", text) == []
    assert "1.35 in out instead of 1.5" in text


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
    """A picture with something on it, and the same one again for the same set-up."""
    example = EXAMPLES / "boring_bar_16mm.toml"
    files = [tmp_path / f"{n}{suffix}" for n in range(2 if command == "force" else 1)]
    for file in files:
        assert told(command, example, "--plot", file).code == 0
    data = files[0].read_bytes()
    if suffix == ".png":
        assert data.startswith(PNG)
        assert len(data) > 20_000
    else:  # its title first, its words as words: numbers of both axes and their names at least
        words = [one.text or "" for one in ElementTree.fromstring(data).iter(f"{SVG}text")]
        assert words[0].startswith("Home-made 16 mm boring bar")
        assert len(words) > 12
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
    # Part of a cut is doubtful for other commands; here the error says it all.
    half.write_text(
        setups.CUTTING.replace("feed = 0.05\n", "").replace("nose_radius = 0.4\n", ""), encoding="utf-8"
    )
    [error_line] = told(command, half).err.splitlines()
    assert error_line.startswith("cut is without feed, nose_radius; ")
    bare = tmp_path / "bare.toml"
    bare.write_text(setups.ROUND, encoding="utf-8")
    done = told(command, bare, "--json", "-")
    assert done.code == 2
    error = json.loads(done.out)["error"]
    assert (error["key"], error["given"]) == ("cut", "missing")
    assert all(key in error["mend"] for key in ("operation", "work_material", "depth", "feed", "nose_radius"))
    bare.write_text(setups.CUTTING.replace("feed = 0.05\n", ""), encoding="utf-8")
    done = told(command, bare)
    [error_line] = done.err.splitlines()
    assert (done.code, error_line.split(";")[0]) == (2, "cut.feed is missing")


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
