"""Reads pages that the program prints: their tags, their figures, their outside links, their PDF pages."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

VOID = {"meta", "img", "br", "link", "input", "hr"}
SELF_CLOSED = {"path", "rect", "circle"}


@dataclass
class Figure:
    """One figure of a page: whose record, where in it, its full value, and how it is written."""

    of: str
    key: str
    value: Any
    text: str = ""


@dataclass
class Page(HTMLParser):
    """A parsed page; reading it fails where a tag is closed that is not open, or is left open."""

    html: str
    figures: list[Figure] = field(default_factory=list)
    links: list[str] = field(default_factory=list)
    heads: list[str] = field(default_factory=list)
    words: str = ""

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self._open: list[str] = []
        self._faults: list[str] = []
        self.feed(self.html)
        self.close()
        assert not self._faults, self._faults
        assert not self._open, f"left open: {self._open}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note a tag, what it links to, and the figure it may begin."""
        given = {name: value or "" for name, value in attrs}
        self.links += [value for name, value in given.items() if name in ("src", "href", "action", "data")]
        if tag == "data":
            value = json.loads(given["value"])
            self.figures.append(Figure(given.get("data-of", ""), given.get("data-key", ""), value))
        if tag == "h2":
            self.heads.append("")
        if tag not in VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note a tag that closes itself."""
        if tag not in VOID | SELF_CLOSED:
            self._faults.append(f"{tag} must not close itself")

    def handle_endtag(self, tag: str) -> None:
        """Close a tag."""
        if not self._open or self._open.pop() != tag:
            self._faults.append(f"{tag} closed out of order at {self.getpos()}")

    def handle_data(self, data: str) -> None:
        """Collect words, of figures and of headings apart."""
        if "style" in self._open:
            return
        self.words += data
        if self._open and self._open[-1] == "data":
            self.figures[-1].text += data
        if self._open and self._open[-1] == "h2":
            self.heads[-1] += data


def outside(page: Page) -> list[str]:
    """Return everything in a page that a browser would fetch."""
    found = [link for link in page.links if not link.startswith(("data:", "#"))]
    return found + re.findall(r"@import[^;]*|url\((?!['\"]?(?:data:|#))[^)]*\)", page.html)


def value_at(record: Any, path: str) -> Any:
    """Return the value of a record at a dotted path."""
    for step in path.split("."):
        record = record[int(step)] if isinstance(record, list) else record[step]
    return record


def count_pages(pdf: Path) -> int:
    """Return the pages of a PDF that names its page objects in plain text, as the browser's do."""
    return len(re.findall(rb"/Type\s*/Page\b", pdf.read_bytes()))
