"""What is said of an absorber in the answers on a bar: what it is, and what it does to the note."""

from __future__ import annotations

import math

from cli.words import hertz, plain
from fem.clamped_loss import mode_loss
from fem.cutting_absorber import MOVES
from fem.design.absorber import Pair, Tuning, coupled_modes
from fem.result import Result
from fem.setup import Setup
from fem.units import length_text

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
    """Return what the absorber makes of the note along the force; empty without one, or where it is still.

    One mode and the absorber along that mode's motion (Den Hartog; recalled, not opened).
    """
    one, place, at = result.setup.absorber, result.place, result.aligned
    if one is None or place is None:
        return ""
    # Of an equal pair the absorber takes the motion along its own way, whichever the force picks.
    pair = next((p for p in result.pairs if at in p), (at,)) if one.direction != "both" else (at,)
    moved = place.phi[list(pair)][:, MOVES[one.direction]].ravel()
    mu = one.mass_g * 1e-3 * float(moved @ moved)
    if not mu > 1e-9:
        return "The absorber does not feel the mode along the force: its place hardly moves that way."
    note = float(result.frequency_hz[at])
    zeta = float(mode_loss(result.setup, result.shares)[at]) / 2
    modes = coupled_modes(Pair(mu, Tuning(one.frequency_hz / note, one.damping_ratio), zeta))
    rings = " and ".join(f"{hertz(r * note)} (damping ratio {plain(100 * z)} %)" for r, z in modes)
    ratio = f"{plain(100 * mu)} %" if mu < 1 else f"{plain(mu)} times"
    share = f"Its mass is {ratio} of the {plain(1e3 / float(moved @ moved), 3)} g that swing at its place"
    if not math.isfinite(note) or not rings:
        return f"{share}."
    return (
        f"With the absorber the {hertz(note)} become {rings}, against {plain(100 * zeta)} % without. {share}."
    )
