"""The answers that README.md and examples/GUIDE.md print: found by their marks, and written anew by hand.

    python tests/helpers/document_answers.py

A mark stands over a fenced block: ``<!-- answer: cut examples/bar.toml -->``, or with ``, 8 lines`` for the
beginning of a long answer. The command line is run, and the block is what it prints.
"""

from __future__ import annotations

import os
import re
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[2]
CHAPTERS = ("README.md", "examples/GUIDE.md")
_BLOCK = re.compile(r"(<!-- answer(?:, (\d+) lines)?: (.+?) -->\n```\n)(.*?)(```)", re.DOTALL)


class Block(NamedTuple):
    """A printed answer: its chapter, its command line, how many lines of it, and what stands there."""

    chapter: str
    command: str
    lines: int | None
    text: str


def blocks() -> list[Block]:
    """Return every marked block of both chapters."""
    return [
        Block(chapter, one[3], int(one[2]) if one[2] else None, one[4])
        for chapter in CHAPTERS
        for one in _BLOCK.finditer((ROOT / chapter).read_text(encoding="utf-8"))
    ]


def printed(command: str, lines: int | None, *, told: Callable[..., tuple[int, str, str]]) -> str:
    """Return what a command line prints, or its first lines, run in an empty folder beside examples/."""
    with _beside_examples():
        code, out, err = told(*command.split())
    assert code == 0, err
    text = "".join(out.splitlines(keepends=True)[:lines])
    return text.rstrip("\n") + "\n"


@contextmanager
def _beside_examples() -> Iterator[None]:
    """Stand in a folder that is thrown away, with examples/ in it: no command writes into the tree."""
    here = Path.cwd()
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "examples").symlink_to(ROOT / "examples", target_is_directory=True)
        os.chdir(folder)
        try:
            yield
        finally:
            os.chdir(here)


def _write_anew() -> None:
    """Put what the commands print today into the chapters."""
    from answers import told

    for chapter in CHAPTERS:
        path = ROOT / chapter
        text = path.read_text(encoding="utf-8")

        def fresh(found: re.Match[str]) -> str:
            lines = int(found[2]) if found[2] else None
            return found[1] + printed(found[3], lines, told=told) + found[5]

        path.write_text(_BLOCK.sub(fresh, text), encoding="utf-8")


if __name__ == "__main__":
    sys.exit(_write_anew())
