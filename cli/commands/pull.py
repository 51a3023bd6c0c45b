"""The command ``pull``: stiffness from loads and dial readings."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from stickout.cli.options import JsonTarget
from stickout.cli.outputs import STANDARD_OUTPUT, check_answer, write_json
from stickout.cli.version import TOOL, VERSION
from stickout.fem.errors import InputError
from stickout.fem.nearest import MISSING

LogFile = Annotated[Path, Parameter(help="The log of the bar: TOML with [[pull]] entries.")]


def pull(log: LogFile, /, *, json: JsonTarget = None) -> None:
    """Tell how stiff it is from pulls: loads and dial readings, up and down.

    Parameters
    ----------
    log
        The log of the bar, with one [[pull]] or more.
    json
        File for the result; - for standard output, in place of the answer.
    """
    check_answer(json)
    from stickout.fem.bench.log import read_log
    from stickout.fem.bench.pull import read_pull

    logged = read_log(log)
    pulls = [read_pull(one) for one in logged.pulls]
    if not pulls:
        mend = "Add base, load_at, dial_at, loads_n and readings_um under [[pull]]."
        raise InputError(key="pull", given=MISSING, allowed="one [[pull]] or more", mend=mend)
    if json is not None:
        from stickout.fem.records.bench import pull_record

        write_json({"tool": TOOL, "version": VERSION, **pull_record(pulls)}, json)
    if json != STANDARD_OUTPUT:
        from stickout.cli.text.pull_answer import pull_text

        sys.stdout.write(pull_text(pulls, logged.units))
