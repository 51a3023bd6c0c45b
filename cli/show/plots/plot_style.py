"""One style for every plot: greys told apart by lightness, line and hatch, and one dark accent."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from stickout.cli.show.chart.panel import Panel
from stickout.cli.show.chart.sheet import Sheet
from stickout.cli.text.words import plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    AnyAxes = Axes | Panel

INK: Final = "#1a1a1a"
SOFT: Final = "#6b6b6b"
PALE: Final = "#e4e4e4"
ACCENT: Final = "#b5123e"  # the colour of the force in every picture; stands out when printed in grey
_SMALL: Final = 8.5  # letters on a page that has a heading of its own
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
    import matplotlib as mpl
    from matplotlib.figure import Figure

    from stickout.cli.show.typeface import drawable

    small = {} if title else {"font.size": _SMALL, "axes.titlesize": _SMALL}
    with mpl.rc_context(_STYLE | small):
        figure = Figure(figsize=(width, height), layout="constrained")
        if not title:
            yield figure
            return
        figure.suptitle(drawable(title), x=0.01, ha="left", fontsize=12, fontweight="bold")
        yield figure


@contextmanager
def written_sheet(width: float, height: float, *, title: str, path: Path) -> Iterator[Figure | Sheet]:
    """Yield a figure as ``sheet`` does, and write it to a file.

    A .svg is written straight away, since importing Matplotlib takes longer than all the rest of a report.
    """
    if path.suffix.lower() != ".svg":
        with sheet(width, height, title=title) as figure:
            yield figure
            save(figure, path)
        return
    size = _STYLE["font.size"] if title else _SMALL
    chart = Sheet(
        width, height, title=title, size=size, title_size=_STYLE["axes.titlesize"] if title else size
    )
    yield chart
    path.write_text(chart.svg(), encoding="utf-8")


def save(figure: Figure, path: Path) -> None:
    """Write a figure in the format of the file's suffix; the same figure gives the same file."""
    stamp = {".svg": {"Date": None}, ".pdf": {"CreationDate": None}}.get(path.suffix.lower(), {})
    figure.savefig(path, dpi=140, metadata=stamp)


def log_scale(axes: AnyAxes, *, digits: int = 3) -> None:
    """Make the upright axis a log axis with plain numbers at 1, 2 and 5 of each power of ten."""
    if isinstance(axes, Panel):
        axes.by_ratios(1, lambda value: plain(value, digits))
        return
    from matplotlib.ticker import FuncFormatter

    numbers = FuncFormatter(lambda value, _: plain(float(value), digits))
    axes.set_yscale("log", subs=[2, 5])
    axes.yaxis.set_major_formatter(numbers)
    axes.yaxis.set_minor_formatter(numbers)


def log_width(axes: Axes, *, digits: int = 3) -> None:
    """Make the level axis a log axis with plain numbers at 1, 2 and 5 of each power of ten."""
    from matplotlib.ticker import FuncFormatter

    numbers = FuncFormatter(lambda value, _: plain(float(value), digits))
    axes.set_xscale("log", subs=[2, 5])
    axes.xaxis.set_major_formatter(numbers)
    axes.xaxis.set_minor_formatter(numbers)


def named_places(axes: AnyAxes, at: Sequence[float], *, names: Sequence[str]) -> None:
    """Make the level axis a log axis with names at some places, and no other numbers."""
    if isinstance(axes, Panel):
        axes.by_ratios(0)
        axes.name_places(at, names, turn=45)
        return
    from matplotlib.ticker import NullFormatter

    axes.set_xscale("log")
    axes.xaxis.set_minor_formatter(NullFormatter())
    axes.set_xticks(at, names, rotation=45)
    axes.set_xticks([], minor=True)
