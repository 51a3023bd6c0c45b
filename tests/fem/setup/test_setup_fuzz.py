"""No set-up file, however broken, ends in anything but a set-up or clear messages."""

from __future__ import annotations

import os
from pathlib import Path

import fuzzing
import pytest
import setups

from stickout.fem.setup.file import SetupError, parse_setup, read_setup
from stickout.fem.setup.overrides import read_value, with_changes


@pytest.mark.slow
def test_a_thousand_broken_set_ups() -> None:
    """Fixed seed. Each mistake is one line that a screen can show, and long ones are cut."""
    sound = broken = 0
    for text in fuzzing.setup_texts(1000, seed=13):
        mistakes = fuzzing.told_of(text)
        sound, broken = sound + (not mistakes), broken + bool(mistakes)
        for told in mistakes:
            assert told.isprintable(), repr(told)
            assert len(told) < 1600, told
    assert sound > 50  # the changes are small enough that many files stay set-ups
    assert broken > 300


@pytest.mark.parametrize(
    "value", ["1" * 310, "0x" + "f" * 6000, "1e300", "-1e308", "1e-300", "5e-324", "1e400"]
)
@pytest.mark.parametrize("key", ["diameter", "overhang", "rotation_deg"])
def test_numbers_out_of_reason(key: str, value: str) -> None:
    """310 digits, sizes of 1e300, a depth of 1e-300: one mistake of that key."""
    lines = [one for one in setups.ROUND.splitlines() if not one.startswith(key)]
    at = lines.index("[bar]")
    text = "\n".join([*lines[: at + 1], f"{key} = {value}", *lines[at + 1 :]])
    with pytest.raises(SetupError) as caught:
        parse_setup(text)
    assert [one.key for one in caught.value.mistakes] == [f"bar.{key}"]
    assert len(str(caught.value.mistakes[0])) < 700


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("x = " + "[" * 5000 + "]" * 5000, "nested too deep"),
        ("a." * 2000 + "b = 1", "nested too deep"),
        ("x = " + "9" * 5000, "out of all reason"),
        ("x = 1979-99-99", "not TOML"),
    ],
)
def test_files_out_of_reason(text: str, words: str) -> None:
    """5000 arrays inside each other, 5000 digits: told, and the text is not repeated."""
    with pytest.raises(SetupError) as caught:
        parse_setup(text)
    [mistake] = caught.value.mistakes
    assert words in str(mistake)
    assert len(str(mistake)) < 300


def test_changes_out_of_reason() -> None:
    """The same in ``--set``: such a value counts as a text, and is refused as one where a number belongs."""
    for value in ("[" * 5000 + "]" * 5000, "9" * 5000):
        assert read_value(value) == value
        tables = with_changes({"bar": {}}, [f"bar.overhang={value}"])
        assert tables["bar"]["overhang"] == value
    with pytest.raises(ValueError, match="dotted key"):
        with_changes({}, ["a." * 2000 + "b=1"])


def test_files_that_are_no_files(tmp_path: Path) -> None:
    """A pipe, a device, a loop of links, a name of 5000 letters: told at once, never waited for."""
    os.mkfifo(tmp_path / "pipe.toml")
    (tmp_path / "loop.toml").symlink_to("loop.toml")
    wrong = {
        tmp_path / "pipe.toml": "a pipe or a device",
        Path("/dev/zero"): "a pipe or a device",
        tmp_path / "loop.toml": "loop of links",
        tmp_path / ("x" * 5000): "too long",
        tmp_path / "bar.toml" / "x.toml": "missing",
        tmp_path / "a\x00b.toml": "not the name of a file",
    }
    for path, words in wrong.items():
        with pytest.raises(SetupError) as caught:
            read_setup(path)
        [mistake] = caught.value.mistakes
        assert words in str(mistake), str(mistake)
        assert str(mistake).isprintable()


@pytest.mark.parametrize("title", ["two\\nlines", "\\u001b[2J", "a\\u202Eb", "tab\\there", "x" * 300])
def test_titles_are_one_line_of_visible_letters(title: str) -> None:
    """A line break crashed the drawing; escape codes reached the terminal."""
    with pytest.raises(SetupError, match="title is ") as caught:
        parse_setup(f'title = "{title}"\n' + setups.ROUND.replace("title", "#"))
    assert str(caught.value.mistakes[0]).isprintable()


@pytest.mark.parametrize(
    "title", ["Bar for $5, not $10", "Drehmei\u00dfel \u00f8 12", "\u4e2d\u6587", "50 % _^{}"]
)
def test_titles_of_any_language_are_read(title: str) -> None:
    """Dollars and other alphabets are titles."""
    text = f'title = "{title}"\n' + setups.ROUND.replace("title", "#")
    assert parse_setup(text).setup.title == title


def test_lines_of_another_file_are_not_repeated() -> None:
    """A file given by mistake may hold anything; only what looks like a set-up's line is repeated."""
    with pytest.raises(SetupError) as caught:
        parse_setup("root:x:0:0:secret\n")
    assert "secret" not in str(caught.value.mistakes[0])
    with pytest.raises(SetupError, match="diameter = sixteen"):
        parse_setup("[bar]\ndiameter = sixteen\n")
