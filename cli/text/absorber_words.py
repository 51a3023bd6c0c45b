"""What is said of an absorber in the answers on a bar: what it is, and what it does to the note."""

from __future__ import annotations

from stickout.cli.text.words import hertz, plain
from stickout.fem.cut.absorber_notes import absorber_notes
from stickout.fem.setup.parts import Setup
from stickout.fem.study.result import Result
from stickout.fem.units import length_text

_WAYS = {"both": "free to swing every way", "up": "free up and down only", "sideways": "free sideways only"}


def absorber_words(setup: Setup) -> str:
    """Return what the absorber is, to follow the description of bar and grip; empty without one."""
    one = setup.absorber
    if one is None:
        return ""
    return (
        f" An absorber of {plain(one.mass_g, 3)} g {length_text(one.position_mm, setup.units)} from the "
        f"holder face, {_WAYS[one.direction]}, its own note {hertz(one.frequency_hz)}, its damping ratio "
        f"{plain(100 * one.damping_ratio)} %."
    )


def split_words(result: Result) -> str:
    """Return what the absorber makes of the note along the force; empty without one."""
    if result.setup.absorber is None:
        return ""
    found = absorber_notes(result)
    if found is None:
        return "The absorber does not feel the mode along the force: its place hardly moves that way."
    rings = " and ".join(f"{hertz(note)} (damping ratio {plain(100 * z)} %)" for note, z in found.modes)
    mu = found.mass_ratio
    ratio = f"{plain(100 * mu)} %" if mu < 1 else f"{plain(mu)} times"
    return (
        f"With the absorber the {hertz(float(result.frequency_hz[result.aligned]))} become {rings}, against "
        f"{plain(100 * found.zeta_bare)} % without. Its mass is {ratio} of the "
        f"{plain(1e3 * found.modal_mass, 3)} g that swing at its place."
    )
