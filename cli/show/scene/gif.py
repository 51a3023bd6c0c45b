"""Write a loop as an endless GIF with one palette for all its pictures."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from stickout.cli.show.scene.picture import Pictures
from stickout.cli.show.scene.raster import Colours, channels
from stickout.fem.errors import SolveError

FRAME_S = 0.05  # a GIF counts in hundredths of a second, and 20 pictures a second look smooth
_EXACT = 64  # colours kept exactly
# Measured on a round bar: mean error on the bar 2.2 of 255 with these, 2.9 with 128 and no rounds.
_ROUNDS = 3
_THIN = 3  # every third pixel both ways tells the palette as well (measured: the same mean error)
Indexed = NDArray[np.uint8]


def save_gif(pictures: Sequence[Pictures], path: Path, *, order: Sequence[int]) -> None:
    """Write an endless .gif with one palette.

    Parameters
    ----------
    pictures
        The different pictures from one end of the swing to the other, shape (height, width, 3) each.
    path
        The file.
    order
        Which picture is shown when, by its index.

    Raises
    ------
    SolveError
        Two neighbours came out the same, so that the file would hold fewer pictures than asked.
    """
    palette = _common_palette(pictures)
    different = [_with_palette(one, palette) for one in _indexed(pictures, palette)]
    shown = [different[at] for at in order]
    for one, two in pairwise([shown[-1], *shown]):
        if one.tobytes() == two.tobytes():
            raise SolveError("Two neighbouring pictures of the loop are the same; ask for fewer frames.")
    # Naming the palette keeps the writer from repeating it before every picture.
    shown[0].save(
        path,
        format="gif",
        save_all=True,
        append_images=shown[1:],
        palette=palette.tobytes(),
        duration=round(1000 * FRAME_S),
        loop=0,
        optimize=False,
    )


def _with_palette(picture: Indexed, palette: Pictures) -> Image.Image:
    """Return an indexed picture with its palette (256, 3)."""
    image = Image.fromarray(picture)
    image.putpalette(palette.tobytes())
    return image


def _common_palette(pictures: Sequence[Pictures]) -> Pictures:
    """Return one palette: the colours most used at both ends and the middle of the swing, then a spread.

    A spread alone ("maximum coverage") shifts large flat faces to a neighbouring tint; a few rounds of
    k-means then draw the spread toward what is used. Shape (256, 3).
    """
    thin = slice(None, None, _THIN)
    strip = np.concatenate([pictures[at][thin, thin] for at in (0, len(pictures) // 2, -1)])
    colours, count = np.unique(_packed(strip), return_counts=True)
    most = channels(colours[np.argsort(-count, kind="stable")[:_EXACT]])[:, :3]
    spread = Image.fromarray(strip).quantize(
        colors=256 - len(most), method=Image.Quantize.MAXCOVERAGE, kmeans=_ROUNDS
    )
    palette = np.zeros((256, 3), dtype=np.uint8)
    rest = np.array(spread.getpalette("RGB"), dtype=np.uint8).reshape(-1, 3)[: 256 - len(most)]
    palette[: len(most)] = most
    palette[len(most) : len(most) + len(rest)] = rest
    return palette


def _packed(picture: Pictures) -> Colours:
    """Return each pixel's colour as one number, red the lowest byte, shape (height, width)."""
    padded = np.zeros((*picture.shape[:2], 4), dtype=np.uint8)
    padded[:, :, :3] = picture
    return np.asarray(padded.view(np.uint32)[:, :, 0])


def _indexed(pictures: Sequence[Pictures], palette: Pictures) -> list[Indexed]:
    """Return pictures in the nearest colours of a palette (256, 3), without dither."""
    packed = [_packed(one) for one in pictures]
    # A place for each colour there is: marking those met takes six tenths of the time of sorting.
    met = np.zeros(1 << 24, dtype=bool)
    for one in packed:
        met[one] = True
    colours = np.flatnonzero(met).astype(np.uint32)
    place = np.empty(1 << 24, dtype=np.uint8)
    place[colours] = _nearest(channels(colours)[:, :3], palette)
    return [place[one] for one in packed]


def _nearest(colours: Pictures, palette: Pictures) -> NDArray[np.intp]:
    """Return which colour of a palette (k, 3) is nearest to each of some (n, 3), shape (n,)."""
    wanted, there = colours.astype(np.float32), palette.astype(np.float32)
    # The square of a colour itself is the same for every colour of the palette.
    return np.asarray(np.argmin((there**2).sum(axis=1) - 2 * wanted @ there.T, axis=1))
