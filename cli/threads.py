"""One thread inside BLAS unless the user says otherwise: the blocks of a bar are too small to share out.

Measured: on small models a second thread makes the solve slower by half. Must be imported before NumPy.
"""

from __future__ import annotations

import os

for _name in ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OMP_NUM_THREADS"):
    os.environ.setdefault(_name, "1")
