"""The wheel that is built from this tree: what it adds to a user's environment."""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import house
import pytest

LEFT_OUT = shutil.ignore_patterns(".*", "build", "*.egg-info", "__pycache__", "tests", "examples")


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> frozenset[str]:
    """Return the names of the files in the wheel, built from a copy so that the tree stays as it is."""
    if importlib.util.find_spec("setuptools") is None or importlib.util.find_spec("pip") is None:
        assert not os.environ.get("CI"), "CI must have pip and setuptools, so that the wheel is looked at"
        pytest.skip("needs pip and setuptools in this environment")
    copy, out = tmp_path_factory.mktemp("tree") / "copy", tmp_path_factory.mktemp("wheel")
    shutil.copytree(house.ROOT, copy, ignore=LEFT_OUT)
    build = [sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "--no-build-isolation", "-w", out, copy]
    done = subprocess.run(build, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    (built,) = out.glob("*.whl")
    with zipfile.ZipFile(built) as archive:
        return frozenset(archive.namelist())


def test_one_import_name_is_added(wheel: frozenset[str]) -> None:
    """Plain names such as fem or cli would clash with another project's."""
    top = {name.split("/")[0] for name in wheel}
    assert {name for name in top if not name.endswith(".dist-info")} == {"stickout"}


def test_every_file_of_the_packages_is_in_the_wheel(wheel: frozenset[str]) -> None:
    """Modules, styles, scripts, pages and the marks that types are given: whatever lies in the folders."""
    kinds = {".py", ".css", ".js", ".html", ".typed"}
    there = {
        "/".join(("stickout", *path.relative_to(house.ROOT).parts))
        for package in house.PACKAGES
        for path in (house.ROOT / package).rglob("*")
        if path.suffix in kinds
    }
    assert {Path(name).suffix for name in there} == kinds
    assert there <= wheel, sorted(there - wheel)
