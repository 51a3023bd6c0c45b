"""Words, arrows and the colour bar, laid over drawn pictures by pixel, the same for every renderer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from stickout.cli.show.scene.hull import convex_outline
from stickout.cli.show.scene.inset import draw_end_view, end_view
from stickout.cli.show.scene.layout import Box, Placed, Room, inset_place, place_labels
from stickout.cli.show.scene.marks import arrow_shape, dashes
from stickout.cli.show.scene.picture import Pictures
from stickout.cli.show.scene.scene import COLOURS, MOVEMENT_COLOURS
from stickout.cli.show.scene.signs import Label
from stickout.cli.show.scene.stage import Stage
from stickout.cli.show.typeface import drawable, typeface
from stickout.meshes.tagged import FloatArray

Font = ImageFont.FreeTypeFont
_OVER = 3  # marks are drawn so many times larger and reduced, for smooth slants
_INSET = 96.0


@dataclass(frozen=True)
class Words:
    """The lines of a picture: ``title``, the ``lines`` under it, the ``foot`` lines at left and at right."""

    title: str
    lines: Sequence[str]
    foot: str
    made_up: Sequence[str] = ()


def letter(pictures: Pictures, stage: Stage, *, swings: Sequence[float], words: Words) -> list[Pictures]:
    """Return pictures with their words, labels, arrows and colour bar.

    Parameters
    ----------
    pictures
        The drawn pictures of one stage, shape (n, height, width, 3).
    stage
        What they show.
    swings
        The instant of each, -1 to 1, so that the arrow stays on the edge.
    words
        The lines to write.

    Returns
    -------
    list of ndarray
        Shape (height, width, 3) each. Words stand where no picture of the loop draws anything.
    """
    room = Room(pictures)
    under = _marks(stage, room)
    over = Image.new("RGBA", room.size)
    pen = ImageDraw.Draw(over)
    _head(pen, words, room)
    _foot(pen, words, room)
    corner = _end_view(over, stage, room)
    kept = [] if corner is None else [corner]
    places = place_labels(room, _wanted(stage, pen, room.unit), kept=[*kept, *_arrow_boxes(stage, room)])
    for placed in places:
        _word(pen, placed, room.unit)
    out = []
    for picture, swing in zip(pictures, swings, strict=True):
        image = Image.fromarray(picture)
        _paste(image, under)
        _arrow(image, stage, swing, room.unit)
        _leaders(ImageDraw.Draw(image), places, stage, swing=swing, unit=room.unit)
        _paste(image, over)
        out.append(np.asarray(image))
    return out


def _paste(image: Image.Image, layer: Image.Image) -> None:
    """Lay a layer of the same size over a picture, where it is not empty."""
    box = layer.getbbox()
    if box is not None:
        part = layer.crop(box)
        image.paste(part, box, part)


@cache
def _font(size: float, *, bold: bool = False) -> Font:
    """Return the typeface that comes with matplotlib, so that every machine has it; size in pixels."""
    return ImageFont.truetype(str(typeface(bold=bold)), round(size))


def _head(pen: ImageDraw.ImageDraw, words: Words, room: Room) -> None:
    """Write the title and the lines under it, each cut to the room it has [pixel]."""
    unit, wide = room.unit, room.size[0] - 72 * room.unit
    y = 58 * unit
    if words.title:
        font = _fitting(words.title, 40 * unit, wide, bold=True)
        pen.text((36 * unit, y), _cut(words.title, font, wide), font=font, fill=COLOURS["words"], anchor="ls")
        y += 42 * unit
    for line in filter(None, words.lines):
        font = _fitting(line, 27 * unit, wide)
        pen.text((36 * unit, y), _cut(line, font, wide), font=font, fill=COLOURS["words"], anchor="ls")
        y += 32 * unit


def _fitting(text: str, size: float, room: float, *, bold: bool = False) -> Font:
    """Return the typeface at a size, up to a quarter smaller where the text needs it."""
    font = _font(size, bold=bold)
    share = room / max(font.getlength(drawable(text)), 1.0)
    return font if share >= 1 else _font(size * max(share, 0.75), bold=bold)


def _cut(text: str, font: Font, room: float) -> str:
    """Return the text as the typeface draws it, cut with an ellipsis until it fits the room [pixel]."""
    text = drawable(text)
    if font.getlength(text) <= room:
        return text
    while text and font.getlength(text + "…") > room:
        text = text[:-1]
    return text.rstrip() + "…"


def _foot(pen: ImageDraw.ImageDraw, words: Words, room: Room) -> None:
    """Draw the bands of movement from still to most, and write what the drawing makes up."""
    unit, (width, height) = room.unit, room.size
    small, y = _font(21 * unit), height - 57 * unit
    ink = COLOURS["words"]
    pen.text((36 * unit, y), "still", font=small, fill=ink, anchor="lm")
    left = 36 * unit + small.getlength("still") + 10 * unit
    step = 13 * unit
    for at, colour in enumerate(MOVEMENT_COLOURS):
        pen.rectangle((left + at * step, y - 10 * unit, left + (at + 1) * step, y + 10 * unit), fill=colour)
    right = left + len(MOVEMENT_COLOURS) * step
    pen.rectangle((left, y - 10 * unit, right, y + 10 * unit), outline=COLOURS["faint"])
    pen.text((right + 10 * unit, y), "moves most", font=small, fill=ink, anchor="lm")
    taken = right + 10 * unit + small.getlength("moves most")
    wide = width - 72 * unit
    font = _fitting(words.foot, 21 * unit, wide)
    pen.text(
        (36 * unit, height - 22 * unit),
        _cut(words.foot, font, wide),
        font=font,
        fill=COLOURS["faint"],
        anchor="lm",
    )
    made_up = "; ".join(words.made_up)
    if made_up:
        wide = width - 36 * unit - taken - 30 * unit
        font = _fitting(made_up, 21 * unit, wide)
        pen.text(
            (width - 36 * unit, y), _cut(made_up, font, wide), font=font, fill=COLOURS["faint"], anchor="rm"
        )


def _marks(stage: Stage, room: Room) -> Image.Image:
    """Return the dashed outline of the bar at rest, and of what is only hinted at, as a layer."""
    unit = room.unit
    layer = Image.new("RGBA", (room.size[0] * _OVER, room.size[1] * _OVER))
    pen = ImageDraw.Draw(layer)
    rest = stage.skin.sample(stage.points)
    flat = stage.view.pixels(rest[rest[:, 0] > -1e-9])
    for piece in dashes(convex_outline(flat), on=8 * unit, off=6 * unit):
        pen.line([tuple(one * _OVER) for one in piece], fill=COLOURS["rest"], width=round(1.8 * unit * _OVER))
    if stage.around.work is not None and len(stage.around.work.dashed):
        for piece in stage.view.pixels(stage.around.work.dashed)[::2]:
            pen.line(
                [tuple(one * _OVER) for one in piece],
                fill=COLOURS["work line"],
                width=round(2 * unit * _OVER),
            )
    return layer.reduce(_OVER)


def _end_view(over: Image.Image, stage: Stage, room: Room) -> Box | None:
    """Draw the end view into a free corner; return the box it takes, None where it is not drawn."""
    unit, radius = room.unit, _INSET * room.unit
    view = end_view(stage)
    arrows = _arrow_boxes(stage, room)
    middle = inset_place(room, radius, kept=arrows) if view.motion is not None else None
    if middle is None:
        return None
    side = 2.1 * radius
    layer = Image.new("RGBA", (round(side) * _OVER, round(side) * _OVER))
    here = np.full(2, 0.5 * round(side) * _OVER)
    draw_end_view(ImageDraw.Draw(layer), view, middle=here, radius=radius * _OVER, unit=unit * _OVER)
    small = layer.reduce(_OVER)
    over.alpha_composite(small, (round(middle[0] - small.width / 2), round(middle[1] - small.height / 2)))
    x, y = middle
    ImageDraw.Draw(over).text(
        (x, y + radius + 16 * unit),
        "from the free end",
        font=_font(21 * unit),
        fill=COLOURS["words"],
        anchor="mm",
    )
    return x - radius, y - radius, x + radius, y + radius + 30 * unit


def _wanted(
    stage: Stage, pen: ImageDraw.ImageDraw, unit: float
) -> list[tuple[Label, FloatArray, tuple[float, float]]]:
    """Return each label with the pixel of its place and the size of its word."""
    font = _font(26 * unit, bold=True)
    found = []
    for label in stage.labels:
        box = pen.textbbox((0, 0), drawable(label.text), font=font, anchor="mm")
        found.append(
            (label, stage.view.pixels(label.place), (float(box[2] - box[0]), float(box[3] - box[1])))
        )
    return found


def _arrow_boxes(stage: Stage, room: Room) -> list[Box]:
    """Return the boxes that the force's arrow sweeps."""
    if stage.arrow is None:
        return []
    move = stage.ride.of(stage.arrow)
    ends = np.concatenate([stage.view.pixels(stage.arrow + way * move) for way in (-1, 0, 1)])
    low, high = ends.min(axis=0) - 8 * room.unit, ends.max(axis=0) + 8 * room.unit
    return [(float(low[0]), float(low[1]), float(high[0]), float(high[1]))]


def _word(pen: ImageDraw.ImageDraw, placed: Placed, unit: float) -> None:
    """Write the word of a label, with a white rim."""
    pen.text(
        (float(placed.middle[0]), float(placed.middle[1])),
        drawable(placed.label.text),
        font=_font(26 * unit, bold=True),
        fill=COLOURS[placed.label.colour],
        anchor="mm",
        stroke_width=round(3 * unit),
        stroke_fill="white",
    )


def _leaders(
    pen: ImageDraw.ImageDraw, places: Sequence[Placed], stage: Stage, *, swing: float, unit: float
) -> None:
    """Join words to their places where those are at this instant."""
    for placed in places:
        if not placed.label.leader:
            continue
        here, colour = placed.label.place, COLOURS[placed.label.colour]
        x, y = stage.view.pixels(here + swing * stage.ride.of(here) if placed.label.rides else here)
        left, top, right, bottom = placed.box
        start_y = top if y < top else bottom if y > bottom else placed.middle[1]
        line = (float(np.clip(x, left, right)), float(start_y), float(x), float(y))
        pen.line(line, fill="white", width=round(6 * unit))
        pen.line(line, fill=colour, width=max(round(2.4 * unit), 1))
        for radius, fill in ((7 * unit, "white"), (5 * unit, colour)):
            pen.ellipse((x - radius, y - radius, x + radius, y + radius), fill=fill)


def _arrow(image: Image.Image, stage: Stage, swing: float, unit: float) -> None:
    """Draw the force's arrow where the edge is at this instant."""
    if stage.arrow is None:
        return
    tail, tip = stage.view.pixels(stage.arrow + swing * stage.ride.of(stage.arrow))
    low = np.floor(np.minimum(tail, tip) - 40 * unit)
    size = np.ceil(np.maximum(tail, tip) + 40 * unit - low).astype(int)
    layer = Image.new("RGBA", (int(size[0]) * _OVER, int(size[1]) * _OVER))
    pen = ImageDraw.Draw(layer)
    ends: list[FloatArray] = [(one - low) * _OVER for one in (tail, tip)]
    for shape in arrow_shape(*ends, shaft=11 * unit * _OVER, head=34 * unit * _OVER, rim=3 * unit * _OVER):
        pen.polygon(shape.corners, fill=COLOURS["force"] if shape.inner else "white")
    small = layer.reduce(_OVER)
    image.paste(small, (int(low[0]), int(low[1])), small)
