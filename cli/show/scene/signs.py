"""Arrows and words of a picture: where each belongs, at rest; the lettering finds room for them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from stickout.cli.show.scene.around import Around
from stickout.cli.show.scene.scene import INCH, Scene
from stickout.cli.show.scene.surface import OuterSurface
from stickout.fem.setup.parts import Setup
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray


@dataclass(frozen=True)
class Label:
    """A word on the picture.

    Attributes
    ----------
    text
        The word.
    place
        The point it belongs to, at rest [m], shape (3,).
    colour
        Key of ``scene.COLOURS``.
    leader
        Whether a line joins the word to its place.
    rides
        Whether the place moves with the end face; the word stands still.
    """

    text: str
    place: FloatArray
    colour: str
    leader: bool = True
    rides: bool = False


def force_arrow(scene: Scene, nose: FloatArray, *, sample: FloatArray) -> FloatArray | None:
    """Return tail and head of the arrow of the force on the tool, at rest [m], shape (2, 3)."""
    if scene.force is None:
        return None
    overhang = float(sample[:, 0].max())
    across = float(np.ptp(sample[sample[:, 0] > 0.98 * overhang][:, 1:], axis=0).max())
    reach = float(np.clip(1.9 * across, 0.25 * overhang, 0.5 * overhang))
    push = np.asarray(scene.force, dtype=float) / np.linalg.norm(scene.force)
    return np.array([nose - reach * push, nose])


def labels_of(scene: Scene, sample: FloatArray, *, around: Around, side: float) -> Iterator[Label]:
    """Yield the words of a scene but for those in its head and foot.

    Parameters
    ----------
    scene
        The scene.
    sample
        Points of the bar's skin [m], shape (n, 3).
    around
        What stands round the bar.
    side
        +1 where the viewer stands on the +y side, else -1.
    """
    arrow = force_arrow(scene, around.cutter.nose, sample=sample)
    if arrow is not None:
        yield Label("cutting force", arrow[0], "force", leader=False)
    yield Label(around.holder_name, _on_holder(scene, around), "words")
    cutter = around.cutter
    if cutter.name:
        yield Label(cutter.name, _near_corner(cutter.props[0].solid.points, side), "words", rides=True)
    elif cutter.aside or arrow is None:
        yield Label("edge", cutter.nose, "words", rides=True)
    if around.work is not None:
        text = "work" if around.work.known else "work, diameter not given"
        yield Label(text, around.work.home, "work words")
    if scene.setup is not None:
        yield from _layers(scene.setup, sample, side=side)


def _near_corner(points: FloatArray, side: float) -> FloatArray:
    """Return a point just inside the lowest corner (n, 3) that the viewer sees."""
    corner = points[np.argmax(side * points[:, 1] - points[:, 2])]
    return np.asarray(0.75 * corner + 0.25 * points.mean(axis=0))


def _on_holder(scene: Scene, around: Around) -> FloatArray:
    """Return the point that the holder's name belongs to, on the part that the frame surely holds."""
    end = -0.25 * float(scene.mesh.points[:, 0].max())
    if "holder" in scene.mesh.regions:
        box = scene.mesh.points[np.unique(scene.mesh.cells[scene.mesh.regions["holder"]])]
    else:
        box = (around.before or around.behind)[0].solid.points
    low, high = box.min(axis=0), box.max(axis=0)
    if not around.before:
        return np.array([high[0], low[1], (low[2] + high[2]) / 2])
    return np.array([max(end, (low[0] + high[0]) / 2), (low[1] + high[1]) / 2, high[2]])


def _layers(setup: Setup, sample: FloatArray, *, side: float) -> Iterator[Label]:
    """Yield the words for a shim and a wrap."""
    overhang, inch = setup.bar.overhang_mm * MM, setup.units == "inch"
    if setup.shim is not None:
        size, name = setup.shim.thickness_mm, setup.materials["shim"].name
        low, near = float(sample[:, 2].min()), side * float(np.abs(sample[:, 1]).max())
        place = np.array([-0.3 * min(setup.bar.gripped_mm * MM, overhang), near, low + 0.5 * size * MM])
        yield Label(f"{_size(size, inch)} {_short(name)}", place, layer_colour(name) + " words")
    if setup.wrap is not None:
        wrap, name = setup.wrap, setup.materials["wrap"].name
        at = (wrap.start_mm + 0.5 * wrap.length_mm) * MM
        ring = sample[np.abs(sample[:, 0] - at) < 0.3 * wrap.length_mm * MM]
        place = np.array([at, 0.0, float(ring[:, 2].max()) if len(ring) else 0.0])
        wire = setup.turns is not None
        place[2] += wrap.thickness_mm * MM if wire else 0.0
        words = f"{_size(wrap.thickness_mm, inch)} {_short(name)}{', loose' if wire else ''}"
        yield Label(words, place, layer_colour(name) + " words")


def region_paints(scene: Scene, skin: OuterSurface) -> list[str | None]:
    """Return the colour of each region of the skin; None where it is coloured by movement."""
    metals = {} if scene.setup is None else scene.setup.materials
    return [
        layer_colour(metals[name].name) if name in ("shim", "wrap") and name in metals else None
        for name in skin.region_names
    ]


def coil_paint(scene: Scene) -> str:
    """Return the colour of the wire of a loose wrap."""
    metals = {} if scene.setup is None else scene.setup.materials
    return layer_colour(metals["wrap"].name) if "wrap" in metals else "steel"


def layer_colour(name: str) -> str:
    """Return the colour of a shim's or wrap's metal: copper, solder, or that of steel where it is neither."""
    if "copper" in name or "brass" in name or "bronze" in name:
        return "copper"
    return "solder" if any(one in name for one in ("solder", "lead", "tin", "alumin")) else "steel"


def _short(name: str) -> str:
    """Return a metal's name without what was done to it: one word is enough on a picture."""
    return "solder" if "solder" in name else name.replace("annealed ", "").replace("hard ", "")


def _size(size_mm: float, inch: bool) -> str:
    """Return a thickness in the user's unit."""
    return f"{size_mm * MM / INCH * 1000:.3g} thou" if inch else f"{size_mm:.3g} mm"
