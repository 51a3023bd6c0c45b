"""The pictures of a cut: engaged edge with force, margins at speeds, limit against rotation."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from stickout.cli.show.plots.edge_plot import draw_edge
from stickout.cli.show.plots.plot_style import written_sheet
from stickout.cli.show.plots.section_plot import draw_force, draw_turned
from stickout.cli.show.plots.speed_plot import draw_speeds
from stickout.cli.text.speed_words import speed_name
from stickout.fem.cut.answer import CutAnswer
from stickout.fem.cut.turned import can_turn
from stickout.fem.force.case import CutCase
from stickout.fem.setup.parts import Setup

_PAPER_IN: Final = 7.2  # the width of the text on A4 and Letter


def draw_force_sheet(setup: Setup, case: CutCase, *, path: Path, paper: bool = False) -> None:
    """Write the picture of ``force``: the engaged edge and the end view, each with the force to scale.

    Parameters
    ----------
    setup, case
        What is cut with what.
    path
        The picture to be.
    paper
        Drawn for a page at full size, which has a heading of its own.
    """
    title = "" if paper else f"{setup.title or 'Cut'}: force"
    with written_sheet(*((_PAPER_IN, 3.5) if paper else (10.5, 5.6)), title=title, path=path) as figure:
        left, right = figure.subplots(1, 2)
        draw_edge(left, case, units=setup.units)
        draw_force(right, case, bar=setup.bar, units=setup.units)
        # Axes to scale choose their numbers once they have their size, and the numbers' width counts.
        figure.draw_without_rendering()


def draw_cut(answer: CutAnswer, path: Path, *, paper: bool = False) -> None:
    """Write the picture of ``cut``: margins at speeds; where turning matters, the end view too.

    Parameters
    ----------
    answer
        What was computed.
    path
        The picture to be.
    paper
        Drawn for a page at full size, which has a heading of its own.
    """
    setup = answer.result.setup
    heading = "" if paper else f"{setup.title or 'Cut'}: how far from chatter"
    if answer.turned.alike or not can_turn(setup):  # a circle, or a dial that nobody can turn
        with written_sheet(*((_PAPER_IN, 2.5) if paper else (6.6, 5.6)), title=heading, path=path) as figure:
            draw_speeds(figure.subplots(), answer)
        return
    with written_sheet(*((_PAPER_IN, 3.7) if paper else (11.0, 5.6)), title=heading, path=path) as figure:
        left, right = figure.subplots(1, 2)
        draw_speeds(left, answer)
        draw_turned(right, answer.turned, bar=setup.bar)
        at = speed_name(answer.verdict.stated, setup.units)
        right.set_title(f"Margin at {at} against\nrotation of the section, end view")
        right.text(
            0.5,
            -0.02,
            s=_note(answer),
            transform=right.transAxes,
            ha="center",
            va="top",
            fontsize=8.5,
        )


def _note(answer: CutAnswer) -> str:
    """Return the words under the direction plot."""
    turned = answer.turned
    now = f"dash-dot line: the section's height axis as it stands, {turned.now_deg:.0f}°"
    wide = ", ".join(f"{a:.0f} to {b:.0f}° ({b - a:.0f}° wide)" for a, b in turned.windows)
    return f"{now}\ndotted: good windows,\n{wide}"
