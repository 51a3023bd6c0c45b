"""The names that ``stickout.fem`` exports: each with an example that runs, each loaded when asked for."""

from __future__ import annotations

import doctest
import os
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

import stickout.fem
from stickout.fem.threads import VARIABLES

# A bar alone needs no solver; the solver alone needs no cut.
LIGHT = {
    "Bar": "scipy",
    "Setup": "scipy",
    "material": "scipy",
    "read_setup": "scipy",
    "run_study": "stickout.fem.cut",
}
# What a loaded NumPy and a loaded SciPy compute with, asked of the libraries themselves.
THREADS = "import scipy.linalg; print([l['num_threads'] for l in threadpoolctl.threadpool_info()])"


def run(program: str, **chosen: str) -> str:
    """Return what a program prints in a process of its own, with no number of threads but ``chosen``."""
    environment = {name: value for name, value in os.environ.items() if name not in VARIABLES} | chosen
    done = subprocess.run(
        [sys.executable, "-c", program], env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


@pytest.mark.parametrize("name", sorted(stickout.fem.EXPORTS))
def test_every_exported_name_has_an_example_that_runs(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each docstring says how the name is used, and says it truly."""
    monkeypatch.chdir(tmp_path)
    found = getattr(stickout.fem, name)
    examples = doctest.DocTestFinder(recurse=False).find(found, name)
    assert sum(len(one.examples) for one in examples) > 0
    told: list[str] = []
    for example in examples:
        result = doctest.DocTestRunner().run(example, out=told.append)
        assert result.failed == 0, "".join(told)


def test_the_exported_names_are_the_functions_themselves() -> None:
    """No second copy, and an interactive session is told of them."""
    for name, module in stickout.fem.EXPORTS.items():
        assert getattr(stickout.fem, name) is getattr(import_module(module), name)
    assert set(stickout.fem.EXPORTS) <= set(dir(stickout.fem))
    assert len(stickout.fem.EXPORTS) >= 12


def test_a_name_that_does_not_exist_is_told_as_python_does() -> None:
    """Lazy loading must not turn a slip into something else."""
    with pytest.raises(AttributeError, match="no attribute 'run_studdy'"):
        _ = stickout.fem.run_studdy


@pytest.mark.parametrize(("name", "heavy"), sorted(LIGHT.items()))
def test_one_name_does_not_load_all(name: str, heavy: str) -> None:
    """What a name does not need stays unloaded."""
    assert run(f"import sys; from stickout.fem import {name}; print({heavy!r} in sys.modules)") == "False"


@pytest.mark.skipif((os.cpu_count() or 1) < 2, reason="one processor has one thread anyway")
@pytest.mark.parametrize(
    "before", ["", "import numpy, threadpoolctl; ", "import scipy.linalg, threadpoolctl; "]
)
def test_programs_get_one_thread_whatever_they_import_first(before: str) -> None:
    """The libraries themselves say how many threads they use; without stickout it is more than one."""
    threads = run(f"{before}import stickout.fem, threadpoolctl; {THREADS}")
    assert set(threads.strip("[]").split(", ")) == {"1"}
    assert "2" in run(f"import numpy, threadpoolctl; {THREADS}", OMP_NUM_THREADS="2")


@pytest.mark.skipif((os.cpu_count() or 1) < 2, reason="one processor has one thread anyway")
@pytest.mark.parametrize("before", ["", "import numpy; "])
@pytest.mark.parametrize("name", ["OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"])
def test_what_the_user_chose_stays(before: str, name: str) -> None:
    """A user who asks for two threads gets two, by either name, in either order."""
    threads = run(f"{before}import stickout.fem, threadpoolctl; {THREADS}", **{name: "2"})
    assert set(threads.strip("[]").split(", ")) == {"2"}
