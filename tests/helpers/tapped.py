"""A bar on a bed with its cut, and what the live page asks with a recording or a pull of it."""

from __future__ import annotations

from typing import Any

from setups import CUT, ROUND

BED_BAR = ROUND + CUT.replace("120, 200, 315", "315") + "[solve]\nmodes = 2\naccuracy = 0.01\n"
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
