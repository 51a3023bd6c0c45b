"""Words and the colour bar, laid over a drawn picture by pixel, the same for every renderer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from stickout.cli.show.scene.picture import Pictures, movement_colours
from stickout.cli.show.scene.scene import COLOURS
from stickout.cli.show.scene.stage import Stage
from stickout.cli.show.typeface import drawable, typeface

Font = ImageFont.FreeTypeFont


@dataclass(frozen=True)
class Words:
    """The lines of a picture: ``title``, the ``lines`` under it, and the ``foot`` line."""

    title: str
    lines: Sequence[str]
    foot: str


def letter(picture: Pictures, stage: Stage, *, swing: float, words: Words) -> Pictures:
    """Return one picture (height, width, 3) with its words, labels and colour bar.

    Parameters
    ----------
    picture
        The drawn picture, shape (height, width, 3).
    stage
        What it shows.
    swing
        Its instant, -1 to 1, so that riding labels stay with what they name.
    words
        The lines to write.

    Returns
    -------
    ndarray
        Shape (height, width, 3).
    """
    image = Image.fromarray(picture)
    pen = ImageDraw.Draw(image)
    unit = image.height / 540
    _head(pen, words, image.width - 56 * unit, unit)
    pen.text(
        (28 * unit, image.height - 18 * unit),
        words.foot,
        font=_font(14 * unit),
        fill=COLOURS["faint"],
        anchor="ls",
    )
    _colour_bar(pen, image.size, unit)
    _labels(pen, stage, swing, unit)
    return np.asarray(image)


@cache
def _font(size: float, *, bold: bool = False) -> Font:
    """Return the typeface that comes with matplotlib, so that every machine has it; size in pixels."""
    return ImageFont.truetype(str(typeface(bold=bold)), round(size))


def _head(pen: ImageDraw.ImageDraw, words: Words, room: float, unit: float) -> None:
    """Write the title and the lines under it, each cut to the room it has [pixel]."""
    y = 38 * unit
    if words.title:
        font = _font(24 * unit, bold=True)
        pen.text((28 * unit, y), _cut(words.title, font, room), font=font, fill=COLOURS["words"], anchor="ls")
        y += 27 * unit
    font = _font(16 * unit)
    for line in filter(None, words.lines):
        pen.text((28 * unit, y), _cut(line, font, room), font=font, fill=COLOURS["words"], anchor="ls")
        y += 23 * unit


def _cut(text: str, font: Font, room: float) -> str:
    """Return the text as the typeface draws it, cut with an ellipsis until it fits the room [pixel]."""
    text = drawable(text)
    if font.getlength(text) <= room:
        return text
    while text and font.getlength(text + "…") > room:
        text = text[:-1]
    return text.rstrip() + "…"


def _colour_bar(pen: ImageDraw.ImageDraw, size: tuple[int, int], unit: float) -> None:
    """Draw the bands of relative movement at the right border."""
    colours = movement_colours()
    right, top, step = size[0] - 34 * unit, 178 * unit, 20 * unit
    left = right - 20 * unit
    for at, colour in enumerate(reversed(colours)):
        pen.rectangle((left, top + at * step, right, top + (at + 1) * step), fill=colour)
    bottom = top + len(colours) * step
    pen.rectangle((left, top, right, bottom), outline=COLOURS["faint"])
    small = _font(13 * unit)
    for text, y in (("most", top + 5 * unit), ("half", (top + bottom) / 2), ("none", bottom - 5 * unit)):
        pen.text((left - 7 * unit, y), text, font=small, fill=COLOURS["words"], anchor="rm")
    for text, y in (("movement,", top - 27 * unit), ("relative", top - 11 * unit)):
        pen.text((right, y), text, font=small, fill=COLOURS["words"], anchor="rs")


def _labels(pen: ImageDraw.ImageDraw, stage: Stage, swing: float, unit: float) -> None:
    """Write the word of each thing that has one; riding words move with the edge."""
    ride = swing * stage.edge_move
    for label in stage.labels:
        x, y = stage.view.pixels(label.place + (ride if label.rides else 0.0))
        shift, anchor = {"on": (0.0, "mm"), "above": (-8.0, "mb"), "below": (10.0, "mt")}[label.side]
        if label.leader is not None:
            end = stage.view.pixels(label.leader + ride)
            line = (float(x), float(y + (shift - 2) * unit), float(end[0]), float(end[1]))
            pen.line(line, fill=COLOURS[label.colour], width=round(1.5 * unit))
        pen.text(
            (x, y + shift * unit),
            label.text,
            font=_font((19 if label.side == "on" else 15) * unit, bold=True),
            fill=COLOURS[label.colour],
            anchor=anchor,
        )
