"""The picture of ``fit``: how far each measurement narrowed the margin, and the seat before and after."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from matplotlib.axes import Axes

from stickout.cli.show.plots.plot_style import ACCENT, INK, PALE, SOFT, log_width, save, sheet
from stickout.cli.text.assumed_words import bar_scales
from stickout.cli.text.fit_answer import factor_text, speed_words, spring_row
from stickout.cli.text.words import plain
from stickout.fem.bench.fit import Fitted
from stickout.fem.bench.predictions import Predictions
from stickout.fem.setup.bands import Band
from stickout.fem.setup.parts import Setup

_STEPS = {
    "note": "with the note",
    "damping": "its damping too",
    "pull": "with the pull",
    "post": "the post too",
    "sprung": "spring passes too",
    "heard": "cuts heard too",
}


def draw_fit(fitted: Fitted, path: Path, *, setup: Setup) -> None:
    """Write the picture of what the bench taught of a set-up, which holds what was assumed."""
    faces = setup.grip.springs
    with sheet(10.5, 7.0, title=_title(fitted)) as figure:
        (left, right), (low, beside) = figure.subplots(2, 2)
        steps = [("assumed", fitted.before), *((_STEPS[name], one) for name, one in fitted.steps)]
        told = fitted.before.margin is not None
        _bands(left, [(words, one.margin_without_rubbing or one.frequency_hz) for words, one in steps])
        left.set_title("Margin without rubbing: past 1, quiet at any speed" if told else "Note, Hz")
        spring, scale = spring_row(setup.units)
        _bands(
            right,
            [(words, one.margin or _scaled(one.compliance_along, scale)) for words, one in steps],
        )
        right.set_title(_worst(fitted.predictions, setup.units) or spring.capitalize())
        for axes in (left, right) if told else ():
            _line_at_one(axes)
        before, after = fitted.drawn
        size, unit = bar_scales(setup.units)["N/um/mm2"]
        stiff = 1.0 if faces is None else faces.normal_n_per_um_mm2.likely / size
        scales = [None if one.scale is None else stiff * one.scale for one in (before, after)]
        words = "over the likely one" if faces is None else unit
        _samples(low, scales[0], scales[1], title=f"Stiffness of the seat, {words}")
        _samples(
            beside,
            None,
            after.loss,
            title="Loss factor of the seat",
            assumed=None if faces is None else faces.loss_factor,
        )
        save(figure, path)


def _title(fitted: Fitted) -> str:
    """Return the answer: to which factor the margin is known now."""
    after, before = fitted.predictions, fitted.before
    now, then = after.margin_without_rubbing, before.margin_without_rubbing
    if now is None or then is None:
        return f"Note known to {_percent(after.frequency_hz)}, before to {_percent(before.frequency_hz)}"
    return f"Margin without rubbing: known to a factor of {factor_text(now)}, before of {factor_text(then)}"


def _percent(band: Band) -> str:
    """Return half a band in per cent."""
    return f"{plain(50 * (band.high - band.low) / band.likely)} % either way"


def _scaled(band: Band, by: float) -> Band:
    """Return a band in another unit."""
    return Band(by * band.low, by * band.likely, by * band.high, band.source)


def _worst(one: Predictions, units: str) -> str:
    """Return the title of the margin at the worst speed; nothing where no cut is described."""
    if not one.speeds:
        return ""
    worst = min(one.speeds, key=lambda at: at.margin.likely)
    return f"Margin at {speed_words(worst, units)}: past 1, likely quiet there"


def _line_at_one(axes: Axes) -> None:
    """Draw where quiet begins, where that is in sight."""
    low, high = axes.get_xlim()
    if low < 1.0 < high:
        axes.axvline(1.0, color=INK, lw=1.0, ls=":")


def _samples(
    axes: Axes,
    before: np.ndarray | None,
    after: np.ndarray | None,
    *,
    title: str,
    assumed: Band | None = None,
) -> None:
    """Draw samples before and after on one logarithmic scale, or the assumed range in place of the first."""
    every = [one for one in (before, after) if one is not None]
    if not every:
        axes.set_axis_off()
        return
    if assumed is not None:
        every.append(np.array([assumed.low, assumed.high]))
        axes.axvspan(assumed.low, assumed.high, facecolor=PALE, edgecolor=SOFT, label="assumed range")
    low, high = (float(f(np.concatenate(every))) for f in (np.min, np.max))
    edges = np.geomspace(low, high * (1 + 1e-9), 61)
    for one, color, words in ((before, SOFT, "assumed"), (after, ACCENT, "measured")):
        if one is not None:
            share = np.full(len(one), 1.0 / len(one))
            axes.hist(one, edges.tolist(), weights=share, color=color, alpha=0.75, label=words)
    if high > 3.0 * low:
        log_width(axes)
    axes.set_title(title)
    axes.set_yticks([])
    axes.set_ylabel("how likely")
    axes.legend(fontsize=8.5)


def _bands(axes: Axes, rows: list[tuple[str, Band]]) -> None:
    """Draw 90 % intervals under each other, the first one on top."""
    for at, (_, band) in enumerate(rows):
        color = SOFT if at == 0 else ACCENT
        axes.plot([band.low, band.high], [-at, -at], color=color, lw=7, solid_capstyle="butt")
        axes.plot(band.likely, -at, "|", color=INK, ms=16, mew=1.5)
        axes.annotate(
            f"×{band.high / band.low:.2f}", (band.high, -at), (6, -3), textcoords="offset points", fontsize=9
        )
    axes.set_yticks([-at for at in range(len(rows))], [words for words, _ in rows])
    axes.set_ylim(-len(rows) + 0.4, 0.6)
    axes.margins(x=0.15)
    log_width(axes)
    axes.set_xlabel("bar: nine in ten; × is its high end over its low one")
