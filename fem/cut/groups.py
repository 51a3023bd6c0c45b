"""Names of the work materials, each with its ISO 513 group letter; the force tables carry these names."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

# ISO 513 letters (recalled, not opened): P steel, M stainless, K cast iron, N non-ferrous,
# S titanium; plastics stand outside the standard and have no letter.
WORK_GROUPS: Final[Mapping[str, str]] = {
    "free-cutting steel": "P",
    "low carbon steel": "P",
    "medium carbon steel": "P",
    "high carbon steel": "P",
    "low alloy steel": "P",
    "tool steel": "P",
    "ferritic stainless steel": "P",
    "austenitic stainless steel": "M",
    "grey cast iron": "K",
    "pearlitic grey cast iron": "K",
    "ductile iron": "K",
    "pearlitic ductile iron": "K",
    "soft aluminium": "N",
    "hardened aluminium": "N",
    "cast aluminium": "N",
    "leaded brass": "N",
    "brass": "N",
    "bronze": "N",
    "copper": "N",
    "pure titanium": "S",
    "titanium alloy": "S",
    "acetal": "",
    "nylon": "",
}
