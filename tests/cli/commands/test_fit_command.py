"""The command ``fit``: a recording and a log in, the contract's JSON and a set-up that reads back out."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from setups import CUT, ROUND
from shop import taps, write_wav

from stickout.cli.__main__ import main
from stickout.fem.setup.file import read_setup

LOG = """[[tap]]
recording = "taps.wav"
[[pull]]
base = "post"
load_at = 80
dial_at = 80
loads_n = [0, 20, 40, 60, 80, 60, 40, 20, 0]
readings_um = [0, 9, 18, 27, 36, 27, 18, 9, 0]
"""


def test_from_the_bench_to_the_set_up(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Predictions, parameters, and a written set-up whose bands are the measured ones."""
    (tmp_path / "bar.toml").write_text(ROUND)
    (tmp_path / "log.toml").write_text(LOG)
    write_wav(tmp_path / "taps.wav", taps(((1250.0, 0.015, 1.0),), count=5))
    words = ["fit", str(tmp_path / "bar.toml"), "--log", str(tmp_path / "log.toml")]
    files = ["--json", str(tmp_path / "o.json"), "--out", str(tmp_path / "mine.toml")]
    assert main([*words, *files, "--at", "bar.overhang=70"]) == 0
    record = json.loads((tmp_path / "o.json").read_text(encoding="utf-8"))
    assert {"parameters", "predictions", "disagreement", "full_solves"} <= set(record)
    assert record["full_solves"] <= 5
    assert record["predictions"]["margin"] is None
    assert record["predictions"]["frequency_hz"]["likely"] > 1300
    mine = read_setup(tmp_path / "mine.toml").setup
    by_key = {one["key"]: one for one in record["parameters"]}
    faces = mine.grip.springs
    assert faces is not None
    assert faces.normal_n_per_um_mm2.source.startswith("measured 20")
    assert faces.normal_n_per_um_mm2.likely == pytest.approx(
        by_key["grip.bed_n_per_um_mm2"]["likely"], rel=1e-4
    )
    assert faces.loss_factor.high == pytest.approx(by_key["grip.bed_loss_factor"]["high"], rel=1e-4)
    told = capsys.readouterr().out
    assert "bar.overhang=70" in told
    assert "By-product" in told


def test_a_tap_entered_as_heard(tmp_path: Path) -> None:
    """Note and damping ratio without a recording: what was heard is predicted."""
    (tmp_path / "bar.toml").write_text(ROUND)
    (tmp_path / "log.toml").write_text("[[tap]]\nring_hz = 1170\ndamping_ratio = 0.014\n")
    words = ["fit", str(tmp_path / "bar.toml"), "--log", str(tmp_path / "log.toml")]
    assert main([*words, "--json", str(tmp_path / "o.json"), "--out", str(tmp_path / "mine.toml")]) == 0
    record = json.loads((tmp_path / "o.json").read_text(encoding="utf-8"))
    # A note read to a per cent outweighs a seat known to a factor of thirty.
    assert record["predictions"]["frequency_hz"]["likely"] == pytest.approx(1170, rel=0.01)
    assert read_setup(tmp_path / "mine.toml").setup.grip.springs is not None


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ('direction = "up"', "tap 1: ring_hz is missing"),
        ('recording = "a.wav"\nring_hz = 1170', "given beside recording"),
        ("ring_hz = 5", "from 20 to 20000 Hz"),
        ("ring_hz = 1170\ndamping_ratio = 1.4", "1.4 % is 0.014"),
        ('recording = "a.wav"\ndamping_ratio = 0.01', "beside ring_hz"),
    ],
)
def test_a_tap_that_says_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], entry: str, words: str
) -> None:
    """One message, exit code 2."""
    (tmp_path / "bar.toml").write_text(ROUND)
    (tmp_path / "log.toml").write_text(f"[[tap]]\n{entry}\n")
    assert main(["fit", str(tmp_path / "bar.toml"), "--log", str(tmp_path / "log.toml")]) == 2
    [line] = capsys.readouterr().err.splitlines()
    assert words in line


CUT_HEARD = CUT.replace("120, 200, 315", "315, 800") + '[[cut.heard]]\nrpm = 800\nheard = "sang"\n'


def test_cuts_of_the_log_count_and_are_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Those of the set-up and of the log, each once; a second fit of what was written starts afresh."""
    (tmp_path / "bar.toml").write_text(ROUND + CUT_HEARD)
    cuts = '[[cut]]\nrpm = 200\nheard = "quiet"\ndepth = 0.1\n[[cut]]\nrpm = 800\nheard = "sang"\n'
    (tmp_path / "log.toml").write_text(LOG + cuts)
    write_wav(tmp_path / "taps.wav", taps(((1250.0, 0.015, 1.0),), count=5))
    mine = str(tmp_path / "mine.toml")
    words = ["--log", str(tmp_path / "log.toml"), "--json", str(tmp_path / "o.json")]
    assert (
        main(["fit", str(tmp_path / "bar.toml"), *words, "--out", mine, "--plot", str(tmp_path / "p.png")])
        == 0
    )
    assert (tmp_path / "p.png").stat().st_size > 10_000
    first = json.loads((tmp_path / "o.json").read_text(encoding="utf-8"))
    assert [one["with"] for one in first["steps"]] == ["note", "damping", "heard"]
    assert {"margin", "margin_without_rubbing", "speeds"} <= set(first["predictions"])
    assert first["next"][0]["margin_high_over_low"] > 1.0
    told = capsys.readouterr().out
    assert "and the cuts heard" in told
    assert all(len(line) <= 100 for line in told.splitlines())
    written = read_setup(tmp_path / "mine.toml").setup
    assert written.cut is not None
    assert [(one.rpm, one.heard, one.depth_mm) for one in written.cut.heard] == [
        (800.0, "sang", None),
        (200.0, "quiet", 0.1),
    ]
    assert main(["fit", mine, *words]) == 0
    again = json.loads((tmp_path / "o.json").read_text(encoding="utf-8"))
    assert again["parameters"] == first["parameters"]
    assert "anew" in capsys.readouterr().err


@pytest.mark.parametrize("wrong", ["[3, 2, 1]", "[0.1, 0.2]", '"soft"'])
def test_a_faulty_measured_section(tmp_path: Path, capsys: pytest.CaptureFixture[str], wrong: str) -> None:
    """One line, exit code 2."""
    (tmp_path / "bar.toml").write_text(ROUND + f"[measured]\nn_per_um_mm2 = {wrong}\n")
    assert main(["modes", str(tmp_path / "bar.toml")]) == 2
    assert capsys.readouterr().err.startswith("measured.n_per_um_mm2 is ")


def test_a_stiffness_for_a_rigid_grip_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """There is no spring it could be the stiffness of."""
    (tmp_path / "bar.toml").write_text(
        ROUND.replace('"bed"', '"rigid"') + "[measured]\nn_per_um_mm2 = [1, 2, 3]\n"
    )
    assert main(["modes", str(tmp_path / "bar.toml")]) == 2
    assert "springs" in capsys.readouterr().err


BORED = """[cut]
operation = "boring"
work_material = "medium carbon steel"
depth = 0.2
feed = 0.05
nose_radius = 0.4
edge_angle_deg = 95
work_diameter = 24
"""


def test_spring_passes_of_a_log(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Read from the log, counted as a step, and the unknowns' shares told."""
    (tmp_path / "bar.toml").write_text(ROUND + BORED)
    (tmp_path / "log.toml").write_text(
        "[[tap]]\nring_hz = 1200\ndamping_ratio = 0.014\n"
        "[[spring_pass]]\nfeed = 0.3\ndepth = 0.5\npasses = 2\ncame_off_um = 75\nreading_um = 2\n"
    )
    words = ["fit", str(tmp_path / "bar.toml"), "--log", str(tmp_path / "log.toml")]
    assert main([*words, "--json", str(tmp_path / "o.json"), "--plot", str(tmp_path / "p.png")]) == 0
    assert (tmp_path / "p.png").stat().st_size > 10_000
    record = json.loads((tmp_path / "o.json").read_text(encoding="utf-8"))
    assert [one["with"] for one in record["steps"]] == ["note", "damping", "sprung"]
    widths = [
        one["margin_without_rubbing"]["high"] / one["margin_without_rubbing"]["low"]
        for one in record["steps"]
    ]
    assert widths[2] < 0.95 * widths[1]
    assert sum(record["predictions"]["shares"].values()) == pytest.approx(1.0)
    told = capsys.readouterr().out
    assert "and the spring passes" in told
    # A damping that was read off a screen holds most of the spread: taps come first.
    assert record["next"][0]["what"] == "taps"
    assert "how much the flank rubs" in told


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ("passes = 2", "spring_pass 1: came_off_um is missing"),
        ("came_off_um = 0", "spring_pass 1: came_off_um"),
        ("came_off_um = 20\npasses = 1.5", "1 to 5, a whole number"),
        ("came_off_um = 20\nreading_um = 0", "spring_pass 1: reading_um"),
        ("came_off_um = 20\nfed = 0.1", "feed"),
    ],
)
def test_a_spring_pass_at_fault(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], entry: str, words: str
) -> None:
    """One message, exit code 2."""
    (tmp_path / "bar.toml").write_text(ROUND + BORED)
    (tmp_path / "log.toml").write_text(f"[[spring_pass]]\n{entry}\n")
    assert main(["fit", str(tmp_path / "bar.toml"), "--log", str(tmp_path / "log.toml")]) == 2
    assert words in capsys.readouterr().err


def test_a_dial_on_the_bed_changes_the_verdict(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """From a log of a pull to another word: quiet with a rigid post, noisy on the one that was pulled."""
    example = Path(__file__).parents[3] / "examples" / "measured_post.toml"
    bare, mine = tmp_path / "bare.toml", tmp_path / "mine.toml"
    bare.write_text(re.sub(r"\n\[post\].*?\n\n", "\n", example.read_text(encoding="utf-8"), flags=re.DOTALL))
    # 1/12 + 0.06^2/0.015 = 0.323 µm/N of a post that gives so, and 0.01 of the bar.
    log = '[[pull]]\nbase = "bed"\nload_at = 30\ndial_at = 30\ndirection = "up"\n'
    log += "loads_n = [0, 50, 100, 150, 100, 50, 0]\nreadings_um = [0, 16.5, 33, 50, 33.5, 16.5, 0]\n"
    (tmp_path / "log.toml").write_text(log)
    assert main(["cut", str(bare)]) == 0
    assert "Quiet at 200, 400 and 800 rpm" in capsys.readouterr().out
    assert main(["fit", str(bare), "--log", str(tmp_path / "log.toml"), "--out", str(mine)]) == 0
    assert "the spring under 10 N is 3.3 µm, not 0.11." in " ".join(capsys.readouterr().out.split())
    assert main(["cut", str(mine)]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "It is post and slides that sing, not the bar." in told
    assert "Noisy at 200 rpm, surely noisy at 400 and 800." in told
    assert read_setup(mine).setup.post is not None
