"""The command ``listen``: notes and damping of a tapped bar from recordings."""

from __future__ import annotations

import sys
from pathlib import Path

from stickout.cli.commands.listen_cutting import CuttingOptions, listen_cutting
from stickout.cli.commands.listen_hung import HungOptions, tell_hung
from stickout.cli.commands.listen_picture import PictureOptions, draw
from stickout.cli.options import JsonTarget
from stickout.cli.outputs import STANDARD_OUTPUT, check_answer, write_json
from stickout.cli.version import TOOL, VERSION
from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain


def listen(
    first: Path,
    /,
    *more: Path,
    cutting: CuttingOptions | None = None,
    hung: HungOptions | None = None,
    json: JsonTarget = None,
    picture: PictureOptions | None = None,
) -> None:
    """Tell the notes of a tapped bar and how fast they die away; with --rpm, what a recorded cut says.

    Parameters
    ----------
    first
        A recording with three or more taps.
    more
        Further recordings of the same bar in the same state: other directions, other places of the phone.
    cutting
        Speed and more of a recorded cut.
    hung
        Size of a bar that was hung on threads.
    json
        File for the result; - for standard output, in place of the answer.
    picture
        File for the picture: taps, spectrum, decay; of a cut its lines and the comb of the spindle.
    """
    plot = None if picture is None else picture.plot
    check_answer(json, plot)
    if picture is not None:
        picture.check()
    setup = None if cutting is None else cutting.setup
    if cutting is not None and cutting != CuttingOptions(setup=setup):
        if cutting.rpm is None or more:
            raise InputError(
                key="--rpm",
                given=Plain("options of a recorded cut beside taps, or several recordings"),
                allowed="one recording of a cut with its --rpm",
                mend="Give --rpm and one recording; taps are listened to without these options.",
            )
        listen_cutting(first, cutting, json=json, plot=plot)
        return
    from stickout.fem.bench.listening import listen as listen_to

    heard = listen_to([first, *more])
    if picture is not None:
        draw(heard, picture, setup=setup)
    if hung is not None and hung != HungOptions() and heard.modes:
        tell_hung(heard, hung, json=json)
        return
    if json is not None:
        from stickout.fem.records.bench import listen_record

        write_json({"tool": TOOL, "version": VERSION, **listen_record(heard)}, json)
    if json != STANDARD_OUTPUT:
        from stickout.cli.text.listen_answer import listen_text

        sys.stdout.write(listen_text(heard))
