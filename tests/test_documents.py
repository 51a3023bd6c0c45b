"""The written chapters against the tree: every file they send a reader to is there."""

from __future__ import annotations

import re

import house
import pytest

CHAPTERS = ("README.md", "DEVELOPERS.md", "fem/THEORY.md")


@pytest.mark.parametrize("chapter", CHAPTERS)
def test_every_file_a_chapter_names_is_there(chapter: str) -> None:
    """A module that was moved leaves no dead sign."""
    text = (house.ROOT / chapter).read_text(encoding="utf-8")
    named = set(
        re.findall(r"`((?:fem|meshes|cli|tests|examples)/[\w/.]*?\.(?:py|js|md|json|toml|css|html))`", text)
    )
    assert sorted(name for name in named if not (house.ROOT / name).exists()) == []
    assert named or chapter == "README.md"


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
