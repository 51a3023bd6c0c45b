"""Command lines by the grammar of the program, with what people and accidents put into them.

``command_lines`` yields them for a folder made by ``make_folder``; ``fault_of`` runs one and says what is
wrong with how it ended: no known exit code, no clear message, or a file that is no longer what it was.
"""

from __future__ import annotations

import os
import random
import shlex
import traceback
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import fuzzing
import setups
from answers import told

COARSE: Final = "\n[solve]\nmodes = 1\naccuracy = 0.05\n"
KNOWN_CODES: Final = (0, 1, 2)
MOST_LETTERS: Final = 1600  # of a message
# What each command may be given besides a set-up; those that talk to a browser or ask questions stay out.
OPTIONS: Final = {
    "modes": ("--set", "--json", "--mesh", "--energy", "--more", "--verbose"),
    "force": ("--set", "--json", "--plot"),
    "cut": ("--set", "--json", "--plot", "--more"),
    "work": ("--set", "--json", "--plot"),
    "compare": ("--set", "--with", "--without", "--json", "--film"),
    "size": (
        "--bore",
        "--depth",
        "--shoulder",
        "--reach",
        "--height",
        "--materials",
        "--cut",
        "--out",
        "--pick",
    ),
    "sweep": (
        "--vary",
        "--cases",
        "--out",
        "--paired",
        "--yes",
        "--resume",
        "--limit",
        "--plot",
        "--workers",
    ),
    "film": ("--out", "--mode", "--set", "--limiting"),
    "show": ("--out", "--set"),
    "report": ("--out", "--set", "--json"),
    "talk": ("--out", "--with", "--title", "--club", "--date"),
    "listen": ("--json", "--plot"),
    "pull": ("--json",),
    "fit": ("--log", "--at", "--out", "--json"),
    "materials": ("--json",),
}
VALUES: Final = (
    *("bar.overhang=40", "bar.overhang", "bar.overhang=", "=", "bar..x=1", "bar.steps.9.start=1", "x" * 300),
    *("bar.overhang=30:60:0", "bar.overhang=30:60:1e-9", "bar.overhang=60:30:5", "bar.material=steel,wood"),
    *("cut.depth=0.1", "grip.style=clamp", "grip.style=[1]", "solve.modes=1000000000", "title=a\x1b[2J"),
    *(
        "-1",
        "0",
        "1e400",
        "nan",
        "2.5",
        "1/0",
        "\u0663",
        "",
        "-",
        "--",
        "no such",
        "out.json",
        "out.csv",
        "out.toml",
    ),
    *("out.png", "out.gif", "bar.toml", "./bar.toml", "link.toml", "folder", "/dev/full", "/nowhere/x.json"),
    *("n" * 300 + ".json", "a\x00b", "$HOME", "~", "*", "\ud800", "margin=1", "spring=\u00b5", "20", "60"),
)
FILES: Final = (
    "bar.toml",
    "cut.toml",
    "post.toml",
    "broken.toml",
    "missing.toml",
    "folder",
    "link.toml",
    "noise.bin",
)


def make_folder(folder: Path) -> dict[Path, bytes]:
    """Fill a folder with set-ups and accidents; return what each file holds."""
    texts = {
        "bar.toml": setups.ROUND + COARSE,
        "cut.toml": setups.CUTTING + COARSE,
        "post.toml": setups.BARE_POST + COARSE,
        "broken.toml": setups.ROUND.replace("= 16", "= -16"),
    }
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8")
    (folder / "noise.bin").write_bytes(bytes(random.Random(1).randrange(256) for _ in range(500)))
    (folder / "folder").mkdir()
    (folder / "link.toml").symlink_to("bar.toml")
    return {path: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def command_lines(count: int, *, seed: int, texts: bool = False) -> Iterator[list[str]]:
    """Yield so many command lines; ``texts`` lets every other set-up be one by the grammar of the file."""
    draw = random.Random(seed)
    for number in range(count):
        command = draw.choice((*OPTIONS, "modes", "cut", "bogus"))
        words = [command]
        if command != "materials" and draw.random() < 0.9:
            words.append("fuzzed.toml" if texts and number % 2 else draw.choice(FILES))
        for _ in range(draw.choice((0, 1, 1, 2, 3))):
            words.append(draw.choice((*OPTIONS.get(command, ()), "--set", "--bogus", "--json")))
            if draw.random() < 0.85:
                words.append(draw.choice(VALUES))
        yield words


def fault_of(words: list[str], folder: Path, kept: dict[Path, bytes]) -> str | None:
    """Return what is wrong with how a command line ended; None where all is well."""
    here = Path.cwd()
    os.chdir(folder)
    try:
        code, _, err = told(*words)
    except BaseException:  # noqa: BLE001 - a command ends with an exit code, whatever happens
        return traceback.format_exc()[-1500:]
    finally:
        os.chdir(here)
    if code not in KNOWN_CODES:
        return f"exit code {code}"
    if "Traceback" in err or any(len(line) > MOST_LETTERS for line in err.splitlines()):
        return f"told {err[:1500]!r}"
    if code and not err.strip():
        return "no word on why"
    if not all(letter.isprintable() or letter == "\n" for letter in err):
        return f"control characters in {err[:500]!r}"
    lost = sorted(path.name for path, held in kept.items() if not path.exists() or path.read_bytes() != held)
    return f"lost {', '.join(lost)}" if lost else None


def told_line(words: list[str]) -> str:
    """Return a command line as one would type it, to try it again."""
    return shlex.join(words).encode("unicode_escape").decode()


def fuzzed_set_up(folder: Path, *, seed: int) -> None:
    """Write the set-up that the odd command lines name: one by the grammar of the file, loosely solved."""
    [text] = fuzzing.setup_texts(1, seed=seed)
    (folder / "fuzzed.toml").write_text(text + COARSE, encoding="utf-8", errors="surrogatepass")
