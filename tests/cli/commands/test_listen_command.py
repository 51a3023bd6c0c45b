"""The command ``listen``: its JSON, its picture, its words, its refusals."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from shop import TWO, taps, write_wav

from stickout.cli.__main__ import main


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
    assert f"{first['frequency_hz']['likely']:.1f}" in told.splitlines()[0]
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
