"""The options of ``listen`` for a recorded cut: speed, idling machine, another speed, marks, a set-up."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from stickout.cli.options import JsonTarget
from stickout.cli.outputs import STANDARD_OUTPUT, write_json, writing
from stickout.cli.run import load
from stickout.cli.version import TOOL, VERSION
from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain

if TYPE_CHECKING:
    from stickout.fem.bench.cutting import Recorded


@Parameter(name="*")
@dataclass(frozen=True)
class CuttingOptions:
    """A recording of a cut in place of taps."""

    rpm: Annotated[float | None, Parameter(help="The recording is of a cut at this spindle speed.")] = None
    rpm_error: Annotated[float, Parameter(help="How well the speed is known: 0.04 for a belt chart.")] = 0.04
    idle: Annotated[Path | None, Parameter(help="The machine at the same speed without a cut.")] = None
    other: Annotated[Path | None, Parameter(help="The same cut at another speed.")] = None
    other_rpm: Annotated[float | None, Parameter(help="Speed of --other, 5 per cent or more away.")] = None
    mains: Annotated[float | None, Parameter(help="Mains frequency, 50 or 60 Hz; both if left out.")] = None
    teeth: Annotated[tuple[int, ...], Parameter(negative="", help="Teeth of a gear on the spindle.")] = ()
    setup: Annotated[
        Path | None, Parameter(help="The set-up, to name the mode that sings, or to draw its modes.")
    ] = None


def listen_cutting(recording: Path, options: CuttingOptions, *, json: JsonTarget, plot: Path | None) -> None:
    """Tell what a recorded cut says: its lines, the note, forced or not, which mode; and draw it."""
    from stickout.fem.bench.cutting import Machine, Recorded, hear_cut
    from stickout.fem.bench.singers import singers

    cut = Recorded(recording, options.rpm or 0.0, options.rpm_error, options.idle)
    setup = None if options.setup is None else load(options.setup).setup
    modes = [] if setup is None else singers(setup)
    machine = Machine(options.mains, options.teeth)
    heard = hear_cut(cut, machine=machine, other=_other(options), modes=modes)
    if plot is not None:
        from stickout.cli.show.plots.squeal_plot import draw_squeal  # here: most runs draw nothing

        with writing(plot, key="--plot") as part:
            draw_squeal(heard, part)
    if json is not None:
        from stickout.fem.records.squeal import squeal_record

        write_json({"tool": TOOL, "version": VERSION, **squeal_record(heard)}, json)
    if json != STANDARD_OUTPUT:
        from stickout.cli.text.squeal_answer import squeal_text

        known = None if setup is None or setup.cut is None else setup.cut.work_diameter_mm
        diameter = None if known is None else 1e-3 * known
        sys.stdout.write(squeal_text(heard, diameter=diameter, units="mm" if setup is None else setup.units))


def _other(options: CuttingOptions) -> Recorded | None:
    """Return the recording at another speed."""
    from stickout.fem.bench.cutting import Recorded

    if (options.other is None) != (options.other_rpm is None):
        raise InputError(
            key="--other",
            given=Plain("one of --other and --other-rpm"),
            allowed="both or neither",
            mend="Give the recording and its speed.",
        )
    if options.other is None or options.other_rpm is None:
        return None
    return Recorded(options.other, options.other_rpm, options.rpm_error)
