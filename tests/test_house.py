"""The house rules of the source itself: direction of imports, sizes, annotations, errors.

Each rule is a limit the developers' guide states. Medians are goals; they are printed (run with -s).
"""

from __future__ import annotations

import ast
import statistics
import tomllib

import house
from house import assert_none

LONGEST_MODULE = 300
LONGEST_FUNCTION = 50
MOST_PARAMETERS = 6
MOST_POSITIONAL = 2
# What each package may import of the other two, and what nothing in it may import at all.
MAY_IMPORT = {"meshes": set(), "fem": {"meshes"}, "cli": {"fem", "meshes"}}
MUST_NOT_IMPORT = {
    "meshes": {"pyvista", "vtk", "matplotlib", "rich", "cyclopts"},
    "fem": {"pyvista", "vtk", "matplotlib", "rich", "cyclopts"},
    "cli": set(),
}
# The folders of the mechanics from the top down: what stands lower may not import what stands higher, and
# folders on one line do not know each other. Plain files beside the folders are the ground floor.
FLOORS = (
    {"records"},
    {"absorber"},
    {"sweep"},
    {"bench"},
    {"compare", "size", "beliefs", "work"},
    {"cut"},
    {"study"},
    {"beam"},
    {"chatter"},
    {"revolved"},
    {"solid", "force"},
    {"setup"},
    {"errors", "units", "nearest", "halving", "later", "lapack", "bell", "compiled"},
)
ERROR_PARTS = {"key", "given", "allowed", "mend"}


def test_there_is_source_to_look_at() -> None:
    """A wrong folder would make every rule below pass on nothing."""
    names = {str(source.path.relative_to(house.ROOT)) for source in house.package_sources()}
    assert {"fem/beam/spans.py", "fem/errors.py", "meshes/errors.py"} <= names
    assert len(house.functions()) > 20


def test_imports_run_one_way() -> None:
    """Command line on mechanics, mechanics on meshes; never back, and no screen in the mechanics."""
    faults = []
    for source in house.package_sources():
        package = source.path.relative_to(house.ROOT).parts[0]
        for module, node in house.imported_modules(source):
            top = module.split(".")[0]
            foreign = top in house.PACKAGES and top != package and top not in MAY_IMPORT[package]
            if foreign or top in MUST_NOT_IMPORT[package]:
                faults.append(f"{source.at(node)} {package} must not import {module}")
    assert_none(faults)


def test_the_folders_of_the_mechanics_keep_their_order() -> None:
    """Inside fem an import goes down, wherever in a file it stands; names for type hints count as well."""
    floor = {name: number for number, names in enumerate(FLOORS) for name in names}
    faults = []
    for source, module, node in house.own_imports():
        here = source.path.relative_to(house.ROOT).with_suffix("").parts
        there = module.split(".")
        if here[0] != "fem" or there[0] != "fem" or len(here) < 2 or "__init__" in here[:2]:
            continue
        unknown = {here[1], there[1]} - floor.keys()
        if unknown:
            faults.append(f"{source.at(node)} {sorted(unknown)} has no place in the order of folders")
        elif here[1] != there[1] and floor[here[1]] >= floor[there[1]] and floor[there[1]] < len(FLOORS) - 1:
            faults.append(f"{source.at(node)} fem/{here[1]} must not import {module}")
    assert_none(faults)


def test_no_circle_of_modules() -> None:
    """No module of the mechanics or the meshes imports itself by way of others, early, late or for a hint."""
    known = {house.module_name(source): source for source in house.package_sources()}
    imports: dict[str, set[str]] = {name: set() for name in known}
    for source, module, _ in house.own_imports():
        if module in known and module.split(".")[0] != "cli":
            imports[house.module_name(source)].add(module)
    assert_none(" -> ".join(circle) for circle in house.circles(imports))


def test_every_package_is_in_the_wheel() -> None:
    """A folder of modules that pyproject.toml does not name would be missing where the tool is installed."""
    project = tomllib.loads((house.ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    named = set(project["tool"]["setuptools"]["packages"])
    there = {
        ".".join(("stickout", *s.path.relative_to(house.ROOT).parts[:-1])) for s in house.package_sources()
    }
    assert there == named


def test_one_door_for_mesh_files() -> None:
    """Only meshes/files.py imports meshio."""
    assert_none(
        f"{source.at(node)} imports {module}; only meshes/files.py may"
        for source in house.package_sources()
        for module, node in house.imported_modules(source)
        if module.split(".")[0] == "meshio" and source.path != house.ROOT / "meshes" / "files.py"
    )


def test_module_sizes() -> None:
    """No module, and no test file, above 300 lines."""
    lengths = {source: len(source.lines) for source in (*house.package_sources(), *house.test_sources())}
    inside = [length for source, length in lengths.items() if source in house.package_sources()]
    print(f"\nmodules: {len(inside)}, median {statistics.median(inside):.0f} lines, goal 150")  # noqa: T201 - a goal to see, not to fail on
    assert_none(
        f"{source.path.relative_to(house.ROOT)}:1 has {length} lines, at most {LONGEST_MODULE}"
        for source, length in lengths.items()
        if length > LONGEST_MODULE
    )


def test_function_sizes() -> None:
    """No function above 50 lines, its docstring not counted."""
    lengths = {function: house.code_length(function.node) for function in house.functions()}
    median = statistics.median(lengths.values())
    print(f"\nfunctions: {len(lengths)}, median {median:.0f} lines with the def line, goal 8")  # noqa: T201 - a goal to see, not to fail on
    assert_none(
        f"{function.place} has {length} lines, at most {LONGEST_FUNCTION}"
        for function, length in lengths.items()
        if length > LONGEST_FUNCTION
    )


def test_parameters() -> None:
    """At most six parameters; in a public function all after the second by keyword."""
    faults = []
    for function in house.functions():
        if len(function.arguments) > MOST_PARAMETERS:
            faults.append(f"{function.place} takes {len(function.arguments)}, at most {MOST_PARAMETERS}")
        keyword = len(function.node.args.kwonlyargs)
        loose = len(function.arguments) - keyword - bool(function.node.args.kwarg)
        if function.public and not function.node.args.vararg and loose > MOST_POSITIONAL:
            faults.append(f"{function.place} takes {loose} by position, at most {MOST_POSITIONAL}")
    assert_none(faults)


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


def test_annotations_are_complete() -> None:
    """Every parameter and every return has a type, private functions too."""
    faults = []
    for function in house.functions():
        bare = [argument.arg for argument in function.arguments if argument.annotation is None]
        if function.node.returns is None:
            bare.append("the return")
        faults += [f"{function.place}: no type on {name}" for name in bare]
    assert_none(faults)


def test_every_input_error_has_its_four_parts() -> None:
    """What came, what is allowed, how to mend it, and which value: by name, and none left empty."""
    faults = []
    for source in house.package_sources():
        for node in ast.walk(source.tree):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "InputError":
                absent = ERROR_PARTS - {keyword.arg for keyword in node.keywords}
                empty = {
                    str(keyword.arg)
                    for keyword in node.keywords
                    if keyword.arg in ERROR_PARTS - {"given"}
                    and isinstance(keyword.value, ast.Constant)
                    and not keyword.value.value
                }
                whole = any(keyword.arg is None for keyword in node.keywords)  # **parts
                if empty or (absent and not whole):
                    faults.append(f"{source.at(node)} InputError lacks {sorted(absent | empty)}")
    assert_none(faults)


def test_grips_answer_for_themselves() -> None:
    """Who asks which grip it is, by class, by pattern or by name, stands in one module: the range checks."""
    asks = "fem/setup/check_grip.py"
    grips = {"RigidGrip", "HeldGrip", "BedGrip", "SlotGrip", "SleeveGrip"}
    faults = []
    for source in house.package_sources():
        if source.path == house.ROOT / asks:
            continue
        for node in ast.walk(source.tree):
            pattern = isinstance(node, ast.MatchClass) and getattr(node.cls, "id", "") in grips
            asked = isinstance(node, ast.Call) and getattr(node.func, "id", "") == "isinstance"
            named = asked and grips & {getattr(one, "id", "") for one in ast.walk(node)}
            if pattern or named or is_style_compared(node):
                faults.append(f"{source.at(node)} asks which grip it is; ask the grip")
    assert_none(faults)


def is_style_compared(node: ast.AST) -> bool:
    """Say whether a node compares the style of a set-up's grip with a name."""
    if not isinstance(node, ast.Compare) or not isinstance(node.left, ast.Attribute):
        return False
    owner = getattr(node.left.value, "attr", getattr(node.left.value, "id", ""))
    return node.left.attr == "style" and owner == "grip"


def test_no_blind_except() -> None:
    """Nothing is caught without a name, and nothing that is caught is dropped unseen."""
    assert_none(
        f"{source.at(node)} catches everything"
        for source in house.package_sources()
        for node in ast.walk(source.tree)
        if isinstance(node, ast.ExceptHandler)
        and (node.type is None or getattr(node.type, "id", "") in {"Exception", "BaseException"})
    )


def test_every_test_checks_something() -> None:
    """An assert, a helper named assert_*, or an expected error or warning, in each test."""
    assert_none(
        f"{function.place} checks nothing"
        for source in house.test_sources()
        for function in house.functions_of(source)
        if function.node.name.startswith("test_") and not any(map(is_check, ast.walk(function.node)))
        if source.path.name.startswith("test_")
    )


def is_check(node: ast.AST) -> bool:
    """Say whether a node can fail a test by itself."""
    if isinstance(node, ast.Assert):
        return True
    if not isinstance(node, ast.Call):
        return False
    name = getattr(node.func, "id", getattr(node.func, "attr", ""))
    return name in {"raises", "warns"} or name.startswith("assert_")
