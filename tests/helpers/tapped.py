"""A bar on a bed with its cut, and what the live page asks with a recording or a pull of it."""

from __future__ import annotations

from typing import Any

from setups import ROUND

BED_BAR = (
    ROUND
    + """
[cut]
operation = "boring"
work_material = "medium carbon steel"
depth = 0.2
feed = 0.05
nose_radius = 0.4
edge_angle_deg = 95
work_diameter = 24
speeds_rpm = [315]
[solve]
modes = 2
accuracy = 0.01
"""
)
PULL: dict[str, Any] = {
    "base": "post",
    "load_at": 80,
    "dial_at": 80,
    "loads_n": [0, 20, 40, 60, 80, 60, 40, 20, 0],
    "readings_um": [0, 9, 18, 27, 36, 27, 18, 9, 0],
}


def asked(**more: Any) -> dict[str, Any]:
    """Return what the page asks with a recording."""
    return {"source": "your set-up", "changes": {}, "tab": "a", "name": "taps.wav", "pulls": []} | more
