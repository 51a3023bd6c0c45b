"""Compiled modules of SciPy, without the packages round them: a command ends sooner so.

``scipy.linalg`` and ``scipy.special`` draw in NumPy's test helpers and its Fortran compiler, which takes
longer to import than a bar to solve.
"""

from __future__ import annotations

import importlib
from collections.abc import Sequence
from importlib.machinery import EXTENSION_SUFFIXES
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType

import scipy


def compiled(name: str, *, needs: Sequence[str], otherwise: str) -> ModuleType:
    """Return a compiled module by itself, or the public one where it has moved or lacks what is needed.

    Parameters
    ----------
    name
        Name of the compiled module, such as ``scipy.linalg._flapack``.
    needs
        Functions that it must hold.
    otherwise
        Name of the public module that offers them.
    """
    place = Path(scipy.__file__).parent.joinpath(*name.split(".")[1:])
    for suffix in EXTENSION_SUFFIXES:
        file = place.with_name(place.name + suffix)
        spec = spec_from_file_location(name, file) if file.is_file() else None
        if spec is not None and spec.loader is not None:
            module = module_from_spec(spec)
            spec.loader.exec_module(module)
            if all(hasattr(module, one) for one in needs):
                return module
    return importlib.import_module(otherwise)
