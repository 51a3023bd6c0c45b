"""Reads the project's own source for the house tests: files, functions, docstrings, imports."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import metadata
from pathlib import Path

ROOT = Path(__file__).parents[2]
PACKAGES = ("meshes", "fem", "cli")
FunctionNode = ast.FunctionDef | ast.AsyncFunctionDef


@dataclass(frozen=True)
class Source:
    """One Python file: where it is, its lines and its syntax tree."""

    path: Path
    lines: tuple[str, ...]
    tree: ast.Module

    def at(self, node: ast.AST) -> str:
        """Return file and line of a node, as an editor takes it."""
        return f"{self.path.relative_to(ROOT)}:{getattr(node, 'lineno', 1)}"


@dataclass(frozen=True)
class Function:
    """One function: its file, its node, the class it belongs to, and whether it is public."""

    source: Source
    node: FunctionNode
    owner: ast.ClassDef | None
    public: bool

    @property
    def place(self) -> str:
        """File, line and name."""
        return f"{self.source.at(self.node)} {self.node.name}"

    @property
    def arguments(self) -> list[ast.arg]:
        """Every argument that a caller gives."""
        every = self.node.args
        given = [*every.posonlyargs, *every.args, every.vararg, *every.kwonlyargs, every.kwarg]
        named = [argument for argument in given if argument is not None]
        static = any(getattr(mark, "id", "") == "staticmethod" for mark in self.node.decorator_list)
        return named[1:] if self.owner is not None and not static else named


def assert_none(faults: Iterable[str]) -> None:
    """Fail with one fault a line."""
    lines = list(faults)
    assert not lines, "\n" + "\n".join(lines)


def read(path: Path) -> Source:
    """Return one file, parsed."""
    text = path.read_text(encoding="utf-8")
    return Source(path, tuple(text.splitlines()), ast.parse(text, filename=str(path)))


@cache
def package_sources() -> tuple[Source, ...]:
    """Return every module of the three packages."""
    return tuple(read(path) for name in PACKAGES for path in sorted((ROOT / name).rglob("*.py")))


@cache
def test_sources() -> tuple[Source, ...]:
    """Return every file of the tests, benchmarks among them."""
    return tuple(read(path) for path in sorted((ROOT / "tests").rglob("*.py")))


@cache
def functions() -> tuple[Function, ...]:
    """Return every function of the three packages."""
    return tuple(found for source in package_sources() for found in functions_of(source))


def functions_of(source: Source) -> Iterator[Function]:
    """Yield every function of a file; those inside another function are never public."""

    def visit(node: ast.AST, owner: ast.ClassDef | None, public: bool) -> Iterator[Function]:
        for child in ast.iter_child_nodes(node):
            open_name = public and not getattr(child, "name", "").startswith("_")
            if isinstance(child, FunctionNode):
                yield Function(source, child, owner, open_name)
                yield from visit(child, None, False)
            elif isinstance(child, ast.ClassDef):
                yield from visit(child, child, open_name)
            else:
                yield from visit(child, owner, public)

    yield from visit(source.tree, None, True)


def public_classes(source: Source) -> Iterator[ast.ClassDef]:
    """Yield the classes of a file whose names are public."""
    for node in source.tree.body:
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            yield node


def imported_modules(source: Source) -> Iterator[tuple[str, ast.AST]]:
    """Yield the dotted name of each module a file imports, wherever in the file, with its node."""
    for node in ast.walk(source.tree):
        if isinstance(node, ast.Import):
            yield from ((alias.name.removeprefix("stickout."), node) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            package = source.path.relative_to(ROOT).parts[:-1]
            near = package[: len(package) - node.level + 1] if node.level else ()
            named = (node.module or "").removeprefix("stickout.")
            yield ".".join((*near, *filter(None, [named]))), node


def module_name(source: Source) -> str:
    """Return the dotted name of a module below ``stickout``; a folder's ``__init__`` is the folder."""
    parts = source.path.relative_to(ROOT).with_suffix("").parts
    return ".".join(part for part in parts if part != "__init__")


def own_imports() -> Iterator[tuple[Source, str, ast.AST]]:
    """Yield each import of one of our modules: who, the module's dotted name below ``stickout``, the node.

    What is imported from a folder is told as the module in it where it is one.
    """
    known = {module_name(source) for source in package_sources()}
    for source in package_sources():
        for module, node in imported_modules(source):
            names = [alias.name for alias in node.names] if isinstance(node, ast.ImportFrom) else []
            inner = [f"{module}.{name}" for name in names if f"{module}.{name}" in known]
            for one in inner or [module]:
                if one.split(".")[0] in PACKAGES:
                    yield source, one, node


def circles(imports: Mapping[str, set[str]]) -> list[list[str]]:
    """Return the sets of names that reach each other, each sorted, by who can be reached from whom."""

    def reached(start: str) -> set[str]:
        found: set[str] = set()
        queue = [start]
        while queue:
            for name in imports[queue.pop()] - found:
                found.add(name)
                queue.append(name)
        return found

    reach = {name: reached(name) for name in imports}
    loops = {
        tuple(sorted(other for other in reach[name] if name in reach[other]))
        for name in imports
        if name in reach[name]
    }
    return [list(loop) for loop in sorted(loops)]


def code_length(node: FunctionNode) -> int:
    """Return the lines of a function from its def to its end, docstring not counted."""
    first = node.body[0]
    text = ast.get_docstring(node) is not None
    docstring = (first.end_lineno or first.lineno) - first.lineno + 1 if text else 0
    return (node.end_lineno or node.lineno) - node.lineno + 1 - docstring


def section_names(docstring: str, heading: str) -> list[str] | None:
    """Return the names a docstring lists under a heading, or None where it has no such heading."""
    match = re.search(
        rf"^{heading}\n-+\n(.*?)(?=^\S[^\n]*\n-{{3,}}$|\Z)", docstring, re.MULTILINE | re.DOTALL
    )
    if match is None:
        return None
    entries = [line for line in match[1].splitlines() if line and not line[0].isspace()]
    return [name.strip(" *") for entry in entries for name in entry.split(":")[0].split(",")]


def project_distributions() -> set[str]:
    """Return the distributions the project pulls in with every extra, as far as they are installed."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = list(project["dependencies"])
    for extra in project.get("optional-dependencies", {}).values():
        wanted += extra
    found: set[str] = set()
    missing: set[str] = set()
    queue = [distribution_name(requirement) for requirement in wanted]
    while queue:
        name = queue.pop()
        if name in found | missing:
            continue
        try:
            requirements = metadata.requires(name) or []
        except metadata.PackageNotFoundError:
            missing.add(name)
            continue
        found.add(name)
        queue += [distribution_name(text) for text in requirements if "extra ==" not in text]
    return found


def distribution_name(requirement: str) -> str:
    """Return the normalised name at the head of a requirement."""
    match = re.match(r"[A-Za-z0-9._-]+", requirement)
    assert match is not None, f"no name in requirement {requirement!r}"
    return re.sub(r"[-_.]+", "-", match[0]).lower()


def top_level_names(distribution: str) -> set[str]:
    """Return the names of the modules and packages a distribution puts at the top level."""
    files = metadata.files(distribution) or []
    return {Path(file.parts[0]).name.split(".")[0] for file in files if file.suffix in {".py", ".so", ".pyd"}}
