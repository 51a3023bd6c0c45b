"""Films and sheets: a loop of one mode as .gif, .mp4 or .webm, and a still sheet of several modes."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image

from stickout.cli.outputs import check_suffix, writing
from stickout.cli.show.scene.captions import made_up_lines, mode_line, scale_line
from stickout.cli.show.scene.gif import FRAME_S, save_gif
from stickout.cli.show.scene.lettering import Words, letter
from stickout.cli.show.scene.picture import Pictures, draw
from stickout.cli.show.scene.scene import Scene, magnification
from stickout.cli.show.scene.stage import Stage, build_stage
from stickout.cli.show.scene.video import check_video, write_video
from stickout.meshes.errors import InputError

FILM_SUFFIXES = (".gif", ".mp4", ".webm")
FILM_SIZE = (960, 540)
SHEET_SIZE = (1600, 900)


@dataclass(frozen=True)
class DrawReport:
    """What was drawn.

    Attributes
    ----------
    path
        The file.
    frames
        Pictures in the loop, 1 for a sheet.
    size
        Width and height [pixel].
    """

    path: Path
    frames: int
    size: tuple[int, int]


def loop_swings(frames: int) -> list[float]:
    """Return the ``frames / 2 + 1`` different swings of a sine loop, from one end to the other."""
    return [float(np.cos(2 * np.pi * at / frames)) for at in range(frames // 2 + 1)]


def loop_order(frames: int) -> list[int]:
    """Return which of the different pictures comes when, length ``frames``; the loop closes on itself."""
    return [min(at, frames - at) for at in range(frames)]


def write_film(
    scene: Scene,
    out: Path,
    *,
    size: tuple[int, int] = FILM_SIZE,
    frames: int = 40,
) -> DrawReport:
    """Draw one mode as a loop and write it.

    Parameters
    ----------
    scene
        What is shown.
    out
        A file that ends in .gif, or with the extra ``video`` in .mp4 or .webm.
    size
        Width and height [pixel], even, 320 x 180 or above.
    frames
        Pictures in one loop, even, 8 to 200.

    Returns
    -------
    DrawReport

    Raises
    ------
    InputError
        The scene cannot be drawn, the suffix or a number is not allowed, a package is missing, or the
        file cannot be written.
    SolveError
        Two neighbouring pictures came out the same.
    """
    return write_films([(scene, [Path(out)])], size=size, frames=frames)[0]


def write_films(
    films: Sequence[tuple[Scene, Sequence[Path]]],
    *,
    size: tuple[int, int] = FILM_SIZE,
    frames: int = 40,
) -> list[DrawReport]:
    """Draw several modes as loops and write each to one file or more; all are written, or none.

    Parameters
    ----------
    films
        Scenes with the files that each goes to; see ``write_film``.
    size, frames
        As in ``write_film``.

    Returns
    -------
    list of DrawReport
        One for each file, in the order given; empty where no film is asked for.

    Raises
    ------
    InputError, SolveError
        As ``write_film``.
    """
    for out in (one for _, outs in films for one in outs):
        check_film(out, FILM_SUFFIXES, size=size, frames=frames)
        if out.suffix.lower() != ".gif":
            check_video(out)
    reports: list[DrawReport] = []
    with ExitStack() as files:
        parts = [[(out, files.enter_context(writing(out, key="--out"))) for out in outs] for _, outs in films]
        swings = loop_swings(frames)
        stages = [build_stage(scene, size) for scene, _ in films]
        for (scene, _), stage, targets in zip(films, stages, parts, strict=True):
            words = words_of(scene, stage, period_s=frames * FRAME_S)
            lettered = letter(draw(stage, swings), stage, swings=swings, words=words)
            for out, part in targets:
                write_loop(lettered, part, order=loop_order(frames))
                reports.append(DrawReport(out, frames, size))
    return reports


def write_loop(pictures: Sequence[Pictures], path: Path, *, order: Sequence[int]) -> None:
    """Write lettered pictures (height, width, 3) as a loop in the format of the file's suffix.

    Parameters
    ----------
    pictures
        The different pictures.
    path
        A file that ends in .gif, .mp4 or .webm.
    order
        Which picture is shown when, by its index.
    """
    if path.suffix.lower() == ".gif":
        save_gif(pictures, path, order=order)
    else:
        write_video([pictures[at] for at in order], path)


def write_sheet(scenes: Sequence[Scene], out: Path, *, size: tuple[int, int] = SHEET_SIZE) -> DrawReport:
    """Draw the first four modes, or fewer, side by side at full swing and write a .png.

    Parameters
    ----------
    scenes
        One to four scenes.
    out
        A file that ends in .png.
    size
        Width and height of the whole sheet [pixel], even, 320 x 180 or above.

    Returns
    -------
    DrawReport

    Raises
    ------
    InputError
        As ``write_film``, and for no scene or more than four.
    """
    out = Path(out)
    check_film(out, (".png",), size=size, frames=8)
    if not 1 <= len(scenes) <= 4:
        raise InputError(key="scenes", given=len(scenes), allowed="1 to 4", mend="Show the first four modes.")
    cell = size if len(scenes) == 1 else (size[0] // 2, size[1] // 2 if len(scenes) > 2 else size[1])
    with writing(out, key="--out") as temporary:
        stages = [build_stage(scene, cell) for scene in scenes]
        sheet = Image.new("RGB", size, "white")
        for at, (scene, stage) in enumerate(zip(scenes, stages, strict=True)):
            words = words_of(scene, stage, period_s=None)
            (picture,) = letter(draw(stage, [1.0]), stage, swings=[1.0], words=words)
            sheet.paste(Image.fromarray(picture), (cell[0] * (at % 2), cell[1] * (at // 2)))
        sheet.save(temporary)
    return DrawReport(path=out, frames=1, size=size)


def words_of(scene: Scene, stage: Stage, *, period_s: float | None) -> Words:
    """Return the lines of a picture; ``period_s`` is None for a still."""
    largest = float(np.linalg.norm(stage.moves, axis=1).max())
    return Words(
        title=scene.title,
        lines=(mode_line(scene, edge=stage.edge_move, largest=largest), *scene.lines),
        foot=scale_line(scene, magnification(scene, stage.moves), period_s=period_s),
        made_up=made_up_lines(scene, stage.around.invented, aside=stage.around.cutter.aside),
    )


def check_film(out: Path, suffixes: Sequence[str], *, size: tuple[int, int], frames: int) -> None:
    """Raise InputError for a suffix, a size or a number of frames that is not allowed."""
    check_suffix(out, suffixes, key="--out")
    if size[0] < 320 or size[1] < 180 or size[0] % 2 or size[1] % 2:
        raise InputError(key="size", given=size, allowed="even and 320 x 180 or above", mend="Use 960 x 540.")
    if not 8 <= frames <= 200 or frames % 2:
        raise InputError(key="frames", given=frames, allowed="even, 8 to 200", mend="Use 40.")
