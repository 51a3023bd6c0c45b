"""What ``size --absorber`` refuses, told before anything is solved."""

from __future__ import annotations

from pathlib import Path

import pytest
import setups
from answers import told

HOLE = ("--bore", "20", "--depth", "60")


@pytest.fixture(autouse=True)
def in_a_folder_of_its_own(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Work where nothing else is."""
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize(
    ("words", "key", "hint"),
    [
        (("bar.toml",), "SETUP", "--absorber"),
        (("--bore", "20", "--depth", "60", "--plug-bore", "8"), "--plug-bore", "given with --absorber"),
        (("--bore", "20", "--depth", "60", "--set", "bar.overhang=3"), "--set", "given with --absorber"),
        (("--absorber",), "SETUP", "--bore"),
        (("bar.toml", "--absorber", "--bore", "20"), "--bore", "both at once"),
        (("--bore", "20", "--depth", "60", "--absorber", "--set", "a.b=1"), "--set", "go with a set-up file"),
        (("bar.toml", "--absorber", "--plug-bore", "8 dm"), "--plug-bore", "thou"),
        (("bar.toml", "--absorber", "--plug-bore", "15"), "--plug-bore", "12.8 mm"),
        (("bar.toml", "--absorber", "--absorber-kind", "pluk"), "--absorber-kind", "'plug'"),
        (("bar.toml", "--absorber", "--slug-material", "stel"), "--slug-material", "'steel'"),
        (("bar.toml", "--absorber", "--absorber-kind", "ring"), "--ring-outside", "missing"),
        (("bar.toml", "--absorber", "--place", "81"), "--place", "80 mm"),
        (("square.toml", "--absorber"), "bar.section", "[absorber]"),
        (
            (*HOLE, "--absorber", "--absorber-kind", "ring", "--ring-outside", "20"),
            "--ring-outside",
            "below the hole",
        ),
        (("bar.toml", "--absorber", "--out", "new.txt"), "--out", ".toml"),
        (("bar.toml", "--absorber", "--materials", "brass"), "--materials", "left out with a set-up"),
        (("bar.toml", "--absorber", "--grip", "rigid"), "--grip", "left out with a set-up"),
        ((*HOLE, "--absorber", "--wanted-depth", "1"), "--wanted-depth", "left out with --absorber"),
        (("none.toml", "--absorber"), "none.toml", "missing"),
    ],
)
def test_what_the_command_refuses(words: tuple[str, ...], key: str, hint: str) -> None:
    """Exit code 2, one line with option and remedy, nothing solved, nothing written."""
    Path("bar.toml").write_text(setups.ROUND, encoding="utf-8")
    Path("square.toml").write_text(setups.SQUARE, encoding="utf-8")
    done = told("size", *words)
    assert (done.code, done.out) == (2, "")
    assert done.err.count("\n") == 1, done.err
    assert done.err.startswith(f"{key} is ")
    assert hint in done.err
    assert {one.name for one in Path().iterdir()} == {"bar.toml", "square.toml"}
