"""The picture of ``size --absorber``: the edge's answer with and without it, what being off tune costs."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import numpy as np
from matplotlib.axes import Axes

from stickout.cli.show.plots.plot_style import ACCENT, INK, PALE, SOFT, log_scale, save, sheet
from stickout.cli.text.words import THOU_M, plain
from stickout.fem.absorber.band import KEPT, AbsorberBand
from stickout.fem.absorber.plan import AbsorberPlan
from stickout.fem.chatter.modal import ModalModel
from stickout.fem.chatter.receptance import projected_receptance
from stickout.fem.units import N_PER_LBF, UM
from stickout.meshes.tagged import FloatArray

_POINTS: Final = 800
_SPAN: Final = (0.4, 1.9)


def draw_absorber(plan: AbsorberPlan, band: AbsorberBand, *, path: Path) -> None:
    """Write the picture."""
    title = f"{plan.job.setup.title or 'Bar'}: absorber"
    with sheet(11.0, 6.2, title=title) as figure:
        grid = figure.add_gridspec(2, 2, width_ratios=[1.15, 1.0])
        upper, lower = figure.add_subplot(grid[0, 0]), figure.add_subplot(grid[1, 0])
        _draw_answer(upper, lower, plan)
        _draw_off_tune(figure.add_subplot(grid[:, 1]), plan, band)
        save(figure, path)


def _draw_answer(upper: Axes, lower: Axes, plan: AbsorberPlan) -> None:
    """Draw size and real part of the edge's answer along the force, with and without."""
    hertz = plan.best.note_hz * np.linspace(*_SPAN, _POINTS)
    push = plan.base.loading.direction
    inch = plan.job.setup.units == "inch"
    size, unit = (THOU_M / N_PER_LBF, "thou per lbf") if inch else (UM, "µm per N")
    for axes, part in ((upper, np.abs), (lower, np.real)):
        bare, with_it = (part(_along(one, hertz, push)) / size for one in (plan.bare, plan.model))
        axes.plot(hertz, bare, color=SOFT, lw=1.2, ls="--", label="the bar as it is")
        axes.plot(hertz, with_it, color=ACCENT, lw=1.8, label="with the absorber")
        axes.set_xlim(hertz[0], hertz[-1])
    # The bare peak would flatten the rest: the picture goes to a few times what is left.
    left = _along(plan.model, hertz, push) / size
    upper.set_ylim(0.0, 3.0 * np.abs(left).max())
    lower.set_ylim(*(1.5 * np.abs(left.real).max() * np.array([-1.0, 1.0])))
    lower.axhline(0.0, color=INK, lw=0.8)
    upper.set_title(f"How far the edge swings along the force, {unit}")
    lower.set_title(f"Its part in step with the force, {unit}: the lowest point sets the limit")
    lower.set_xlabel("frequency, Hz")
    upper.legend(loc="upper right", fontsize=9)


def _along(model: ModalModel, hertz: FloatArray, push: FloatArray) -> np.ndarray:
    """Return the receptance along the force [m/N]."""
    seen = projected_receptance(model, 2 * np.pi * hertz, left=push[None, :], right=push[:, None])
    return np.asarray(seen[0, 0])


def _draw_off_tune(axes: Axes, plan: AbsorberPlan, band: AbsorberBand) -> None:
    """Draw how much the cut may grow against the tuning, for three dampings of the rings."""
    per_cent = 100 * band.off
    own = plan.best.absorber.frequency_hz
    window = [100 * (one / own - 1) for one in band.window_hz]
    axes.axvspan(*window, facecolor=PALE, zorder=0)
    axes.plot(per_cent, band.stiff, color=INK, lw=1.0, ls="-.", label="rings 1.4 times as lossy")
    axes.plot(per_cent, band.gains, color=ACCENT, lw=1.8, label="rings as planned")
    axes.plot(per_cent, band.loose, color=INK, lw=1.0, ls=":", label="rings half as lossy")
    axes.axhline(1.0, color=SOFT, lw=1.0, ls="--")
    log_scale(axes, digits=2)
    axes.set_xlim(per_cent[0], per_cent[-1])
    axes.set_ylim(0.6, 2.5 * float(max(band.stiff.max(), band.gains.max())))
    axes.set_xlabel(f"absorber off tune, % of {plain(own, 3)} Hz (minus: too low)")
    axes.set_title("How many times larger the cut may grow")
    ends = " to ".join(plain(one, 3) for one in band.window_hz)
    note = f"grey: {100 * KEPT:.0f} % of the gain is kept, {ends} Hz"
    axes.text(per_cent[0] + 1.0, 1.05, f"{note}\ndashed: the bar as it is", va="bottom", fontsize=9)
    axes.legend(loc="upper right", fontsize=9)
