"""Margin at the user's speeds with its band, and lobes only where a turn holds few waves."""

from __future__ import annotations

from typing import Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, NullFormatter

from stickout.cli.show.plots.plot_style import ACCENT, INK, PALE, SOFT, log_scale
from stickout.cli.text.cut_words import FEW_WAVES
from stickout.cli.text.words import plain
from stickout.fem.chatter.speeds import limits_at_speeds
from stickout.fem.cut.answer import CutAnswer

_TOP: Final = 30.0
_CURVE: Final = 500


def draw_speeds(axes: Axes, answer: CutAnswer) -> None:
    """Draw the margin at each speed with its band on log axes, and behind it the margin without rubbing."""
    speeds = [one for one in answer.verdict.speeds if one.speed_rpm is not None]
    dry = answer.spread.margin
    top = _TOP * dry.likely if np.isfinite(dry.likely) else _TOP
    ends = np.minimum([[one.margin.low, one.margin.high] for one in speeds] or [[dry.low, dry.high]], top)
    rpm = np.array([one.speed_rpm for one in speeds]) if speeds else np.array([100.0, 2000.0])
    left, right = 0.8 * rpm.min(), 1.25 * rpm.max()
    axes.axhspan(dry.low, min(dry.high, top), facecolor=PALE, zorder=0)
    axes.axhline(min(dry.likely, top), color=SOFT, lw=1.2, ls="--")
    axes.axhline(1.0, color=INK, lw=1.6)
    white = {"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.85}
    axes.text(1.02 * left, 1.06, "quiet above this line", va="bottom", fontsize=8.5, bbox=white, zorder=5)
    axes.text(
        0.98 * right,
        0.98 * min(dry.likely, top),
        "without the flank's rubbing",
        va="top",
        ha="right",
        fontsize=8.5,
        color=SOFT,
        zorder=5,
    )
    if speeds:
        margin = np.minimum([one.margin.likely for one in speeds], top)
        bars = np.abs(ends.T - margin)
        axes.errorbar(rpm, margin, yerr=bars, fmt="o", color=ACCENT, ms=6, lw=1.4, capsize=3, zorder=4)
        if min(one.waves for one in speeds) < FEW_WAVES:
            _draw_lobes(axes, answer, left, right)
    axes.set_xscale("log")
    log_scale(axes)
    axes.set_xlim(left, right)
    axes.set_ylim(0.6 * min(dry.low, 1.0), 1.8 * max(float(ends.max()), 1.0))
    _ticks(axes, rpm, bool(speeds))
    axes.set_xlabel("spindle speed, rpm")
    axes.set_ylabel("margin (1 is the limit)")
    axes.set_title("Margin at your speeds, nine times in ten inside" if speeds else "Margin without rubbing")


def _draw_lobes(axes: Axes, answer: CutAnswer, left: float, right: float) -> None:
    """Draw the limit along the speed without rubbing: the lower envelope of the lobes."""
    rpm = np.geomspace(left, right, _CURVE)
    margin = limits_at_speeds(answer.both, answer.case.stiffness, speeds_rpm=rpm.tolist()).margin
    axes.plot(rpm, np.minimum(margin, _TOP * float(answer.limit.margin)), color=INK, lw=1.0, zorder=2)


def _ticks(axes: Axes, rpm: np.ndarray, named: bool) -> None:
    """Put plain numbers on the axis of speeds, the user's own where there are any."""
    numbers = FuncFormatter(lambda value, _: plain(float(value), 3))
    axes.xaxis.set_minor_formatter(NullFormatter())
    axes.xaxis.set_major_formatter(numbers)
    if named:
        axes.set_xticks(rpm, [plain(float(one), 4) for one in rpm], rotation=45)
        axes.set_xticks([], minor=True)
