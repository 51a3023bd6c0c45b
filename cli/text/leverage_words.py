"""Who is soft, tool, post, the part or its holding, in words: at rest and where the cut sings."""

from __future__ import annotations

import math
from typing import Final

from stickout.cli.text.words import hertz, listed, margin_figure, percent
from stickout.fem.cut.leverage import HOLDING, POST, TOOL, WALL, WORK, Leverage

_NAMES: Final = {
    TOOL: "the tool",
    POST: "post and slides",
    WORK: "the part's own bending",
    HOLDING: "what holds the part",
    WALL: "its thin wall",
}
_SINGS: Final = {
    TOOL: "It is the tool that sings, not the work",
    POST: "It is post and slides that sing, not the bar",
    WORK: "It is the work that sings, not the tool",
    HOLDING: "It is what holds the work that gives, neither work nor tool",
    WALL: "It is the thin wall of the work that sings, not the tool",
}
_RIGID: Final = {
    TOOL: "tool and post rigid",
    POST: "the post rigid",
    WORK: "part and holding rigid",
    HOLDING: "the part in a perfect hold",
    WALL: "its thin wall rigid",
}


def singer_line(leverage: Leverage) -> str:
    """Return who sings, in one sentence; what making that side rigid would bring is in ``leverage_words``."""
    if leverage.singer is None:
        both = "tool and part" if WORK in leverage.static else "bar and post"
        return f"No side alone is to blame: {both} sing together."
    alone = leverage.singer == TOOL and WORK not in leverage.static
    return "It is the bar that sings, not the post." if alone else f"{_SINGS[leverage.singer]}."


def leverage_words(leverage: Leverage) -> str:
    """Return the whole answer: shares of the spring, then the cut with each side made rigid."""
    shares = sorted(leverage.static.items(), key=lambda one: -one[1])
    told = listed([f"{percent(share)} in {_NAMES[side]}" for side, share in shares])
    rigid = listed(
        [
            f"with {_RIGID[one.side]} {_margin(one.margin)} (at {hertz(one.chatter_hz)})"
            for one in leverage.rigid
        ]
    )
    return (
        f"Who is soft. At rest the spring between edge and part is {told}. In the chatter the margin of "
        f"{_margin(leverage.margin)} would be {rigid}."
    )


def _margin(value: float) -> str:
    """Return a margin; a great one is no limit."""
    return margin_figure(value) if math.isfinite(value) and value < 1e3 else "no limit"
