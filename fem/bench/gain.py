"""What a recorder that sets its own gain does to a decay."""

from __future__ import annotations

import math


def gain_bias(recovery_db_s: float) -> float:
    """Return by how much a recorder's recovering gain slows every decay [1/s]: additive, alike for all modes.

    Source
    ------
    20 lg e^(alpha t) (computed here). [A.agc.bias]
    """
    return recovery_db_s * math.log(10.0) / 20.0
