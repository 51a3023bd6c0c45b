"""Two bars moving side by side: one clock, one magnification, one scale, one range of colours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Final

import numpy as np
from PIL import Image, ImageDraw

from stickout.cli.outputs import writing
from stickout.cli.show.scene.captions import made_up_lines, mode_line, round_two
from stickout.cli.show.scene.film import FILM_SUFFIXES, DrawReport, check_film, loop_order, write_loop
from stickout.cli.show.scene.gif import FRAME_S
from stickout.cli.show.scene.lettering import Words, letter
from stickout.cli.show.scene.picture import Pictures, draw
from stickout.cli.show.scene.scene import (
    COLOURS,
    INCH,
    Scene,
    bar_surface,
    check_scene,
    drawn_movement,
    real_swing,
)
from stickout.cli.show.scene.stage import Stage, build_stage
from stickout.cli.show.scene.video import check_video

_FRAMES_PER_SWING: Final = 12
_MOST_SWINGS: Final = 10
_FEWEST_FRAMES: Final = 24


def write_two_panes(
    scenes: tuple[Scene, Scene],
    out: Path,
    *,
    size: tuple[int, int] = (1280, 540),
) -> DrawReport:
    """Draw two bars as one loop and write it.

    Parameters
    ----------
    scenes
        What is shown, left and right. Their ``swing_m`` say how far each really moves; the bar that moves
        more is drawn as large as reads well and the other by the same factor.
    out
        A file that ends in .gif, or with the extra ``video`` in .mp4 or .webm.
    size
        Width and height of the whole picture [pixel], a multiple of four and even, 640 x 180 or above.

    Returns
    -------
    DrawReport

    Raises
    ------
    InputError
        A scene cannot be drawn, the suffix or the size is not allowed, a package is missing, or the file
        cannot be written.
    SolveError
        Two neighbouring pictures came out the same.
    """
    out = Path(out)
    cell = (size[0] // 2, size[1])
    turns = swings_in_loop(*(scene.frequency_hz for scene in scenes))
    frames = max(_FEWEST_FRAMES, _FRAMES_PER_SWING * max(turns))
    frames += frames % 2
    check_film(out, FILM_SUFFIXES, size=cell, frames=frames)
    if out.suffix.lower() != ".gif":
        check_video(out)
    with writing(out, key="--film") as temporary:
        alike = same_magnification(scenes)
        stages = shared_stages(alike, cell)
        slowed = [s.frequency_hz * frames * FRAME_S / n for s, n in zip(scenes, turns, strict=True)]
        foot = f"Movement of both magnified {round_two(alike[0].magnification or 1.0)} times, slowed about "
        foot += f"{round_two(max(slowed))} times"
        clock = "One clock: " + (
            "both notes are near enough alike"
            if turns[0] == turns[1]
            else f"{turns[0]} swings on the left to {turns[1]} here, as the notes are"
        )
        panes = []
        for scene, stage, count, words in zip(alike, stages, turns, (foot, clock), strict=True):
            swings, places = distinct_swings(count, frames)
            pictures = _lettered(draw(stage, swings), swings, scene=scene, stage=stage, foot=words)
            panes.append([pictures[at] for at in places])
        both = [beside(*pair) for pair in zip(*panes, strict=True)]
        write_loop(both, temporary, order=loop_order(frames))
    return DrawReport(path=out, frames=frames, size=size)


def swings_in_loop(left_hz: float, right_hz: float) -> tuple[int, int]:
    """Return how often each bar swings in one loop: whole numbers as near to the notes' ratio as ten allow.

    >>> swings_in_loop(3000.0, 3000.0), swings_in_loop(1000.0, 1500.0), swings_in_loop(1330.0, 1090.0)
    ((1, 1), (2, 3), (6, 5))
    """
    low, high = sorted((left_hz, right_hz))
    # From 1/20 apart on ten swings can show a difference; closer notes are drawn alike.
    ratio = max(Fraction(low / high).limit_denominator(_MOST_SWINGS), Fraction(1, _MOST_SWINGS))
    few, many = ratio.numerator, ratio.denominator
    return (few, many) if left_hz <= right_hz else (many, few)


def distinct_swings(count: int, frames: int) -> tuple[list[float], list[int]]:
    """Return the different instants of the first half of a loop in which a bar swings ``count`` times.

    Parameters
    ----------
    count
        Whole swings in the loop, 1 or above.
    frames
        Pictures in the loop, even.

    Returns
    -------
    swings
        Each instant once, -1 to 1, rising.
    places
        Which of them comes when, length ``frames / 2 + 1``; the other half runs back.
    """
    turned = count * np.arange(frames // 2 + 1) % frames
    # A cosine comes by each height on the way there and on the way back.
    swings, places = np.unique(-np.minimum(turned, frames - turned), return_inverse=True)
    return np.cos(2 * np.pi * swings / frames).tolist(), places.tolist()


def same_magnification(scenes: tuple[Scene, Scene]) -> tuple[Scene, Scene]:
    """Return the scenes with one magnification: what suits the bar that really moves more, or turns more."""
    wanted = []
    for scene in scenes:
        check_scene(scene)
        moves = drawn_movement(replace(scene, magnification=None), bar_surface(scene))
        wanted.append(float(np.linalg.norm(moves, axis=1).max()) / real_swing(scene))
    left, right = (replace(scene, magnification=min(wanted)) for scene in scenes)
    return left, right


def shared_stages(scenes: tuple[Scene, Scene], cell: tuple[int, int]) -> list[Stage]:
    """Return the stages of two panes with one camera and one range of colours.

    Parameters
    ----------
    scenes
        Left and right, with one magnification.
    cell
        Width and height of a pane [pixel].
    """
    stages = [build_stage(scene, cell) for scene in scenes]
    # Both stand at x = 0 in the bar frame, so the view that holds the larger one holds both.
    view = min((stage.view for stage in stages), key=lambda view: view.scale)
    most = [float(np.linalg.norm(stage.moves, axis=1).max()) for stage in stages]
    return [
        replace(stage, view=view, values=stage.values * (own / max(most)))
        for stage, own in zip(stages, most, strict=True)
    ]


def beside(left: Pictures, right: Pictures) -> Pictures:
    """Return two pictures (height, width, 3) as one, with a line between them."""
    whole = Image.fromarray(np.concatenate([left, right], axis=1))
    middle, height = left.shape[1], left.shape[0]
    ImageDraw.Draw(whole).line((middle, 0, middle, height), fill=COLOURS["section"], width=2)
    return np.asarray(whole)


def _lettered(
    pictures: Pictures, swings: Sequence[float], *, scene: Scene, stage: Stage, foot: str
) -> list[Pictures]:
    """Return the pictures of one pane with their words."""
    largest = float(np.linalg.norm(stage.moves, axis=1).max())
    lines = (mode_line(scene, edge=stage.edge_move, largest=largest), *scene.lines)
    made_up = made_up_lines(scene, stage.around.invented, aside=False)
    words = Words(title=scene.title, lines=lines, foot=foot, made_up=made_up)
    return letter(pictures, stage, swings=swings, words=words)


def swing_line(scene: Scene, *, load: str) -> str:
    """Return the line on how far the bar really moves under a load."""
    swing = real_swing(scene)
    size = f"{swing / INCH * 1000:.2g} thou" if scene.units == "inch" else f"{swing * 1e6:.2g} µm"
    return f"In this mode {load} swing it {size}"
