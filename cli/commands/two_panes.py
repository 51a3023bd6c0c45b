"""The two bars of a comparison's film: the first, and the change that was asked about."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from stickout.cli.commands.film import scene_of
from stickout.cli.show.scene.scene import Scene
from stickout.cli.show.scene.two_panes import swing_line
from stickout.cli.text.verdict_words import entry_name, letter, surest
from stickout.cli.text.words import load_n, load_name
from stickout.fem.study.levers import mode_swing

if TYPE_CHECKING:
    from stickout.fem.compare.compare import Comparison, Entry


def panes_of(comparison: Comparison) -> tuple[tuple[Scene, Scene], str]:
    """Return the scenes of a comparison's film, left and right, and a sentence on what it shows.

    The right one is the first change; where only rivals are compared, the surest of them.
    """
    changes = [n for n, one in enumerate(comparison.entries) if one.role == "change"]
    best = surest(comparison)
    right = changes[0] if changes else (1 if best is None else best)
    scenes = _scene(comparison.first, "A"), _scene(comparison.entries[right], letter(right))
    load = load_name(comparison.first.result.setup.units)
    return scenes, f"The mode along the force of A and of {letter(right)}, each swung by the same {load}."


def _scene(entry: Entry, name: str) -> Scene:
    """Return the picture of the mode along the force, its swing that of the usual load."""
    result = entry.result
    changed = entry_name(entry).startswith("A with")  # the list of changes is too long for a title
    at, units = result.aligned, result.setup.units
    swing = mode_swing(result, at, force_n=load_n(units))
    scene = replace(
        scene_of(result, at), title=f"{name}: {'A changed' if changed else entry_name(entry)}", swing_m=swing
    )
    line = swing_line(scene, load=load_name(units))
    return replace(scene, lines=(entry_name(entry).removeprefix("A "), line) if changed else (line,))
