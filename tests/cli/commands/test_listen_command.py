"""The command ``listen``: its JSON, its picture, its words, its refusals."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from answers import EXAMPLES
from shop import RATE, TWO, taps, write_wav

from stickout.cli.__main__ import main
from stickout.fem.bench import singers
from stickout.fem.bench.squeal import Candidate


def test_json_words_and_picture(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The keys of the contract, the same numbers in the words, and how to tap safely."""
    write_wav(tmp_path / "t.wav", taps(TWO, count=5))
    words = ("listen", str(tmp_path / "t.wav"), "--json", str(tmp_path / "o.json"))
    assert main([*words, "--plot", str(tmp_path / "p.png")]) == 0
    record = json.loads((tmp_path / "o.json").read_text(encoding="utf-8"))
    (file,) = record["recordings"]
    assert {"file", "rate_hz", "taps_used", "taps_refused", "refused"} <= set(file)
    assert (file["rate_hz"], file["taps_used"], file["taps_refused"], file["refused"]) == (48000, 5, [], None)
    first = record["modes"][0]
    assert set(first["frequency_hz"]) == set(first["damping_ratio"]) == {"low", "likely", "high"}
    assert first["pair"] is False
    told = capsys.readouterr().out
    assert f"{first['frequency_hz']['likely']:.0f}" in told.splitlines()[0]
    assert "isolator" in told
    assert "never on the edge" in told.replace("\n", " ")
    assert (tmp_path / "p.png").stat().st_size > 10_000


def test_a_file_that_is_not_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 2, one line, no picture."""
    assert main(["listen", str(tmp_path / "no.wav"), "--plot", str(tmp_path / "p.png")]) == 2
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert "not there" in told
    assert not (tmp_path / "p.png").exists()


def test_a_recorded_cut(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With its speed: the verdict in the first line, the lines and what each is, the same in the JSON."""
    t = np.arange(4 * RATE) / RATE
    sound = 0.2 * np.sin(2 * np.pi * 1074.6 * t)
    sound += sum(0.03 / k * np.sin(2 * np.pi * 7.0 * k * t) for k in range(1, 9))
    path = write_wav(tmp_path / "c.wav", sound + 1e-3 * np.random.default_rng(0).standard_normal(len(t)))
    words = ("listen", str(path), "--rpm", "415", "--json", str(tmp_path / "o.json"))
    assert main([*words, "--plot", str(tmp_path / "c.svg")]) == 0
    drawn = (tmp_path / "c.svg").read_text(encoding="utf-8")
    assert drawn.count("LineCollection") >= 3  # spindle, off the comb, and around the note
    told = capsys.readouterr().out
    assert told.startswith("Chatter: the cut sings by itself")
    assert all(len(line) <= 100 for line in told.splitlines())
    record = json.loads((tmp_path / "o.json").read_text(encoding="utf-8"))
    assert record["verdict"] == "self-excited"
    assert record["spindle_hz"] == pytest.approx(7.0, rel=2e-3)
    assert record["note"]["frequency_hz"] == pytest.approx(1074.6, abs=0.2)
    assert {one["kind"] for one in record["lines"]} >= {"spindle", "off the comb"}


@pytest.mark.parametrize("more", [("--idle", "i.wav"), ("--rpm", "400", "--other", "o.wav")])
def test_options_of_a_cut_that_do_not_go_together(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], more: tuple[str, ...]
) -> None:
    """One line, exit code 2."""
    path = write_wav(tmp_path / "t.wav", taps(TWO, count=3))
    assert main(["listen", str(path), *more]) == 2
    assert capsys.readouterr().err.count("\n") == 1


@pytest.mark.slow
def test_a_hung_bar(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Notes of a thin steel bar with free ends: its modulus, and the callipers agree."""
    first = 4.730041**2 / (2 * np.pi * 0.3**2) * np.sqrt(205e9 / 7850) * 0.008 / 4
    notes = ((first, 0.0008, 1.0), (first * (7.853205 / 4.730041) ** 2, 0.0008, 0.5))
    path = write_wav(tmp_path / "h.wav", taps(notes, count=5))
    words = ["listen", str(path), "--hung-length", "300", "--hung-diameter", "8"]
    assert main([*words, "--json", str(tmp_path / "o.json")]) == 0
    record = json.loads((tmp_path / "o.json").read_text(encoding="utf-8"))
    assert record["hung"]["youngs_modulus_pa"]["likely"] == pytest.approx(205e9, rel=0.015)
    assert "callipers agree" in capsys.readouterr().out
    assert main(words[:4]) == 2


def test_the_picture_of_taps(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With a speed the comb of the spindle is a picture of its own; with a set-up its modes are drawn."""
    path = str(write_wav(tmp_path / "t.wav", taps(TWO, count=4)))
    modes = [Candidate("the tool's mode at 1100 Hz", 1100.0, 0.15, 0.01)]
    monkeypatch.setattr(singers, "singers", lambda _: modes)
    plain, full = (tmp_path / f"{name}.svg" for name in ("plain", "full"))
    assert main(["listen", path, "--plot", str(plain)]) == 0
    beside = ["--comb", "500", "--setup", str(EXAMPLES / "boring_bar_16mm.toml")]
    assert main(["listen", path, "--plot", str(full), *beside]) == 0
    count = [one.read_text(encoding="utf-8").count('<g id="axes_') for one in (plain, full)]
    assert count == [3, 4]
    # Lines of the comb, 500/60 Hz apart, eight to either side of the note, and one for the mode.
    dotted = [one.read_text(encoding="utf-8").count("stroke-dasharray") for one in (plain, full)]
    assert dotted[1] - dotted[0] >= 17


def test_a_comb_of_no_speed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 2, one line, before the recording is opened."""
    assert main(["listen", str(tmp_path / "no.wav"), "--comb", "-3"]) == 2
    assert capsys.readouterr().err.startswith("--comb is ")
