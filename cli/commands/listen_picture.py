"""The options of ``listen`` for the picture of taps."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from stickout.cli.options import PlotTarget
from stickout.cli.outputs import writing
from stickout.cli.run import load
from stickout.fem.errors import InputError

if TYPE_CHECKING:
    from stickout.fem.bench.listening import Heard


@Parameter(name="*")
@dataclass(frozen=True)
class PictureOptions:
    """The picture, and what is drawn into it beside what was heard."""

    plot: PlotTarget = None
    comb: Annotated[
        float | None, Parameter(help="Draw into the picture of taps where a spindle's lines lie at this rpm.")
    ] = None

    def check(self) -> None:
        """Raise InputError for a speed that is none."""
        if self.comb is not None and not 0.0 < self.comb < 1e6:
            mend = "Give the speed of the cut."
            raise InputError(key="--comb", given=self.comb, allowed="a speed in rpm above 0", mend=mend)


def draw(heard: Heard, picture: PictureOptions, *, setup: Path | None) -> None:
    """Write the picture of what was heard, where one is asked for; with a set-up its modes are in it."""
    if picture.plot is None:
        return
    from stickout.cli.show.plots.listen_plot import Beside, draw_heard  # here: most runs draw nothing
    from stickout.fem.bench.singers import singers

    modes = [] if setup is None else singers(load(setup).setup)
    with writing(picture.plot, key="--plot") as part:
        draw_heard(heard, part, beside=Beside(modes, picture.comb))
