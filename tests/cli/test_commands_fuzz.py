"""No command line, however broken, loses a file or ends without a known exit code and clear messages."""

from __future__ import annotations

from pathlib import Path

import fuzzing_commands as commands
import pytest

LINES_EACH = 12
# Longer runs: tests/benchmarks/fuzz_commands.py.


@pytest.mark.parametrize("seed", [3, 28, 43])
def test_broken_command_lines(tmp_path: Path, seed: int) -> None:
    """Fixed seeds; sound set-ups among them, loosely solved, so that some lines get as far as an answer."""
    kept = commands.make_folder(tmp_path)
    commands.fuzzed_set_up(tmp_path, seed=seed)
    faults = {
        commands.told_line(words): fault
        for words in commands.command_lines(LINES_EACH, seed=seed, texts=True)
        if (fault := commands.fault_of(words, tmp_path, kept)) is not None
    }
    assert faults == {}


def test_the_fuzzer_notices(tmp_path: Path) -> None:
    """A file that was changed, and a command that breaks, are faults."""
    kept = commands.make_folder(tmp_path)
    assert commands.fault_of(["materials"], tmp_path, kept) is None
    (tmp_path / "bar.toml").write_text("", encoding="utf-8")
    assert commands.fault_of(["materials"], tmp_path, kept) == "lost bar.toml, link.toml"
