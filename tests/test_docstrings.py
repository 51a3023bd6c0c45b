"""The house rules for docstrings: on everything public, and listing what is there."""

from __future__ import annotations

import ast

import house
import pytest
from house import assert_none


def test_docstrings_on_everything_public() -> None:
    """Modules, classes, functions and methods."""
    faults = [f"{s.at(s.tree)} module" for s in house.package_sources() if needs_docstring(s.tree)]
    for source in house.package_sources():
        faults += [f"{source.at(c)} {c.name}" for c in house.public_classes(source) if needs_docstring(c)]
    faults += [f.place for f in house.functions() if f.public and needs_docstring(f.node)]
    assert_none(f"{fault} has no docstring" for fault in faults)


def needs_docstring(node: ast.Module | ast.ClassDef | house.FunctionNode) -> bool:
    """Say whether a node holds code and no docstring."""
    return bool(node.body) and not ast.get_docstring(node)


def test_docstrings_list_the_parameters_that_exist() -> None:
    """A Parameters or Attributes section names every parameter or field, in order, and no other."""
    faults = []
    for function in house.functions():
        listed = house.section_names(ast.get_docstring(function.node) or "", "Parameters")
        takes = [argument.arg for argument in function.arguments]
        if listed is not None and listed != takes:
            faults.append(f"{function.place} takes {takes}, its docstring lists {listed}")
    for source in house.package_sources():
        for owner in house.public_classes(source):
            text = ast.get_docstring(owner) or ""
            listed = house.section_names(text, "Attributes") or house.section_names(text, "Parameters")
            if listed is not None and listed not in (fields(owner), start_arguments(owner)):
                faults.append(f"{source.at(owner)} {owner.name} has {fields(owner)}, lists {listed}")
    assert_none(faults)


def fields(owner: ast.ClassDef) -> list[str]:
    """Return the annotated fields of a class body."""
    return [
        node.target.id
        for node in owner.body
        if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name)
    ]


def start_arguments(owner: ast.ClassDef) -> list[str]:
    """Return the arguments of a class's own __init__, or none."""
    for node in owner.body:
        if isinstance(node, ast.FunctionDef) and node.name == "__init__":
            return [a.arg for a in (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs)][1:]
    return []


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
