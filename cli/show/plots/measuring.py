"""Dimension lines, leaders and frames of Matplotlib views that are drawn to scale."""

from __future__ import annotations

from typing import Any, Final

from matplotlib.axes import Axes

from stickout.cli.show.plots.plot_style import INK, SOFT

SMALL: Final = 9.0
WHITE: Final[dict[str, Any]] = {"facecolor": "white", "edgecolor": "none", "pad": 1.2, "alpha": 0.9}
_LINE: Final[dict[str, Any]] = {"color": INK, "lw": 0.8, "shrinkA": 0, "shrinkB": 0, "mutation_scale": 9}
_NARROW: Final = 0.13  # a dimension below this share of the view has its arrows outside
_LETTER: Final = 0.014  # width of a small letter over that of the view


def frame(axes: Axes, across: tuple[float, float], *, up: tuple[float, float], title: str) -> None:
    """Set the limits of a view, equal both ways and without axes, before anything is measured.

    Limits across that fall make a view whose first axis runs to the left.
    """
    axes.set_xlim(*across)
    axes.set_ylim(*up)
    axes.set_aspect("equal", anchor="N")
    axes.set_axis_off()
    axes.set_title(title)


def level_size(
    axes: Axes, ends: tuple[float, float], *, level: float, text: str, drop: tuple[float, float]
) -> None:
    """Draw a dimension along the picture's width.

    Parameters
    ----------
    axes
        The view, framed.
    ends
        From where to where.
    level
        Height of the dimension line.
    text
        The number; below the line where there is no room in it.
    drop
        Heights that the two thin lines come from.
    """
    for at, start in zip(ends, drop, strict=True):
        axes.plot([at, at], [start, level], color=SOFT, lw=0.6, zorder=6)
    left, right = axes.get_xlim()
    middle, view = 0.5 * (ends[0] + ends[1]), abs(right - left)
    if ends[1] - ends[0] > max(_NARROW, 0.05 + _LETTER * len(text)) * view:
        both = {**_LINE, "arrowstyle": "<|-|>"}
        axes.annotate("", xy=(ends[0], level), xytext=(ends[1], level), arrowprops=both, zorder=6)
        axes.text(middle, level, text, ha="center", va="center", fontsize=SMALL, bbox=WHITE, zorder=7)
        return
    one = {**_LINE, "arrowstyle": "-|>"}
    for at, way in zip(ends, (-1, 1), strict=True):
        axes.annotate("", xy=(at, level), xytext=(at + way * 0.05 * view, level), arrowprops=one, zorder=6)
    axes.text(middle, level - 0.02 * view, text, ha="center", va="top", fontsize=SMALL, bbox=WHITE, zorder=7)


def upright_size(axes: Axes, ends: tuple[float, float], *, at: float, text: str) -> None:
    """Draw a dimension along the picture's height."""
    both = {**_LINE, "arrowstyle": "<|-|>"}
    axes.annotate("", xy=(at, ends[0]), xytext=(at, ends[1]), arrowprops=both, zorder=6)
    middle = 0.5 * (ends[0] + ends[1])
    axes.text(at, middle, text, rotation=90, ha="center", va="center", fontsize=SMALL, bbox=WHITE, zorder=7)


def leader(axes: Axes, text: str, *, tip: tuple[float, float], at: tuple[float, float]) -> None:
    """Draw words with an arrow to what they name."""
    style = {"arrowstyle": "-|>", "color": SOFT, "lw": 0.8, "shrinkA": 2, "shrinkB": 0}
    axes.annotate(
        text, xy=tip, xytext=at, arrowprops=style, fontsize=10, ha="center", va="bottom", zorder=8, bbox=WHITE
    )
