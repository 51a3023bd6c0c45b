"""The written chapters against the tree: every file they send a reader to is there."""

from __future__ import annotations

import re

import document_answers
import house
import pytest
from answers import told
from document_answers import Block

from stickout.cli.__main__ import COMMANDS
from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.keys import KEYS

CHAPTERS = ("README.md", "DEVELOPERS.md", "fem/THEORY.md", "examples/GUIDE.md")
MOST_README_LINES = 160  # a front door, not a manual


@pytest.mark.parametrize("chapter", CHAPTERS)
def test_every_file_a_chapter_names_is_there(chapter: str) -> None:
    """A module that was moved leaves no dead sign."""
    text = (house.ROOT / chapter).read_text(encoding="utf-8")
    named = set(
        re.findall(r"`((?:fem|meshes|cli|tests|examples)/[\w/.]*?\.(?:py|js|md|json|toml|css|html))`", text)
    )
    assert sorted(name for name in named if not (house.ROOT / name).exists()) == []
    assert named or chapter == "README.md"


@pytest.mark.parametrize("block", document_answers.blocks(), ids=lambda one: f"{one.chapter}: {one.command}")
def test_a_printed_answer_is_what_the_command_prints(block: Block) -> None:
    """Word for word. `python tests/helpers/document_answers.py` writes them anew."""
    assert block.text == document_answers.printed(block.command, block.lines, told=told)


def test_both_chapters_print_answers() -> None:
    """The front door shows one short answer, the guide one for every first job."""
    found = {(one.chapter, one.command.split()[0]) for one in document_answers.blocks()}
    assert ("README.md", "cut") in found
    assert {word for chapter, word in found if chapter != "README.md"} >= {"cut", "modes", "compare", "force"}


def test_the_readme_is_a_front_door() -> None:
    """Short; both marked commands; every command of the program in its table."""
    text = (house.ROOT / "README.md").read_text(encoding="utf-8")
    assert len(text.splitlines()) <= MOST_README_LINES
    for mark in ("<!-- first run -->", "<!-- test -->"):
        block = text.partition(mark)[2].lstrip()
        assert block.startswith("```sh\npython3 -m venv ")
    assert [name for name, _, _ in COMMANDS if f"`stickout {name}" not in text] == []


@pytest.mark.parametrize("chapter", ["README.md", "examples/GUIDE.md"])
def test_every_set_up_that_is_shown_whole_is_read(chapter: str) -> None:
    """A text that begins with its units is a whole set-up and has no mistake."""
    text = (house.ROOT / chapter).read_text(encoding="utf-8")
    shown = re.findall(r"```toml\n(units.*?)```", text, re.DOTALL)
    assert shown
    for one in shown:
        assert parse_setup(one).setup.bar.overhang_mm > 0


def test_the_guide_names_every_key() -> None:
    """The table of keys is that of the reader."""
    text = (house.ROOT / "examples/GUIDE.md").read_text(encoding="utf-8")
    hidden = {"measured", "post"}  # written by a command; read, and not counted yet
    wanted = {(section, key) for section, keys in KEYS.items() if section not in hidden for key in keys}
    named = [(section, key) for section, key in wanted if f"{section}.{key}" not in KEYS]
    assert sorted(f"{section}.{key}" for section, key in named if f"`{key}" not in text) == []


def test_pictures_and_chapters_that_are_linked_are_there() -> None:
    """Links of README and guide, relative to where each stands."""
    for chapter in ("README.md", "examples/GUIDE.md"):
        path = house.ROOT / chapter
        linked = re.findall(r"\]\(([^)#]+)\)", path.read_text(encoding="utf-8"))
        assert [one for one in linked if not (path.parent / one).exists()] == []


def test_each_section_of_the_theory_names_source_module_and_test() -> None:
    """A formula that nobody holds is not in the chapter; what lies outside has no module."""
    text = (house.ROOT / "fem/THEORY.md").read_text(encoding="utf-8")
    sections = re.findall(r"^## \d+\. .*?(?=^## )", text, re.MULTILINE | re.DOTALL)
    assert len(sections) >= 9
    for section in sections:
        title = section.splitlines()[0]
        for word in ("odule*:", "est*:"):
            assert word in section, (title, word)
        assert re.search(r"ource\*|recalled|opened|computed here", section), title


def test_no_docstring_points_to_a_page_that_is_not_here() -> None:
    """Sources are books, papers, standards, computed here, or common practice."""
    missing = ("physics page", "verdict page", "design page", "users' notes", "physics notes", "dossier")
    missing += tuple(f"{name}.md" for name in ("physics", "design", "verdict", "users", "answers"))
    assert [
        f"{source.path.relative_to(house.ROOT)}: {word}"
        for source in house.package_sources()
        for word in missing
        if any(word in line for line in source.lines)
    ] == []
