"""What is metric in an answer, for set-ups in inches."""

from __future__ import annotations

import re
from typing import Final

# Newtons, metric lengths, areas and speeds; a capital N alone is a newton, and so is one over a unit.
METRIC: Final = re.compile(r"(?<=[\d ,(])N(?![A-Za-z])|N/|N·m|\bmm\b|mm²|µm|m/min|\bkg\b|kg/m|°C")


def left_over(text: str) -> list[str]:
    """Return what is metric in an answer, each with the words about it."""
    return [text[max(0, one.start() - 40) : one.end() + 20] for one in METRIC.finditer(text)]
