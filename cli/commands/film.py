"""The command ``film``: one mode as a loop, or the first four as a still sheet."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import numpy as np
from cyclopts import Parameter

from stickout.cli.options import Changes, SetupFile, pixels, whole_number
from stickout.cli.outputs import check_suffix, check_target
from stickout.cli.run import load
from stickout.cli.solving import solve
from stickout.cli.text.words import hertz
from stickout.fem.errors import InputError
from stickout.fem.force.case import cut_case, described
from stickout.fem.nearest import Plain

if TYPE_CHECKING:
    from stickout.cli.show.scene.film import DrawReport
    from stickout.cli.show.scene.scene import Scene
    from stickout.fem.setup.parts import Cut, Setup
    from stickout.fem.study.result import Result

ModeNumber = Annotated[
    int | None,
    Parameter(converter=whole_number, help="Number of the mode, from 1; without it the one along the force."),
]
FilmSize = Annotated[
    tuple[int, int] | None,
    Parameter(
        converter=pixels,
        n_tokens=1,
        accepts_keys=False,
        help="Width x height in pixels, 1920x1080 for a projector. Without it 960x540; a sheet 1600x900.",
    ),
]
LOOPS = (".gif", ".mp4", ".webm")
SHEET = ".png"
_SHEET_MODES = 4
_LEAST_SWING = 1e-8  # m; a smaller one would be drawn with a magnification nobody can picture


@Parameter(name="*")
@dataclass(frozen=True)
class WhatMoves:
    """Which motion is drawn; nothing said: the mode along the force."""

    mode: ModeNumber = None
    limiting: Annotated[
        bool,
        Parameter(help="The mode that limits the cut; it may be another than the one along the force."),
    ] = False
    together: Annotated[
        bool,
        Parameter(help="Tool, post, part and supports on one clock, at the pitch where the cut sings."),
    ] = False


ALONG: Final = WhatMoves()


def film(
    setup: SetupFile,
    /,
    *,
    out: Annotated[Path, Parameter(help="The file: .gif, .mp4 or .webm for a loop, .png for a still sheet.")],
    moves: WhatMoves = ALONG,
    size: FilmSize = None,
    changes: Changes = (),
) -> None:
    """Draw a mode of the held bar, moving, or a still sheet of the first four.

    Parameters
    ----------
    setup
        The set-up file.
    out
        The file to be; its suffix says what is drawn.
    moves
        Which motion.
    size
        Width and height [pixel].
    changes
        Changes of the set-up's keys for this run.
    """
    mode, limiting = moves.mode, moves.limiting

    def wishes(setup: Setup) -> None:
        check_wishes(out, mode, n_modes=setup.solve.modes)
        if limiting:
            check_limiting(out, mode, cut=setup.cut)
        if moves.together:
            check_beside(out, setup, numbered=mode is not None or limiting)

    read = load(setup, changes, needs=wishes)
    result = solve(read.setup).result
    if moves.together:
        film_together(result, out)
        return
    limits = limiting_mode(result) if limiting else None
    from stickout.cli.show.scene.film import (  # draws, so it comes after the checks
        FILM_SIZE,
        SHEET_SIZE,
        write_film,
        write_sheet,
    )

    if out.suffix.lower() == SHEET:
        numbers = range(min(_SHEET_MODES, result.n_modes)) if mode is None else [mode - 1]
        report = write_sheet([scene_of(result, at) for at in numbers], out, size=size or SHEET_SIZE)
        what = sheet_words([at + 1 for at in numbers])
    else:
        chosen = limits if mode is None else mode - 1
        at = result.aligned if chosen is None else chosen
        report = write_film(scene_of(result, at), out, size=size or FILM_SIZE)
        what = film_words(result, at, limits=limits)
    sys.stdout.write(f"{what} {file_words(report)}\n")


def check_wishes(out: Path, mode: int | None, *, n_modes: int) -> None:
    """Check, before anything is computed, that the picture can be made and written.

    Raises
    ------
    InputError
        The suffix is not known, its package is missing, the mode is not among those solved, or the file
        cannot be written.
    """
    suffix = out.suffix.lower()
    check_suffix(out, (*LOOPS, SHEET), key="--out", mend="Use .gif for a film.")
    if mode is not None and not 1 <= mode <= n_modes:
        mend = "Modes are counted from 1; the set-up's solve.modes says how many are solved."
        raise InputError(key="--mode", given=mode, allowed=f"from 1 to {n_modes}", mend=mend)
    if suffix in (".mp4", ".webm"):
        from stickout.cli.show.scene.video import check_video

        check_video(out)
    check_target(out, key="--out")


def check_beside(out: Path, setup: Setup, *, numbered: bool) -> None:
    """Check that tool and part can be drawn together: no mode beside it, a part or a post, and a cut.

    Raises
    ------
    InputError
        As above.
    """
    if numbered:
        mend = "Leave --mode and --limiting out: all modes move together."
        raise InputError(
            key="--together", given=Plain("with a mode"), allowed="without --mode, --limiting", mend=mend
        )
    from stickout.cli.show.plots.beside import check_together

    check_together(setup)
    cut_case(setup)


def film_together(result: Result, out: Path) -> None:
    """Draw tool, post, part and supports on one clock, and say who moves how much."""
    from stickout.cli.show.plots.together_plot import draw_together
    from stickout.fem.cut.answer import cut_answer

    said = draw_together(cut_answer(result), out)
    sys.stdout.write(f"{said} Written to {out}.\n")


def check_limiting(out: Path, mode: int | None, *, cut: Cut | None) -> None:
    """Check that the mode that limits can be asked for: one loop, no number beside it, and a cut.

    Raises
    ------
    InputError
        A number is given as well, the file is a still sheet, or the set-up has no whole cut.
    """
    if mode is not None:
        mend = "Leave --mode out: --limiting finds the number itself."
        raise InputError(
            key="--limiting", given=Plain(f"with --mode {mode}"), allowed="one of them", mend=mend
        )
    if out.suffix.lower() == SHEET:
        mend = "Give a file that ends in .gif, or leave --limiting out."
        raise InputError(key="--limiting", given=str(out), allowed="with a loop", mend=mend)
    if cut is None:
        mend = "Add a [cut] section: operation, work_material, depth, feed, nose_radius, edge_angle_deg."
        raise InputError(
            key="--limiting", given=Plain("a set-up without [cut]"), allowed="with a [cut]", mend=mend
        )
    described(cut)


def limiting_mode(result: Result) -> int:
    """Return the mode of the tool that limits the cut, counted from 0.

    Raises
    ------
    InputError
        The work limits the cut, or no mode of the tool is driven by it.
    """
    from stickout.fem.cut.answer import cut_answer

    found = cut_answer(result).limiting
    if found is None:
        raise InputError(
            key="--limiting",
            given=Plain("a cut that no mode of the tool limits (the work gives first, or nothing does)"),
            allowed="a cut that a mode of the tool limits",
            mend="Leave --limiting out to see the mode along the force.",
        )
    return found


def scene_of(result: Result, at: int) -> Scene:
    """Return the picture of one mode, counted from 0: force, share, and the size of its real swing."""
    from stickout.cli.show.scene.scene import Scene

    moves = bool(result.moves[at])
    return Scene(
        mesh=result.model.mesh,
        shape=result.modes.shapes[at],
        frequency_hz=float(result.frequency_hz[at]),
        title=result.setup.title or "Held bar",
        number=at + 1,
        kind=result.kinds[at],
        force=np.asarray(result.loading.direction),
        share=float(result.alignment[at]) if moves else None,
        grip=result.setup.grip.style,
        swing_m=swing_of(result, at),
        units=result.setup.units,
        setup=result.setup,
    )


def swing_of(result: Result, at: int) -> float | None:
    """Return how far the steady force of the cut would carry the mode [m], None where it is not known."""
    from stickout.fem.force.loading import cutting_force
    from stickout.fem.study.levers import mode_swing

    cut = result.setup.cut
    if cut is None or result.loading.how != "force model":
        return None
    force = cutting_force(cut)[0]
    swing = mode_swing(result, at, force_n=float(np.linalg.norm([force.c, force.f, force.p])))
    return float(f"{swing:.2g}") if swing > _LEAST_SWING else None


def film_words(result: Result, at: int, *, limits: int | None = None) -> str:
    """Return what the film shows; ``limits`` is the mode that limits the cut, where that was asked."""
    along = at == result.aligned and result.setup.cut is not None
    said = [
        text for true, text in ((along, "along the cutting force"), (at == limits, "that limits")) if true
    ]
    which = f", the one {' and the one '.join(said)}," if said else ""
    return f"Mode {at + 1}{which} at {hertz(float(result.frequency_hz[at]))}, as a loop."


def sheet_words(numbers: list[int]) -> str:
    """Return what the sheet shows."""
    if len(numbers) == 1:
        return f"Mode {numbers[0]}, as a still picture."
    return f"Modes {numbers[0]} to {numbers[-1]}, as a still sheet."


def file_words(report: DrawReport) -> str:
    """Return which file was written and how large it is."""
    size = report.path.stat().st_size / 1000
    return f"Movement is magnified; the picture says how much. Written to {report.path} ({size:.0f} kB)."
