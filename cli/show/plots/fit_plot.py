"""The picture of ``fit``: the grip before and after, and how far each measurement narrowed the margin."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from matplotlib.axes import Axes

from stickout.cli.show.plots.plot_style import ACCENT, INK, SOFT, log_width, save, sheet
from stickout.fem.bench.fit import Fitted
from stickout.fem.bench.predictions import Predictions
from stickout.fem.setup.bands import Band

_STEPS = {
    "note": "the note",
    "damping": "its damping",
    "pull": "the pull",
    "post": "the post",
    "sprung": "spring passes",
    "heard": "cuts heard",
}


def draw_fit(fitted: Fitted, path: Path) -> None:
    """Write the picture of what the bench taught."""
    with sheet(10.5, 7.0, title="What the bench taught") as figure:
        (left, right), (low, beside) = figure.subplots(2, 2)
        before, after = fitted.drawn
        _samples(left, before.scale, after.scale, what="stiffness of the seat over its likely one")
        _samples(right, None, after.loss, what="loss factor of the seat")
        steps = [("assumed", fitted.before), *((_STEPS[name], one) for name, one in fitted.steps)]
        _bands(low, [(words, one.margin_without_rubbing or one.frequency_hz) for words, one in steps])
        low.set_title("Margin without rubbing" if fitted.before.margin else "Note, Hz")
        _bands(beside, [(words, one.margin or one.compliance_along) for words, one in steps])
        beside.set_title(_worst(fitted.predictions))
        save(figure, path)


def _worst(one: Predictions) -> str:
    """Return the title of the margin at the worst speed, or of the spring where no cut is described."""
    if not one.speeds:
        return "Spring, m/N"
    worst = min(one.speeds, key=lambda at: at.margin.likely)
    return f"Margin at {worst.rpm:.0f} rpm" if worst.rpm is not None else "Margin at the worst speed"


def _samples(axes: Axes, before: np.ndarray | None, after: np.ndarray | None, *, what: str) -> None:
    """Draw samples before and after on one logarithmic scale."""
    every = [one for one in (before, after) if one is not None]
    if not every:
        axes.set_axis_off()
        return
    low, high = (float(f(np.concatenate(every))) for f in (np.min, np.max))
    edges = np.geomspace(low, high * (1 + 1e-9), 41)
    for one, color, words in ((before, SOFT, "assumed"), (after, ACCENT, "measured")):
        if one is not None:
            share = np.full(len(one), 1.0 / len(one))
            axes.hist(one, edges.tolist(), weights=share, color=color, alpha=0.75, label=words)
    if high > 3.0 * low:
        log_width(axes)
    axes.set_xlabel(what)
    axes.set_ylabel("share of the samples")
    axes.legend(fontsize=8.5)


def _bands(axes: Axes, rows: list[tuple[str, Band]]) -> None:
    """Draw 90 % intervals under each other, the first one on top."""
    for at, (_, band) in enumerate(rows):
        color = SOFT if at == 0 else ACCENT
        axes.plot([band.low, band.high], [-at, -at], color=color, lw=5, solid_capstyle="butt")
        axes.plot(band.likely, -at, "|", color=INK, ms=14, mew=1.5)
        axes.annotate(
            f"{band.high / band.low:.2f}", (band.high, -at), (6, -3), textcoords="offset points", fontsize=8.5
        )
    axes.set_yticks([-at for at in range(len(rows))], [words for words, _ in rows])
    axes.set_ylim(-len(rows) + 0.4, 0.6)
    axes.margins(x=0.15)
    axes.set_xlabel("nine in ten; the number is high over low")
