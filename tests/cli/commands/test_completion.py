"""Shell completion: what is printed completes commands, options and choices in a real shell."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from answers import told

from stickout.cli.__main__ import COMMANDS

BASH = shutil.which("bash")


def completed(folder: Path, *words: str) -> list[str]:
    """Return what bash offers for the last of the words, asked as its Tab key asks."""
    (folder / "stickout.bash").write_text(told("completion", "bash").out, encoding="utf-8")
    line = " ".join(f"'{one}'" for one in ("stickout", *words))
    script = f"""
    source stickout.bash
    name=$(complete -p stickout | sed 's/.*-F \\([^ ]*\\).*/\\1/')
    COMP_WORDS=({line}) COMP_CWORD={len(words)}
    $name stickout "${{COMP_WORDS[$COMP_CWORD]}}" "${{COMP_WORDS[$COMP_CWORD-1]}}"
    printf '%s\\n' "${{COMPREPLY[@]}}"
    """
    done = subprocess.run(
        [str(BASH), "-c", script], cwd=folder, capture_output=True, text=True, timeout=30, check=True
    )
    return sorted(one.strip() for one in done.stdout.splitlines() if one.strip())


@pytest.mark.skipif(BASH is None, reason="no bash here")
def test_bash_completes_commands_options_and_files(tmp_path: Path) -> None:
    """Every command; part of one; the options of that command alone; its choices; files."""
    assert set(completed(tmp_path, "")) >= {name for name, *_ in COMMANDS}
    assert completed(tmp_path, "com") == ["compare", "completion"]
    assert completed(tmp_path, "report", "--pa") == ["--paper"]
    assert completed(tmp_path, "cut", "--pa") == []
    assert completed(tmp_path, "report", "--paper", "") == ["a4", "letter"]
    (tmp_path / "my_bar.toml").write_text("", encoding="utf-8")
    assert "my_bar.toml" in completed(tmp_path, "cut", "my_")


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish", "powershell"])
def test_each_shell_has_every_command(shell: str) -> None:
    """The text for a shell names each command, and nothing else is printed."""
    done = told("completion", shell)
    assert (done.code, done.err) == (0, "")
    for name, *_ in COMMANDS:
        assert name in done.out, name


def test_another_shell_is_refused() -> None:
    """The known ones are listed."""
    done = told("completion", "cmd")
    assert done.code == 2
    assert "powershell" in done.err
    assert done.out == ""
