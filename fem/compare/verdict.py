"""What may be said of a change: better, worse, or nothing; never more than the bands allow."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from stickout.fem.setup.bands import Spread

# Below these changes a difference drowns in how differently the same tool is clamped twice: springs repeat
# to some per cent, damping to ten (common practice, no source).
NOTICED: Final = 0.05
NOTICED_LIMIT: Final = 0.1

MORE, LESS, SAME, UNTOLD = "more", "less", "same", "untold"
BETTER, WORSE, MIXED, PARTLY, ALIKE, UNCLEAR = "better", "worse", "mixed", "partly", "alike", "unclear"


@dataclass(frozen=True)
class Verdict:
    """What may be said of a set-up against the first.

    Attributes
    ----------
    kind
        ``better`` or ``worse``: nothing that matters goes the other way or cannot be told. ``mixed``: one
        thing is surely better, another surely worse. ``partly``: one thing is sure, the other cannot be told.
        ``alike``: no change worth the name. ``unclear``: nothing can be told.
    stiffness, limit
        ``more``, ``less``, ``same`` or ``untold`` for each of the two that count.
    """

    kind: str
    stiffness: str
    limit: str


def limit_measure(ratios: Mapping[str, Spread]) -> str:
    """Return the measure that stands for the depth limit: the cut's own margin where it is known."""
    return "cut_margin" if "cut_margin" in ratios else "k_zeta_n_per_m"


def told(ratio: Spread, noticed: float = NOTICED) -> str:
    """Return what a ratio's band allows to say: ``more``, ``less``, ``same`` or ``untold``.

    More or less wants the whole band on that side of 1 and the likely value past ``noticed``; the same
    wants the whole band within twice that.

    >>> told(Spread(1.02, 1.3, 1.6)), told(Spread(0.9, 1.3, 1.6)), told(Spread(0.99, 1.0, 1.02))
    ('more', 'untold', 'same')
    """
    if ratio.low > 1 and ratio.likely >= 1 + noticed:
        return MORE
    if ratio.high < 1 and ratio.likely <= 1 - noticed:
        return LESS
    if ratio.low > 1 - 2 * noticed and ratio.high < 1 + 2 * noticed:
        return SAME
    return UNTOLD


def judged(stiffness: Spread, limit: Spread) -> Verdict:
    """Return the verdict from the ratios of stiffness and depth limit to the first set-up.

    Parameters
    ----------
    stiffness
        Ratio of the stiffness along the force.
    limit
        Ratio of the measure that stands for the depth limit.

    Returns
    -------
    Verdict
        What may be said.
    """
    stiff, deep = told(stiffness), told(limit, NOTICED_LIMIT)
    both = {stiff, deep}
    if {MORE, LESS} <= both:
        kind = MIXED
    elif UNTOLD in both:
        kind = PARTLY if both & {MORE, LESS} else UNCLEAR
    elif MORE in both:
        kind = BETTER
    elif LESS in both:
        kind = WORSE
    else:
        kind = ALIKE
    return Verdict(kind, stiff, deep)
