"""The options of ``listen`` for a bar hung on threads, and its answer."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from stickout.cli.options import JsonTarget
from stickout.cli.outputs import STANDARD_OUTPUT, write_json
from stickout.cli.version import TOOL, VERSION
from stickout.fem.errors import InputError
from stickout.fem.nearest import MISSING

if TYPE_CHECKING:
    from stickout.fem.bench.listening import Heard


@Parameter(name="*")
@dataclass(frozen=True)
class HungOptions:
    """A plain round bar, hung on two threads and tapped: its Young's modulus."""

    hung_length: Annotated[float | None, Parameter(help="Length of a hung round bar, mm.")] = None
    hung_diameter: Annotated[float | None, Parameter(help="Its diameter, mm.")] = None
    hung_mass: Annotated[float | None, Parameter(help="Its mass, g, where it was weighed.")] = None


def tell_hung(heard: Heard, options: HungOptions, *, json: JsonTarget) -> None:
    """Tell the modulus of a hung bar from the notes that were heard.

    Raises
    ------
    InputError
        Length or diameter is missing, or no note was heard.
    """
    from stickout.cli.text.hung_answer import hung_text
    from stickout.fem.bench.hung import HungBar, read_hung
    from stickout.fem.records.bench import interval_record, listen_record

    if options.hung_length is None or options.hung_diameter is None:
        raise InputError(
            key="--hung-length and --hung-diameter",
            given=MISSING,
            allowed="both, in mm",
            mend="Measure the bar with callipers.",
        )
    mass = None if options.hung_mass is None else 1e-3 * options.hung_mass
    bar = HungBar(1e-3 * options.hung_length, 1e-3 * options.hung_diameter, mass)
    notes = sorted(one.frequency_hz.likely for one in heard.modes)
    hung = read_hung(bar, tuple(notes[:2]))
    if json is not None:
        told = {"youngs_modulus_pa": interval_record(hung.modulus), "overtone_over_expected": hung.overtone}
        write_json({"tool": TOOL, "version": VERSION, **listen_record(heard), "hung": told}, json)
    if json != STANDARD_OUTPUT:
        sys.stdout.write(hung_text(hung, notes=notes[:2]))
