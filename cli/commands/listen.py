"""The command ``listen``: notes and damping of a tapped bar from recordings."""

from __future__ import annotations

import sys
from pathlib import Path

from stickout.cli.commands.cut import PlotTarget, check_plot_targets
from stickout.cli.options import JsonTarget
from stickout.cli.outputs import STANDARD_OUTPUT, write_json, writing
from stickout.cli.version import TOOL, VERSION


def listen(first: Path, /, *more: Path, json: JsonTarget = None, plot: PlotTarget = None) -> None:
    """Tell the notes of a tapped bar and how fast they die away, from recordings of a phone.

    Parameters
    ----------
    first
        A recording with three or more taps.
    more
        Further recordings of the same bar in the same state: other directions, other places of the phone.
    json
        File for the result; - for standard output, in place of the answer.
    plot
        File for the picture: taps, spectrum, decay.
    """
    check_plot_targets(json, plot)
    from stickout.fem.bench.listening import listen as listen_to

    heard = listen_to([first, *more])
    if plot is not None:
        from stickout.cli.show.plots.listen_plot import draw_heard  # imports Matplotlib

        with writing(plot, key="--plot") as part:
            draw_heard(heard, part)
    if json is not None:
        from stickout.fem.records.bench import listen_record

        write_json({"tool": TOOL, "version": VERSION, **listen_record(heard)}, json)
    if json != STANDARD_OUTPUT:
        from stickout.cli.text.listen_answer import listen_text

        sys.stdout.write(listen_text(heard))
