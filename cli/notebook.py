"""Answers that show themselves in a notebook: ``%load_ext stickout.cli.notebook``, then name one on a line.

A result is a table of its modes with the viewer in a frame of its own; a cut, a comparison and the work are
the answer that their command prints. The rows of a sweep are a table of what was varied and what it brings;
``rows.frame()`` gives all columns as a data frame where pandas is there.
"""

from __future__ import annotations

import html
from typing import TYPE_CHECKING, Any, Final

from stickout.cli.sweeps.labels import DEPTH, MARGIN, NOTE, SPRING, column_label
from stickout.cli.text.words import plain

if TYPE_CHECKING:
    from stickout.fem.compare.compare import Comparison
    from stickout.fem.cut.answer import CutAnswer
    from stickout.fem.study.result import Result
    from stickout.fem.sweep.rows import Rows

_TOLD: Final = (NOTE, SPRING, MARGIN, DEPTH)  # columns of a sweep that are shown, where it has them
_FRAME: Final = 560  # pixel, height of the viewer's frame


def load_ipython_extension(shell: Any) -> None:  # noqa: ANN401 - the notebook's own, not a dependency
    """Let results, cuts and comparisons show themselves; a notebook calls this at ``%load_ext``.

    Classes are named, not loaded: nothing is until an answer is shown.
    """
    pages = shell.display_formatter.formatters["text/html"]
    pages.for_type_by_name("stickout.fem.study.result", "Result", result_html)
    pages.for_type_by_name("stickout.fem.cut.answer", "CutAnswer", cut_html)
    pages.for_type_by_name("stickout.fem.compare.compare", "Comparison", comparison_html)
    pages.for_type_by_name("stickout.fem.sweep.rows", "Rows", rows_html)


def result_html(result: Result) -> str:
    """Return a result as a table of its modes and the viewer, which moves and can be turned."""
    from stickout.cli.show.pages.viewer import viewer_html
    from stickout.cli.show.pages.viewer_words import mode_texts

    rows = []
    for at in range(result.n_modes):
        words = mode_texts(result, at)
        told = [
            str(at + 1),
            words["heading"],
            result.kinds[at],
            words["way"],
            f"{100 * result.alignment[at]:.0f} %",
        ]
        rows.append("".join(f"<td>{html.escape(one)}</td>" for one in told))
    head = "".join(f"<th>{one}</th>" for one in ("mode", "rings at", "kind", "way", "along the force"))
    title = html.escape(result.setup.title or "Held bar")
    table = f"<table><caption>{title}</caption><tr>{head}</tr><tr>{'</tr><tr>'.join(rows)}</tr></table>"
    inside = html.escape(viewer_html(result), quote=True)
    frame = f'<iframe srcdoc="{inside}" title="{title}, moving" width="100%" height="{_FRAME}"></iframe>'
    return table + frame


def cut_html(answer: CutAnswer) -> str:
    """Return a cut as the command ``cut`` prints it."""
    from stickout.cli.text.cut_screen import cut_screen

    return _plain(cut_screen(answer))


def comparison_html(comparison: Comparison) -> str:
    """Return a comparison as the command ``compare`` prints it."""
    from stickout.cli.text.comparison_text import comparison_text

    return _plain(comparison_text(comparison))


def rows_html(rows: Rows) -> str:
    """Return the rows of a sweep as a table: the case, what was varied, and what it brings."""
    told = [one for one in _TOLD if any(row.get(one) is not None for row in rows)]
    labels = [column_label(one, "mm") for one in told]
    heads = ["case", *rows.varied, *(one.text for one in labels)]
    body = []
    for row in rows:
        numbers = [
            plain(value * label.scale, 3) if isinstance(value := row[name], float) else "-"
            for name, label in zip(told, labels, strict=True)
        ]
        cells = [str(row["case"]), *(str(row[name]) for name in rows.varied), *numbers]
        body.append("".join(f"<td>{html.escape(one)}</td>" for one in cells))
    head = "".join(f"<th>{html.escape(one)}</th>" for one in heads)
    return f"<table><tr>{head}</tr><tr>{'</tr><tr>'.join(body)}</tr></table>"


def _plain(text: str) -> str:
    """Return plain text as HTML that keeps its columns."""
    return f"<pre>{html.escape(text)}</pre>"
