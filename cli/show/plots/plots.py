"""The pictures of a cut: engaged edge with force, margins at speeds, limit against rotation."""

from __future__ import annotations

from pathlib import Path

from stickout.cli.show.plots.edge_plot import draw_edge
from stickout.cli.show.plots.plot_style import save, sheet
from stickout.cli.show.plots.section_plot import draw_force, draw_turned
from stickout.cli.show.plots.speed_plot import draw_speeds
from stickout.fem.cut.answer import CutAnswer
from stickout.fem.cut.turned import can_turn
from stickout.fem.force.case import CutCase
from stickout.fem.setup.parts import Setup


def draw_force_sheet(setup: Setup, case: CutCase, *, path: Path) -> None:
    """Write the picture of ``force``: the engaged edge and the end view, each with the force to scale."""
    with sheet(10.5, 5.6, title=f"{setup.title or 'Cut'}: force") as figure:
        left, right = figure.subplots(1, 2)
        draw_edge(left, case)
        draw_force(right, case, bar=setup.bar)
        save(figure, path)


def draw_cut(answer: CutAnswer, path: Path) -> None:
    """Write the picture of ``cut``: margins at speeds; where turning matters, the end view too."""
    setup = answer.result.setup
    heading = f"{setup.title or 'Cut'}: how far from chatter"
    if answer.turned.alike:  # a rotation plot would be a circle
        with sheet(6.6, 5.6, title=heading) as figure:
            draw_speeds(figure.subplots(), answer)
            save(figure, path)
        return
    with sheet(11.0, 5.6, title=heading) as figure:
        left, right = figure.subplots(1, 2)
        draw_speeds(left, answer)
        draw_turned(right, answer.turned, bar=setup.bar)
        if not can_turn(setup):
            right.set_title("Margin against rotation of bar and grip, end view")
        right.text(
            0.5,
            -0.02,
            _note(answer),
            transform=right.transAxes,
            ha="center",
            va="top",
            fontsize=8.5,
        )
        save(figure, path)


def _note(answer: CutAnswer) -> str:
    """Return the words under the direction plot."""
    turned = answer.turned
    now = f"dash-dot line: the section's height axis as it stands, {turned.now_deg:.0f}°"
    if not can_turn(answer.result.setup):
        return f"{now}\nbar and grip turned together; in this grip the bar cannot be turned alone"
    wide = ", ".join(f"{a:.0f} to {b:.0f}° ({b - a:.0f}° wide)" for a, b in turned.windows)
    return f"{now}\ndotted: good windows, {wide}"
