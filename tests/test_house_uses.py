"""No public function or class lives for the tests alone: something that runs, or a guide, must name it."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator

import house
from house import assert_none

from stickout.fem import EXPORTS

GUIDES = ("README.md", "DEVELOPERS.md", "examples/GUIDE.md")
# What others call by a name of their own: IPython's %load_ext, and a child process (child_command).
CALLED_BY_OTHERS = {"load_ipython_extension", "main"}
_DOTTED = re.compile(r"stickout\.([a-z_.]+)[.:](\w+)")


def test_public_names_are_used_outside_the_tests() -> None:
    """Imported by another module or an example, used where it stands, exported, or named by a guide."""
    used = set(names_used())
    assert_none(
        f"{source.at(node)} {node.name} is used by nothing but tests; use it, document it or remove it"
        for source in house.package_sources()
        for node in source.tree.body
        if isinstance(node, house.FunctionNode | ast.ClassDef)
        if not node.name.startswith("_") and node.name not in CALLED_BY_OTHERS | EXPORTS.keys()
        if (house.module_name(source), node.name) not in used
    )


def test_a_name_that_only_its_own_module_defines_is_found() -> None:
    """The rule can fail: a definition alone is no use, and neither is another name of the module."""
    used = set(names_used())
    assert ("fem.study.study", "run_study") in used
    assert ("cli.commands.cut", "cut") in used  # named by a text: it is loaded when the command is called
    assert ("fem.study.study", "no_such_function") not in used


def names_used() -> Iterator[tuple[str, str]]:
    """Yield module below ``stickout`` and name of all that sources, examples and guides use."""
    examples = [house.read(path) for path in sorted((house.ROOT / "examples").rglob("*.py"))]
    for source in (*house.package_sources(), *examples):
        here = house.module_name(source)
        whole = {}
        told = {id(node.value) for node in ast.walk(source.tree) if isinstance(node, ast.Expr)}  # docstrings
        for node in ast.walk(source.tree):
            if isinstance(node, ast.ImportFrom):
                module = (node.module or "").removeprefix("stickout.")
                yield from ((module, alias.name) for alias in node.names)
                whole |= {alias.asname or alias.name: f"{module}.{alias.name}" for alias in node.names}
            elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
                yield here, node.id
            elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in told:
                yield from _DOTTED.findall(node.value)
        for node in ast.walk(source.tree):
            if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
                yield whole.get(node.value.id, ""), node.attr
    for guide in GUIDES:
        yield from _DOTTED.findall((house.ROOT / guide).read_text(encoding="utf-8"))
