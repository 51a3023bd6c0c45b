"""Margin at the user's speeds with its band, and lobes only where a turn holds few waves."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from stickout.cli.show.plots.plot_style import ACCENT, INK, PALE, SOFT, log_scale, named_places
from stickout.cli.text.cut_words import FEW_WAVES
from stickout.cli.text.words import plain
from stickout.fem.chatter.speeds import limits_at_speeds
from stickout.fem.cut.answer import CutAnswer
from stickout.fem.cut.speed_verdict import SpeedVerdict
from stickout.fem.units import FOOT
from stickout.meshes.tagged import FloatArray

if TYPE_CHECKING:
    from stickout.cli.show.plots.plot_style import AnyAxes

_TOP: Final = 30.0
_CURVE: Final = 500


def draw_speeds(axes: AnyAxes, answer: CutAnswer) -> None:
    """Draw the margin at each speed with its band on log axes, and behind it the margin without rubbing."""
    speeds, at, label = _places(answer)
    dry = answer.spread.margin
    top = _TOP * dry.likely if np.isfinite(dry.likely) else _TOP
    ends = np.minimum([[one.margin.low, one.margin.high] for one in speeds], top)
    left, right = 0.8 * at.min(), 1.25 * at.max()
    axes.axhspan(dry.low, min(dry.high, top), facecolor=PALE, zorder=0)
    axes.axhline(min(dry.likely, top), color=SOFT, lw=1.2, ls="--")
    axes.axhline(1.0, color=INK, lw=1.6)
    white = {"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.85}
    # Under the bars: no point is hidden behind words.
    axes.text(1.02 * left, 1.06, s="quiet above this line", va="bottom", fontsize=8.5, bbox=white, zorder=3)
    axes.text(
        0.98 * right,
        0.98 * min(dry.likely, top),
        s="without the flank's rubbing",
        va="top",
        ha="right",
        fontsize=8.5,
        color=SOFT,
        zorder=5,
    )
    margin = np.minimum([one.margin.likely for one in speeds], top)
    bars = np.abs(ends.T - margin)
    axes.errorbar(at, margin, yerr=bars, fmt="o", color=ACCENT, ms=6, lw=1.4, capsize=3, zorder=4)
    if min(one.waves for one in speeds) < FEW_WAVES:
        _draw_lobes(axes, answer, left, right)
    log_scale(axes)
    named_places(axes, at.tolist(), names=[plain(float(one), 4) for one in at])
    axes.set_xlim(left, right)
    axes.set_ylim(0.6 * min(dry.low, 1.0), 1.8 * max(float(ends.max()), 1.0))
    axes.set_xlabel(label)
    axes.set_ylabel("margin (1 is the limit)")
    whose = "speeds that were tried" if answer.verdict.speeds_assumed else "your speeds"
    axes.set_title(f"Margin at {whose}, nine times in ten inside")


def _places(answer: CutAnswer) -> tuple[list[SpeedVerdict], FloatArray, str]:
    """Return the speeds that are drawn, where on the axis, and its label: rpm, or how fast the edge cuts."""
    every = answer.verdict.speeds
    turning = [one for one in every if one.speed_rpm is not None]
    if turning:
        return turning, np.array([one.speed_rpm for one in turning], dtype=np.float64), "spindle speed, rpm"
    step, unit = (FOOT, "ft/min") if answer.result.setup.units == "inch" else (1.0, "m/min")
    cutting = np.array([60 * one.cutting_speed / step for one in every])
    return list(every), cutting, f"cutting speed, {unit} (the diameter of the work is not given)"


def _draw_lobes(axes: AnyAxes, answer: CutAnswer, left: float, right: float) -> None:
    """Draw the limit along the speed without rubbing: the lower envelope of the lobes."""
    rpm = np.geomspace(left, right, _CURVE)
    margin = limits_at_speeds(answer.both, answer.case.stiffness, speeds_rpm=rpm.tolist()).margin
    axes.plot(rpm, np.minimum(margin, _TOP * float(answer.limit.margin)), color=INK, lw=1.0, zorder=2)
