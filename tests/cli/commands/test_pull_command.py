"""The command ``pull``: the contract of its JSON, its words, its refusals."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from answers import EXAMPLES

from stickout.cli.__main__ import main

LOG = """[[pull]]
base = "post"
load_at = 80
dial_at = 75
loads_n = [0, 20, 40, 60, 40, 20, 0]
readings_um = [0, 11, 23, 34, 24, 13, 2]
"""


def test_json_and_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The example of the contract: 0.56 µm/N, about what a line by eye gives."""
    (tmp_path / "log.toml").write_text(LOG)
    assert main(["pull", str(tmp_path / "log.toml"), "--json", str(tmp_path / "o.json")]) == 0
    record = json.loads((tmp_path / "o.json").read_text(encoding="utf-8"))
    band = record["compliance_m_per_n"]
    assert band["low"] < band["likely"] < band["high"]
    assert band["likely"] == pytest.approx(0.56e-6, rel=0.03)
    assert record["refused"] is None
    assert record["slack_m"] >= 0.0
    told = capsys.readouterr().out
    assert "tool and grip give 5." in told
    assert "isolator" in told


def test_a_log_without_pulls(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 2 and what to add."""
    (tmp_path / "log.toml").write_text('[[tap]]\nrecording = "t.wav"\n')
    assert main(["pull", str(tmp_path / "log.toml")]) == 2
    assert "[[pull]]" in capsys.readouterr().err


SCREWED = LOG.replace(
    "load_at = 80\ndial_at = 75", 'load_at = 35\ndial_at = 30\nscrew_nm = 0.2\ndirection = "up"'
)


def test_a_set_up_splits_it_and_warns(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With the set-up: bar and grip apart, the opening of the seat, the same in the JSON, and a picture."""
    (tmp_path / "log.toml").write_text(SCREWED)
    words = ["pull", str(tmp_path / "log.toml"), "--setup", str(EXAMPLES / "two_screws.toml")]
    assert main([*words, "--json", str(tmp_path / "o.json"), "--plot", str(tmp_path / "p.svg")]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "Warning: the seat opens at the front from" in told
    assert "you pulled 60 N" in told
    assert "the tool itself, computed:" in told
    record = json.loads((tmp_path / "o.json").read_text(encoding="utf-8"))
    assert record["opening_force_n"]["low"] < 60
    assert set(record["split_m_per_n"]) == {"tool", "grip"}
    assert record["tool_computed"] is True
    assert (tmp_path / "p.svg").stat().st_size > 10_000


def test_a_torque_of_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 2, one line."""
    (tmp_path / "log.toml").write_text(SCREWED.replace("0.2", "0"))
    assert main(["pull", str(tmp_path / "log.toml")]) == 2
    assert "screw_nm" in capsys.readouterr().err
