"""What people call a grip, and which style it is read as."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from stickout.fem.nearest import folded
from stickout.fem.setup.grips import STYLES

# Style, what the name says beside it, and the names (common practice, no source).
_CALLED: Final[tuple[tuple[str, Mapping[str, Any], tuple[str, ...]], ...]] = (
    (
        "slot",
        {},
        (
            *("four-way post", "4-way post", "four-way toolpost", "four-way tool post", "tool post"),
            *("toolpost", "turret post", "quick-change holder", "quick-change post", "quick-change"),
            *("quick-change tool post", "quick-change toolpost", "QCTP", "screws", "screws on a flat"),
        ),
    ),
    ("slot", {"screws": 2}, ("two screws on a flat", "two screws", "2 screws")),
    ("slot", {"screws": 1}, ("clamp", "one screw", "one screw on a flat", "lantern post", "rocker post")),
    ("slot", {"screws": 3}, ("three screws on a flat", "three screws", "3 screws")),
    ("slot", {"screws": 4}, ("four screws on a flat", "four screws", "4 screws")),
    ("sleeve", {"split": True}, ("split sleeve", "split block", "split holder", "split bush")),
    ("sleeve", {"split": False}, ("bored block", "bored holder", "boring bar holder", "bush")),
    ("centres", {"held": "between centres"}, ("between centres", "between centers", "line boring")),
    ("centres", {"held": "chuck and centre"}, ("chuck and centre", "chuck and center")),
    ("bed", {}, ("V-block", "vee block", "V block and clamp", "collet", "ER collet", "blade holder")),
)
GRIP_NAMES: Final = {
    folded(name): (style, said) for style, said, names in _CALLED for name in names
}  # folded name -> style and the keys that the name settles


def grip_called(name: str) -> tuple[str, Mapping[str, Any]]:
    """Return the style that a grip's name is read as, and the keys that the name settles.

    A name that nobody knows comes back as it is.

    Examples
    --------
    >>> grip_called("Split Sleeve")
    ('sleeve', {'split': True})
    """
    if name in STYLES:
        return name, {}
    short = folded(name)
    return (short, {}) if short in STYLES else GRIP_NAMES.get(short, (name, {}))
