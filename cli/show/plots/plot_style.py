"""One style for every plot: greys told apart by lightness, line and hatch, and one dark accent."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter

from stickout.cli.show.typeface import drawable
from stickout.cli.text.words import plain

INK: Final = "#1a1a1a"
SOFT: Final = "#6b6b6b"
PALE: Final = "#e4e4e4"
ACCENT: Final = "#b5123e"  # the colour of the force in every picture; stands out when printed in grey
_STYLE: Final[dict[str, Any]] = {
    "font.size": 10.0,
    "font.family": "DejaVu Sans",
    "axes.titlesize": 10.5,
    "axes.titlelocation": "left",
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.edgecolor": SOFT,
    "axes.labelcolor": INK,
    "text.color": INK,
    "xtick.color": SOFT,
    "ytick.color": SOFT,
    "legend.frameon": False,
    "svg.hashsalt": "stickout",
    "svg.fonttype": "path",
    "hatch.linewidth": 0.6,
    "text.parse_math": False,  # a dollar sign in a title is a dollar sign
}


@contextmanager
def sheet(width: float, height: float, *, title: str) -> Iterator[Figure]:
    """Yield a figure of the house style, sizes in inches, its title in place; empty for none."""
    small = {} if title else {"font.size": 8.5, "axes.titlesize": 8.5}
    with mpl.rc_context(_STYLE | small):
        figure = Figure(figsize=(width, height), layout="constrained")
        if not title:
            yield figure
            return
        figure.suptitle(drawable(title), x=0.01, ha="left", fontsize=12, fontweight="bold")
        yield figure


def save(figure: Figure, path: Path) -> None:
    """Write a figure in the format of the file's suffix; the same figure gives the same file."""
    stamp = {".svg": {"Date": None}, ".pdf": {"CreationDate": None}}.get(path.suffix.lower(), {})
    figure.savefig(path, dpi=140, metadata=stamp)


def log_scale(axes: Axes, *, digits: int = 3) -> None:
    """Make the upright axis a log axis with plain numbers at 1, 2 and 5 of each power of ten."""
    numbers = FuncFormatter(lambda value, _: plain(float(value), digits))
    axes.set_yscale("log", subs=[2, 5])
    axes.yaxis.set_major_formatter(numbers)
    axes.yaxis.set_minor_formatter(numbers)


def log_width(axes: Axes, *, digits: int = 3) -> None:
    """Make the level axis a log axis with plain numbers at 1, 2 and 5 of each power of ten."""
    numbers = FuncFormatter(lambda value, _: plain(float(value), digits))
    axes.set_xscale("log", subs=[2, 5])
    axes.xaxis.set_major_formatter(numbers)
    axes.xaxis.set_minor_formatter(numbers)
