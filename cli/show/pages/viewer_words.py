"""The words of the viewer: a sentence on the bar, heading and sentence of each mode, names of parts."""

from __future__ import annotations

from typing import Final

import numpy as np

from stickout.cli.text.words import (
    along_words,
    force_words,
    hertz,
    load_words,
    moving_words,
    note_name,
    percent,
    plain,
    spring_text,
    way_words,
)
from stickout.fem.study.result import Result

_PARTS: Final = {
    "bar": "bar outside the holder",
    "grip": "bar inside the holder",
    "holder": "block round the bar, cut open",
    "shim": "shim",
    "wrap": "wrap",
}
_COUNTS: Final = 0.005


def part_words(name: str) -> str:
    """Return what a region is called beside its colour."""
    return _PARTS.get(name, name)


def viewer_sentence(result: Result) -> str:
    """Return the one sentence to read first: spring along the force, note, which way the edge moves."""
    at, units = result.aligned, result.setup.units
    force = "the cutting force" if result.setup.cut else "a force straight down"
    note = float(result.frequency_hz[at])
    return (
        f"The edge springs {spring_text(result.compliance_along, units)} for every {load_words(units)} "
        f"along {force}. "
        f"Struck, it sings at about {hertz(note)}, near {note_name(note)}."
    )


def mode_texts(result: Result, at: int) -> dict[str, str]:
    """Return heading, way, along and sentence of one mode, counted from 0."""
    note = float(result.frequency_hz[at])
    direction = _direction(result, at)
    kind = result.kinds[at]
    force = "the cutting force" if result.setup.cut else "a force straight down"
    if not result.moves[at]:
        moving = "The edge stands still."
    else:
        along = along_words(float(result.alignment[at]), force=force)
        way = moving_words(direction, kind=kind).rstrip(",")
        moving = f"The edge moves {way}, {along}."
    return {
        "heading": hertz(note),
        "kind": kind,
        "way": way_words(direction, kind=kind),
        "along": percent(float(result.alignment[at])) if result.moves[at] else "",
        "words": " ".join(
            [f"Mode {at + 1}, {kind}: {hertz(note)}, near {note_name(note)}.", moving, _parts(result, at)]
        ),
        "toward": force_words(result.loading.direction.tolist()),
    }


def _parts(result: Result, at: int) -> str:
    """Return damping ratio and the parts that hold the energy."""
    low, likely, high = (float(getattr(result.loss, side)[at]) / 2 for side in ("low", "likely", "high"))
    shares = sorted(((float(share[at]), name) for name, share in result.shares.items()), reverse=True)
    most = ", ".join(f"{percent(share)} {part_words(name)}" for share, name in shares if share >= _COUNTS)
    damping = f"Damping of the parts alone: {plain(100 * likely)} % of critical"
    band = f" ({plain(100 * low)} to {plain(100 * high)} %)" if high > low else ""
    return f"Its strain energy: {most}. {damping}{band}."


def _direction(result: Result, at: int) -> list[float]:
    """Return the unit motion of the edge; zeros where it stands still."""
    edge = result.modes.edge[at]
    return [float(one) for one in edge / np.linalg.norm(edge)] if result.moves[at] else [0.0, 0.0, 0.0]
