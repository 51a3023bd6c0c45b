"""From a result to its energy picture: the mode along the force coloured, all modes as bars."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from stickout.cli.text.words import hertz

if TYPE_CHECKING:
    from stickout.fem.study.result import Result


def write_energy_picture(result: Result, out: Path) -> str:
    """Write the energy picture of a result and return what to say of it.

    Parameters
    ----------
    result
        What the study found.
    out
        A file that ends in .png or .svg.

    Raises
    ------
    InputError
        The file cannot be written.
    """
    from stickout.cli.commands.film import scene_of
    from stickout.cli.show.scene.energy import EnergyPicture, write_energy
    from stickout.fem.solid.energy import node_densities

    at, n = result.aligned, result.n_modes
    names = [f"mode {i + 1}, {hertz(float(result.frequency_hz[i]))}" for i in range(n)]
    picture = EnergyPicture(
        scene=scene_of(result, at),
        density=node_densities(result.model, result.modes.shapes[at]),
        shares={name: values[:n] for name, values in result.shares.items()},
        names=names,
    )
    write_energy(picture, out)
    return f"Where the energy is: {out} ({out.stat().st_size / 1000:.0f} kB)."
