"""One thread inside BLAS unless the user says otherwise: the blocks of a bar are too small to share out.

Measured: on small models a second thread makes the solve slower by half, and four threads on two busy cores
make it take four times as long. ``stickout.fem`` calls this when it is imported, so a program has what the
commands have. Who wants more threads sets one of ``VARIABLES`` first.
"""

from __future__ import annotations

import os
import sys
from typing import Final

VARIABLES: Final = ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OMP_NUM_THREADS")


def one_thread() -> None:
    """Let BLAS run on one thread from here on; nothing is done where the user has chosen.

    Libraries read the variables when they are loaded, so those of a NumPy that is loaded already are told
    through threadpoolctl; SciPy brings a library of its own, which is as a rule loaded later.
    """
    if any(name in os.environ for name in VARIABLES):
        return
    for name in VARIABLES:
        os.environ[name] = "1"
    if "numpy" in sys.modules:
        from threadpoolctl import threadpool_limits  # here: a command never needs it, and it costs a search

        threadpool_limits(limits=1, user_api="blas")
