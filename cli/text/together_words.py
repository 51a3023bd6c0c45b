"""Who moves how much where a cut sings, and by how much one is behind the other, in a sentence."""

from __future__ import annotations

from typing import Final

import numpy as np

from stickout.cli.text.words import hertz, percent, plain
from stickout.fem.cut.operating import Operating
from stickout.fem.setup.parts import Setup

# Share of the opening below which a side stands still to the eye.
_SEEN: Final = 0.05


def together_words(setup: Setup, motion: Operating) -> str:
    """Return who moves how much, and by how much one is behind the other."""
    pitch, (tool, part) = hertz(motion.frequency_hz), motion.amplitudes
    words = []
    if setup.work is not None:
        words.append(
            f"the part moves {percent(part)} and the edge {percent(tool)} of the opening between them"
        )
        if min(tool, part) > _SEEN:
            lag = motion.lag_deg
            side = "behind" if lag < 0 else "ahead of"
            words.append(f"the edge is {plain(abs(lag), 2)}° {side} the part's way back")
    if setup.post is not None:
        root = float(np.linalg.norm(motion.tool[0]) / np.linalg.norm(motion.tool[-1]))
        words.append(f"the holder moves {percent(root)} of what the edge does")
    return f"At {pitch} {', '.join(words)}."
