"""The loops of a club pack: first modes, that along the force, tool and part together, before and after."""

from __future__ import annotations

import importlib.util
import shutil
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from stickout.cli.commands.film import scene_of
from stickout.cli.show.scene.film import write_films, write_loop
from stickout.cli.show.scene.picture import Pictures
from stickout.cli.show.scene.scene import Scene
from stickout.cli.show.scene.two_panes import swing_line, write_two_panes
from stickout.cli.text.words import hertz, load_n, load_name
from stickout.fem.study.levers import mode_swing
from stickout.fem.study.result import Result

FIRST_MODES: Final = 4
ALONG: Final = "mode_along_force"
BOTH: Final = "before_after"
TOGETHER: Final = "together"
VIDEO: Final = (".mp4", ".webm")
FRAMES: Final = 40
LOOP: Final = (960, 540)
SLIDE: Final = (1280, 720)
PANES: Final = {".gif": (1280, 540), ".mp4": SLIDE, ".webm": SLIDE}


def video_suffixes() -> tuple[str, ...]:
    """Return the video formats that can be written here: none without the extra ``video``."""
    return VIDEO if importlib.util.find_spec("imageio_ffmpeg") is not None else ()


def write_modes(result: Result, folder: Path) -> dict[str, str]:
    """Write the loops of the first modes and of the one along the force.

    Parameters
    ----------
    result
        What the study found.
    folder
        Where they go.

    Returns
    -------
    dict
        Name of each file -> what it is.

    Raises
    ------
    InputError, SolveError
        As ``write_films``.
    """
    numbers = list(range(min(FIRST_MODES, result.n_modes)))
    stems = {at: [f"mode_{at + 1}"] for at in numbers}
    stems.setdefault(result.aligned, []).append(ALONG)
    scenes = {at: scene_of(result, at) for at in stems}
    films = [(scenes[at], [folder / f"{names[0]}.gif"]) for at, names in stems.items()]
    write_films(films, size=LOOP, frames=FRAMES)
    if video_suffixes():
        slides = [(scenes[at], [folder / f"{names[0]}{one}" for one in VIDEO]) for at, names in stems.items()]
        write_films(slides, size=SLIDE, frames=FRAMES)
    names: dict[str, str] = {}
    for at, (first, *copies) in stems.items():
        for suffix in (".gif", *video_suffixes()):
            for copy in copies:
                shutil.copyfile(folder / f"{first}{suffix}", folder / f"{copy}{suffix}")
        names |= {stem: _mode_words(result, at, stem) for stem in (first, *copies)}
    return {f"{stem}{one}": words for stem, words in names.items() for one in (".gif", *video_suffixes())}


def _mode_words(result: Result, at: int, stem: str) -> str:
    """Return what the loop of a mode is."""
    words = f"mode {at + 1}, {result.kinds[at]}, {hertz(float(result.frequency_hz[at]))}"
    return f"the mode along the force: {words}" if stem == ALONG else words


def write_before_after(pair: tuple[Result, Result], change: str, *, folder: Path) -> dict[str, str]:
    """Write the loop of a bar before and after a change, on one clock and one scale.

    Parameters
    ----------
    pair
        Before and after.
    change
        The change in words.
    folder
        Where it goes.

    Returns
    -------
    dict
        Name of each file -> what it is.

    Raises
    ------
    InputError, SolveError
        As ``write_two_panes``.
    """
    before, after = pair
    scenes = (_pane(before, "Before", ()), _pane(after, "After", (f"with {change}",)))
    names = [f"{BOTH}{suffix}" for suffix in (".gif", *video_suffixes())]
    for name in names:
        write_two_panes(scenes, folder / name, size=PANES[Path(name).suffix])
    load = load_name(before.setup.units)
    return dict.fromkeys(names, f"before and after {change}: one clock, one scale, the same {load}")


def write_together(result: Result, folder: Path) -> tuple[dict[str, str], list[Pictures]]:
    """Write tool, part and supports on one clock: a loop, and a still slide of three moments.

    Parameters
    ----------
    result
        What the study found.
    folder
        Where they go.

    Returns
    -------
    tuple of dict and list of ndarray
        Name of each file -> what it is, and the pictures of the loop; both empty where that cannot be drawn.
    """
    from stickout.cli.show.pages.viewer import together_answer

    answer = together_answer(result)
    if answer is None:
        return {}, []
    from stickout.cli.show.plots.together_plot import draw_strip, together_frames  # here: few bars need it

    names = [f"{TOGETHER}{suffix}" for suffix in (".gif", *video_suffixes())]
    pictures = together_frames(answer)
    for name in names:
        write_loop(pictures, folder / name, order=range(len(pictures)))
    slide = f"{TOGETHER}.png"
    draw_strip(answer, folder / slide)
    files = {
        **dict.fromkeys(names, "tool and part together, where the cut sings"),
        slide: "the same as a slide: three moments of the swing",
    }
    return files, pictures


def _pane(result: Result, title: str, lines: Sequence[str]) -> Scene:
    """Return the mode along the force, its swing that of the usual load."""
    at, units = result.aligned, result.setup.units
    swing = mode_swing(result, at, force_n=load_n(units))
    scene = replace(scene_of(result, at), title=title, swing_m=swing)
    return replace(scene, lines=(*lines, swing_line(scene, load=load_name(units))))
