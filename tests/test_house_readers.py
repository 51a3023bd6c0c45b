"""What the house tests rely on: the readers of docstrings and of imports; and names of dependencies."""

from __future__ import annotations

import house
import pytest
from house import assert_none


def test_the_search_for_circles() -> None:
    """It finds a circle of three and none in a tree (graphs written here)."""
    tree = {"a": {"b", "c"}, "b": {"c"}, "c": set()}
    assert house.circles(tree) == []
    assert house.circles(tree | {"c": {"a"}}) == [["a", "b", "c"]]


def test_no_dependency_ships_a_package_named_like_ours() -> None:
    """The folders fem, meshes and cli are import names: a dependency with one of them would hide ours."""
    found = house.project_distributions()
    assert {"numpy", "scipy", "meshio", "pytest"} <= found, "run the tests where the extra test is installed"
    names = {name: house.top_level_names(name) for name in sorted(found)}
    assert "numpy" in names["numpy"]
    assert_none(
        f"pyproject.toml:1 {distribution} ships a top-level {clash}"
        for distribution, shipped in names.items()
        for clash in shipped & set(house.PACKAGES)
    )


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("One line.", None),
        (
            "Sum.\n\nParameters\n----------\na\n    First.\nb, *c\n    Rest.\n\nReturns\n-------\nint\n    x",
            ["a", "b", "c"],
        ),
        ("Sum.\n\nParameters\n----------\na : int\n    First.", ["a"]),
    ],
)
def test_the_docstring_reader(text: str, expected: list[str] | None) -> None:
    """The reader this file relies on, on texts written here."""
    assert house.section_names(text, "Parameters") == expected
