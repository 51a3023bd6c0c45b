"""LAPACK and BLAS as SciPy brings them, without the rest of ``scipy.linalg``: a command ends sooner so.

That package draws in NumPy's test helpers and its Fortran compiler, which take longer to import than a bar to
solve. Its compiled modules are loaded from its folder; where they are not found there, the usual way.
"""

from __future__ import annotations

import importlib
from importlib.machinery import EXTENSION_SUFFIXES
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType

import scipy


def compiled(name: str, *, otherwise: str) -> ModuleType:
    """Return a compiled module of ``scipy.linalg`` by itself, or the public one where it has moved.

    Parameters
    ----------
    name
        Name of the compiled module.
    otherwise
        Name of the public module that offers its functions.
    """
    for suffix in EXTENSION_SUFFIXES:
        place = Path(scipy.__file__).parent / "linalg" / f"{name}{suffix}"
        spec = spec_from_file_location(f"scipy.linalg.{name}", place) if place.is_file() else None
        if spec is not None and spec.loader is not None:
            module = module_from_spec(spec)
            spec.loader.exec_module(module)
            return module
    return importlib.import_module(f"scipy.linalg.{otherwise}")


_lapack = compiled("_flapack", otherwise="lapack")
_blas = compiled("_fblas", otherwise="blas")
dpotrf, dsyevd, dsygvd = _lapack.dpotrf, _lapack.dsyevd, _lapack.dsygvd
dgemm, dsyrk, dtrsm = _blas.dgemm, _blas.dsyrk, _blas.dtrsm
