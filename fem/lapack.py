"""LAPACK and BLAS as SciPy brings them, without the rest of ``scipy.linalg``."""

from __future__ import annotations

from stickout.fem.compiled import compiled

_lapack = compiled(
    "scipy.linalg._flapack", needs=("dpotrf", "dsyevd", "dsygvd"), otherwise="scipy.linalg.lapack"
)
_blas = compiled("scipy.linalg._fblas", needs=("dgemm", "dsyrk", "dtrsm"), otherwise="scipy.linalg.blas")
dpotrf, dsyevd, dsygvd = _lapack.dpotrf, _lapack.dsyevd, _lapack.dsygvd
dgemm, dsyrk, dtrsm = _blas.dgemm, _blas.dsyrk, _blas.dtrsm
