"""Cases are counted before any is made: what is out of reason is refused in a blink."""

from __future__ import annotations

from pathlib import Path

import pytest
import setups

from stickout.cli.__main__ import main


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--vary", "bar.overhang=40:120", "--cases", "1000000000"], "--cases is 1000000000"),
        (["--vary", "bar.overhang=40:120", "--cases", "2.5"], "no whole number"),
        (["--vary", "bar.overhang=40:120", "--cases", "1e3"], "no whole number"),
        (["--vary", "bar.overhang=0:1:1e-300"], "numbers that things have"),
        (["--vary", "bar.overhang=1e999999:2e999999:1"], "numbers that things have"),
        (["--vary", "bar.overhang=40:60:1e-9999999"], "numbers that things have"),
        (["--vary", "bar.overhang=40:60:1e-9", "--yes"], "at most 1 000 000 000 cases"),
        (["--vary", "bar.overhang=40:60:1e-4"], "without --yes"),
    ],
)
def test_counts_out_of_reason(
    words: list[str],
    told: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Exit code 2, one line, no file: neither a table nor a journal."""
    monkeypatch.chdir(tmp_path)
    Path("bar.toml").write_text(setups.ROUND, encoding="utf-8")
    assert main(["sweep", "bar.toml", *words, "--out", "bars.csv"]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 1
    assert told in lines[0]
    assert [one.name for one in tmp_path.iterdir()] == ["bar.toml"]
