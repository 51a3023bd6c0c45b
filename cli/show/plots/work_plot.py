"""The curve of ``work``: stiffness along the part with its band, the worst place marked."""

from __future__ import annotations

from pathlib import Path

from stickout.cli.show.plots.plot_style import ACCENT, INK, PALE, log_scale, save, sheet
from stickout.fem.units import MM, MM_PER_INCH, N_PER_UM
from stickout.fem.work.answer import WorkAnswer


def draw_work(answer: WorkAnswer, *, path: Path) -> None:
    """Draw the stiffness along the part to a file."""
    inch = answer.setup.units == "inch"
    at = answer.stations / (MM * (MM_PER_INCH if inch else 1.0))
    low, likely, high = answer.stiffness / N_PER_UM
    with sheet(7.2, 4.4, title=answer.setup.title or "Untitled set-up") as figure:
        axes = figure.subplots()
        axes.fill_between(at, low, high, color=PALE, label="as chucks and centres vary")
        axes.plot(at, likely, color=INK, label="likely")
        axes.plot(at[answer.worst], likely[answer.worst], "o", color=ACCENT, label="gives most here")
        log_scale(axes)
        axes.set_xlabel(f"from the headstock, {'in' if inch else 'mm'}")
        axes.set_ylabel("stiffness, N/µm")
        axes.legend(frameon=False)
        save(figure, path)
