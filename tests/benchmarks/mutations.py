"""A mutation run: one-line faults planted one by one where a wrong number would hurt; prints who survives.

``python tests/benchmarks/mutations.py [word ...]`` plants the faults of ``mutations.toml`` whose path or kind
holds one of the words (all without words) in a copy of the tree, and runs the tests named beside each. A
fault that no test notices has survived; one whose line is gone is stale: rewrite it for the line that took
its place.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import tomllib
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
LIST = Path(__file__).with_name("mutations.toml")
PACKAGES = ("fem", "meshes", "cli")
LONGEST_S = 300


@dataclass(frozen=True)
class Fault:
    """One line as it is, as it would be wrong, and the tests that should tell."""

    kind: str
    path: str
    old: str
    new: str
    tests: tuple[str, ...]


def faults(words: list[str]) -> list[Fault]:
    """Return the faults whose path or kind holds one of the words."""
    listed = tomllib.loads(LIST.read_text(encoding="utf-8"))["fault"]
    every = [Fault(one["kind"], one["path"], one["old"], one["new"], tuple(one["tests"])) for one in listed]
    return [one for one in every if not words or any(word in f"{one.path} {one.kind}" for word in words)]


def copied(folder: Path) -> Path:
    """Return a copy of the tree, with a folder beside it in which Python finds it as ``stickout``."""
    left_out = shutil.ignore_patterns(".*", "build", "*.egg-info", "__pycache__")
    shutil.copytree(ROOT, folder / "tree", ignore=left_out)
    (folder / "path" / "stickout").mkdir(parents=True)
    for package in PACKAGES:
        (folder / "path" / "stickout" / package).symlink_to(folder / "tree" / package)
    return folder / "tree"


def noticed(tree: Path, tests: tuple[str, ...]) -> bool:
    """Return whether one of the tests fails in the tree as it stands."""
    path = os.pathsep.join([str(tree.parent / "path"), os.environ.get("PYTHONPATH", "")])
    run = subprocess.run(
        [sys.executable, "-B", "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", *tests],
        cwd=tree,
        env=os.environ | {"PYTHONPATH": path, "PYTHONDONTWRITEBYTECODE": "1"},
        capture_output=True,
        timeout=LONGEST_S,
        check=False,
    )
    if run.returncode not in (0, 1):
        raise RuntimeError(run.stdout.decode()[-2000:] + run.stderr.decode()[-2000:])
    return run.returncode == 1


def planted(tree: Path, fault: Fault) -> str:
    """Return what became of one fault: noticed, SURVIVED or STALE."""
    file = tree / fault.path
    text = file.read_text(encoding="utf-8") if file.exists() else ""
    if fault.old not in text:
        return "STALE"
    file.write_text(text.replace(fault.old, fault.new, 1), encoding="utf-8")
    try:
        return "noticed" if noticed(tree, fault.tests) else "SURVIVED"
    finally:
        file.write_text(text, encoding="utf-8")


def main() -> int:
    """Plant every fault that was asked for; the exit code is the number that were not noticed."""
    unnoticed = 0
    with tempfile.TemporaryDirectory() as folder:
        tree = copied(Path(folder))
        for fault in faults(sys.argv[1:]):
            became = planted(tree, fault)
            unnoticed += became != "noticed"
            print(f"{became:<9} {fault.kind:<22} {fault.path}: {fault.new.strip()[:60]}", flush=True)
    print(f"{unnoticed} not noticed")
    return unnoticed


if __name__ == "__main__":
    raise SystemExit(main())
