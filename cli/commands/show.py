"""The command ``show``: the held bar as one HTML file that anybody can open, turn and set moving."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from stickout.cli.options import Changes, SetupFile
from stickout.cli.outputs import check_target
from stickout.cli.run import load
from stickout.cli.solving import solve

VIEWER_SUFFIXES = (".html", ".htm")


def show(
    setup: SetupFile,
    /,
    *,
    out: Annotated[Path, Parameter(help="The file: .html. It opens in any browser, without a network.")],
    title: Annotated[str | None, Parameter(help="Title on the page; the set-up's own without it.")] = None,
    changes: Changes = (),
) -> None:
    """Write the bar and its modes as one HTML file to turn, choose and watch, offline.

    Parameters
    ----------
    setup
        The set-up file.
    out
        The file to be.
    title
        Title on the page.
    changes
        Changes of the set-up's keys for this run.
    """
    read = load(setup, changes)
    check_viewer_file(out)
    result = solve(read.setup).result
    from stickout.cli.show.pages.viewer import write_viewer

    write_viewer(result, out, title=title)
    size = out.stat().st_size / 1000
    sys.stdout.write(
        f"{result.n_modes} modes, to be opened in a browser; no network is needed. "
        f"Written to {out} ({size:.0f} kB).\n"
    )


def check_viewer_file(out: Path) -> None:
    """Check, before anything is computed, that the viewer can be written.

    Raises
    ------
    InputError
        The suffix is not .html, or the file cannot be written.
    """
    check_target(out, key="--out", suffixes=VIEWER_SUFFIXES)
