"""Pieces of a printed page: figures that carry their full value, tables, bars of energy."""

from __future__ import annotations

import base64
import html
import json
import re
import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

_FILLS: Final = ("#2f2f2f", "#8a8a8a", "#c9c9c9", "#ffffff", "#5c5c5c", "#e6e6e6")
_ROW: Final = 22
_LEFT: Final = 128
_WIDE: Final = 700
_LEAST_NAMED: Final = 0.07  # a narrower piece of a bar has no room for its number


@dataclass(frozen=True)
class Ledger:
    """A result file's content, from which every figure of a page is taken.

    Attributes
    ----------
    name
        Which command writes it: ``modes`` or ``cut``.
    record
        The content.
    """

    name: str
    record: Mapping[str, Any]

    def at(self, path: str) -> Any:  # noqa: ANN401 - any value of a result file, by design
        """Return the value at a dotted path, such as ``modes.0.frequency_hz``."""
        value: Any = self.record
        for step in path.split("."):
            value = value[int(step)] if isinstance(value, Sequence) else value[step]
        return value

    def show(self, path: str, words: Callable[[Any], str]) -> str:
        """Return a figure as people read it, its full value beside it for programs.

        Parameters
        ----------
        path
            Where the value is in the record.
        words
            How it is written; not called where the value is null.
        """
        value = self.at(path)
        return self.put(path, "no limit" if value is None else words(value))

    def put(self, path: str, text: str) -> str:
        """Return a figure whose words are known already, its full value beside it."""
        full = html.escape(json.dumps(self.at(path)))
        return f'<data data-of="{self.name}" data-key="{path}" value="{full}">{html.escape(text)}</data>'


def derived(value: float, text: str) -> str:
    """Return a figure that follows from the record without standing in it, its full value beside it."""
    return f'<data value="{value!r}">{html.escape(text)}</data>'


def style_sheet(name: str) -> str:
    """Return a style sheet that lies beside this module."""
    return Path(__file__).with_name(name).read_text(encoding="utf-8")


def page(title: str, body: str, *, styles: Sequence[str]) -> str:
    """Return a whole page in one file that asks nothing of any other.

    Parameters
    ----------
    title
        Title of the window, plain words.
    body
        What the page holds, as HTML.
    styles
        Names of style sheets beside this module.
    """
    sheets = "\n".join(style_sheet(name) for name in styles)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{html.escape(title)}</title>\n<style>\n{sheets}</style>\n</head>\n<body>\n{body}\n</body>\n</html>\n"
    )


def section(title: str, *parts: str, kind: str = "") -> str:
    """Return a section with its heading; empty parts are left out."""
    mark = f' class="{kind}"' if kind else ""
    inside = "\n".join(part for part in parts if part)
    name = section_name(title)
    # A table too wide for a phone is scrolled by keys as well.
    reach = ' tabindex="0"' if "<table" in inside else ""
    head = f'<h2 id="{name}">{html.escape(title)}</h2>'
    return f'<section aria-labelledby="{name}"{mark}{reach}>\n{head}\n{inside}\n</section>'


def figure_of(text: str, draw: Callable[[Path], str | None]) -> str:
    """Return a drawing inside the page.

    Parameters
    ----------
    text
        What it shows; where it is empty, what ``draw`` returns.
    draw
        Draws to the file it is given, and may return what is drawn.
    """
    with tempfile.TemporaryDirectory(prefix="stickout-plot-") as folder:
        path = Path(folder) / "plot.svg"
        said = draw(path)
        data = base64.b64encode(path.read_bytes()).decode("ascii")
    words = html.escape((text or said or "").rstrip("."))
    image = f'<img alt="{words}" src="data:image/svg+xml;base64,{data}">'
    return f"<figure>{image}<figcaption>{words}.</figcaption></figure>"


def section_name(title: str) -> str:
    """Return the name that a link finds a section by."""
    return "-".join(re.findall(r"[a-z0-9]+", title.casefold()))


def contents(body: str) -> str:
    """Return links to the sections of a body, as the page's navigation."""
    heads = re.findall(r'<h2 id="([^"]*)">(.*?)</h2>', body)
    links = "".join(f'<li><a href="#{name}">{words}</a></li>' for name, words in heads)
    return f'<nav aria-label="Sections"><ol>{links}</ol></nav>'


def paragraph(text: str, *, kind: str = "") -> str:
    """Return plain words as a paragraph."""
    mark = f' class="{kind}"' if kind else ""
    return f"<p{mark}>{html.escape(text)}</p>" if text else ""


def bullets(items: Sequence[str], *, kind: str = "") -> str:
    """Return plain words as a list."""
    mark = f' class="{kind}"' if kind else ""
    return f"<ul{mark}>{''.join(f'<li>{html.escape(one)}</li>' for one in items)}</ul>" if items else ""


def table(heads: Sequence[str], rows: Sequence[Sequence[str]], *, marked: Sequence[int] = ()) -> str:
    """Return a table; cells are HTML, heads plain words.

    Parameters
    ----------
    heads
        One head a column.
    rows
        Cells of each row, the first one its name.
    marked
        Rows that stand out.
    """
    top = "".join(f'<th scope="col">{html.escape(one)}</th>' for one in heads)
    lines = []
    for number, cells in enumerate(rows):
        name = f'<th scope="row">{cells[0]}</th>'
        rest = "".join(f"<td>{cell}</td>" for cell in cells[1:])
        lines.append(
            f"<tr{' class=' + chr(34) + 'marked' + chr(34) if number in marked else ''}>{name}{rest}</tr>"
        )
    return f"<table><thead><tr>{top}</tr></thead><tbody>{''.join(lines)}</tbody></table>"


def energy_chart(names: Sequence[str], shares: Mapping[str, Sequence[float]]) -> str:
    """Return stacked bars of the energy shares, told apart by grey and by their order in the legend.

    Parameters
    ----------
    names
        Name of each mode.
    shares
        Part -> share in each mode, 0 to 1; drawn in this order from the left.
    """
    height = _ROW * len(names) + 34
    parts = []
    for row, name in enumerate(names):
        top, left = row * _ROW, float(_LEFT)
        parts.append(f'<text x="{_LEFT - 8}" y="{top + 15}" text-anchor="end">{html.escape(name)}</text>')
        for number, values in enumerate(shares.values()):
            width = values[row] * (_WIDE - _LEFT)
            fill = _FILLS[number % len(_FILLS)]
            parts.append(
                f'<rect x="{left:.2f}" y="{top + 3}" width="{width:.2f}" height="{_ROW - 6}" fill="{fill}" '
                'stroke="#1a1a1a" stroke-width="0.8"/>'
            )
            if values[row] >= _LEAST_NAMED:
                ink = "#ffffff" if fill in ("#2f2f2f", "#5c5c5c") else "#1a1a1a"
                middle = left + width / 2
                parts.append(
                    f'<text x="{middle:.1f}" y="{top + 15.5}" text-anchor="middle" fill="{ink}">'
                    f"{100 * values[row]:.0f} %</text>"
                )
            left += width
    parts += _legend(list(shares), _ROW * len(names) + 18)
    label = "Share of each part in the strain energy of each mode; the table holds the numbers"
    size = f'viewBox="0 0 {_WIDE + 4} {height}"'
    return f'<svg class="chart" role="img" aria-label="{label}" {size}>{"".join(parts)}</svg>'


def _legend(names: Sequence[str], top: float) -> list[str]:
    """Return a swatch and a word for each part."""
    out, left = [], float(_LEFT)
    for number, name in enumerate(names):
        fill = _FILLS[number % len(_FILLS)]
        out.append(
            f'<rect x="{left:.0f}" y="{top - 9}" width="14" height="11" fill="{fill}" stroke="#1a1a1a" '
            f'stroke-width="0.8"/><text x="{left + 19:.0f}" y="{top}">{html.escape(name)}</text>'
        )
        left += 34 + 6.6 * len(name)
    return out
