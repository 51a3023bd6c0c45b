"""The answer of ``force`` in one screen: how hard and which way the cut pushes, then its parts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from stickout.cli.text.cut_words import ranged
from stickout.cli.text.force_answer import chip_lines
from stickout.cli.text.screen import cells, fine_size, fitted, job_line
from stickout.cli.text.words import folded, force_size
from stickout.fem.chatter.low_speed import cutting_speed
from stickout.fem.cut.low_speed import least_chip
from stickout.fem.force.case import CutCase
from stickout.fem.force.nose import crest_height
from stickout.fem.setup.parts import Setup
from stickout.fem.units import GRAVITY, MM, N_PER_LBF, rounded, small_length_text
from stickout.meshes.tagged import FloatArray

_STRAIGHT: Final = 0.99
_LITTLE: Final = 0.15
_WAYS: Final = (("out along the bar", "back along the bar"), ("sideways", "sideways"), ("up", "down"))
_SHARES: Final = (
    (0.9, "nearly all"),
    (0.58, "two thirds"),
    (0.42, "half"),
    (0.29, "a third"),
    (0.22, "a quarter"),
)


def force_screen(setup: Setup, case: CutCase) -> str:
    """Return the answer in one screen, at most 15 lines of 100 columns."""
    head = [
        *folded(setup.title or "Untitled set-up"),
        *folded(f"{job_line(setup, case.cut, material=case.material.name)}."),
        "",
        *_push(setup, case),
        *_nose(setup, case),
    ]
    foot = ["An estimate. A hand-ground edge without rake pushes harder. Edge, second rule, sources: --more"]
    return fitted(head, list(_parts(setup, case)), foot=foot)


def _push(setup: Setup, case: CutCase) -> list[str]:
    """Return size, weight and way of the push."""
    size, units = float(np.linalg.norm(case.on_tool)), setup.units
    scale, unit = (N_PER_LBF, "lbf") if units == "inch" else (1.0, "N")
    band = ranged(*(size * one / scale for one in case.force_band))
    weight = "" if units == "inch" else f", like a {rounded(size / GRAVITY, 1)} kg weight"
    return folded(
        f"The cut pushes the tool with {rounded(size / scale, 2)} {unit} ({band}){weight}: "
        f"{way_of(case.on_tool / size)}."
    )


def way_of(direction: FloatArray) -> str:
    """Return which way a unit vector (3,) points: "mostly down, a third sideways"."""
    order = np.argsort(-np.abs(direction))
    names = [_WAYS[at][int(direction[at] < 0)] for at in order]
    sizes = [abs(float(direction[at])) for at in order]
    text = (
        f"{'all but straight' if sizes[0] > 0.99 else 'mostly' if sizes[0] > 0.7 else 'chiefly'} {names[0]}"
    )
    share = next((words for least, words in _SHARES if sizes[1] >= least), "")
    if share:
        text += f", {share} {names[1]}"
    elif sizes[1] > _LITTLE:
        text += f", a little {names[1]}"
    return text


def _nose(setup: Setup, case: CutCase) -> list[str]:
    """Return that a depth within the nose pushes the edge off, and which nose pushes less."""
    cut, units = case.cut, setup.units
    nose = cut.nose_radius_mm or 0.0
    if cut.operation == "parting" or case.cut.force_direction is not None or case.depth >= nose * MM:
        return []
    return folded(
        f"{fine_size(cut.depth_mm or 0.0, units)} deep is less than the {fine_size(nose, units)} nose, so it "
        f"pushes the edge off the work. A {fine_size(0.5 * nose, units)} nose pushes less."
    )


def _parts(setup: Setup, case: CutCase) -> Iterator[str]:
    """Yield the three components with their ways, the chip, power and nose marks."""
    units, cut = setup.units, case.cut
    away = "away from the wall" if cut.operation == "boring" else "away from the work"
    back = "back along the bar" if cut.operation == "boring" else "against the feed"
    rows = [("cutting force Fc", case.force.c, "the way the work moves")]
    rows.append(("passive force Fp", case.force.p, away))
    rows.append(("feed force    Ff", case.force.f, back))
    for name, force, way in rows:
        yield (
            cells((name, force_size(force, units), way), (19, 10, 30))
            if force > 0
            else cells((name, "0", ""), (19, 10, 30))
        )
    text = f"Chip {small_length_text(float(case.edge.mean_chip), units)} thick on the average"
    if cut.work_diameter_mm and cut.speeds_rpm:
        ends = (min(cut.speeds_rpm), max(cut.speeds_rpm))
        powers = [case.force.c * cutting_speed(cut.work_diameter_mm * MM, rpm) for rpm in ends]
        text += f"; power at the edge {ranged(*powers)} W"
    if case.edge.nose_radius > 0 and cut.operation != "parting":
        crest = crest_height(case.edge.feed, float(case.edge.nose_radius))
        text += f". Nose marks alone: {small_length_text(crest, units)} high"
    yield from folded(f"{text}.")
    lines = chip_lines(float(case.edge.mean_chip), least_chip(cut), units=units)
    thin = " ".join(" ".join(lines).split())
    if thin.startswith("Warning"):
        yield from folded(thin.removeprefix("Warning: ").capitalize())
