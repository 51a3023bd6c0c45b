"""What a set-up takes from tables and habit, by key: two set-ups that share a key share the number.

The steel of a bar is the same steel before and after a change, and so is a face that the change leaves
alone; a face that the change makes new (a shim's) has a stiffness of its own that nobody knows.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.cut.flank import wave_star
from stickout.fem.force.case import CutCase
from stickout.fem.setup.bands import Band, latin_hypercube, triangular
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.post import post_numbers
from stickout.fem.solid.carrier import CARRIER
from stickout.fem.solid.setting import owner_of
from stickout.fem.study.clamped_loss import given_by_user, seat_loss
from stickout.fem.study.on_post import carrier_of
from stickout.meshes.tagged import FloatArray

SEAT: Final = "seat"
RUBBING: Final = "loose wrap"
FORCE: Final = "force"
FLANK: Final = "flank"
NORMAL, SHEAR = "normal", "shear"


@dataclass(frozen=True)
class Input:
    """A number known within a band, and which parts of a reduced model it rules.

    Attributes
    ----------
    key
        Name that set-ups share when they share the number.
    band
        Low, likely and high.
    stiffness, mass, loss
        Parts whose stiffness or mass scales with it, and parts whose loss factor it is.
    cut
        ``force`` or ``flank`` where the cut's force, or the wave that its flank holds down, scales with it.
    """

    key: str
    band: Band
    stiffness: tuple[str, ...] = ()
    mass: tuple[str, ...] = ()
    loss: tuple[str, ...] = ()
    cut: str = ""


def joint_part(name: str, way: str) -> str:
    """Return the name of the normal or the shear part of a joint or bed."""
    return f"{name}, {way}"


def setup_inputs(
    setup: Setup, *, regions: Iterable[str], ties: Sequence[str], faces_lose: bool = False
) -> list[Input]:
    """Return the inputs of a set-up that have a band worth following.

    Parameters
    ----------
    setup
        The set-up.
    regions
        Regions of its mesh.
    ties
        Beds and joints of its model.
    faces_lose
        Whether the faces' own loss is an input though the user gave none: where it is to be learnt.

    Returns
    -------
    list of Input
        Moduli, densities and loss factors of the materials; stiffness and shear ratio of every joint; the
        loss of the clamping as a cut counts it, see ``stickout.fem.study.clamped_loss``: of one seat where
        two set-ups are held by the same faces, of the faces where the user gave their loss; rubbing of a
        loose wrap where the user gave a figure. Poisson's ratio is taken as known.
    """
    given = given_by_user(setup)
    found = [
        *_materials(setup, list(regions)),
        *_joints(setup, ties, lose=given or faces_lose),
        *_post(setup),
    ]
    if not given:
        band = seat_loss(setup)
        where = f" with {', '.join(ties)}" if ties else ""
        found.append(Input(_key(f"loss of the clamping{where}", band), band, loss=(SEAT,)))
    rubbing = setup.turns.rubbing_loss_factor if setup.turns is not None else None
    if rubbing:
        band = Band(0.0, 0.0, rubbing, "from none to what the user gave")
        found.append(Input("rubbing of the loose wrap", band, loss=(RUBBING,)))
    return found


def cut_inputs(case: CutCase | None) -> list[Input]:
    """Return what of a cut is known within a band: its force, and the wave that its flank holds down."""
    if case is None:
        return []
    low, high = case.push_band
    force = Band(low, 1.0, high, case.material.name)
    star = wave_star(case)
    return [
        Input(_key(f"force of {case.material.name}", force), force, cut=FORCE),
        Input(_key("rubbing of the flank", star), star, cut=FLANK),
    ]


def _materials(setup: Setup, regions: Sequence[str]) -> Iterable[Input]:
    """Yield modulus, density and loss factor of every material that is modelled."""
    of: dict[str, list[str]] = {}
    for region in regions:
        of.setdefault(owner_of(region), []).append(region)
    grouped: dict[tuple[str, Band], list[str]] = {}
    for owner, parts in of.items():
        material = setup.materials[owner]
        grouped.setdefault((material.name, material.loss_factor), []).extend(parts)
    for (name, loss), parts in grouped.items():
        owner = owner_of(parts[0])
        material = setup.materials[owner]
        named = tuple(parts)
        yield Input(_key(f"modulus of {name}", material.youngs_modulus), material.youngs_modulus, named)
        yield Input(_key(f"density of {name}", material.density), material.density, (), named)
        yield Input(_key(f"loss factor of {name}", loss), loss, loss=named)
    if setup.wrap is not None and "wrap" not in of:
        material = setup.materials["wrap"]
        yield Input(_key(f"density of {material.name}", material.density), material.density, (), (RUBBING,))


def _joints(setup: Setup, ties: Sequence[str], *, lose: bool) -> Iterable[Input]:
    """Yield stiffness and shear ratio of every bed and joint, and where it counts its loss factor."""
    faces = setup.grip.faces
    if faces is None:
        return
    for name in ties:
        both = (joint_part(name, NORMAL), joint_part(name, SHEAR))
        stiffness, shear, loss = faces.normal_n_per_um_mm2, faces.shear_ratio, faces.loss_factor
        yield Input(_key(f"stiffness of {name}", stiffness), stiffness, both)
        yield Input(_key(f"shear ratio of {name}", shear), shear, both[1:])
        if lose:
            yield Input(_key(f"loss factor of {name}", loss), loss, loss=both)


def _post(setup: Setup) -> Iterable[Input]:
    """Yield springs, mass and loss of what carries the holder; its springs go together."""
    if carrier_of(setup) is None or setup.post is None:
        return
    numbers = post_numbers(setup.post)
    spring, mass, loss = numbers.ruling, numbers.mass, numbers.loss
    yield Input(_key("springs of the post", spring), spring, (CARRIER,))
    yield Input(_key("mass on the post", mass), mass, (), (CARRIER,))
    yield Input(_key("loss factor of the post", loss), loss, loss=(CARRIER,))


def _key(words: str, band: Band) -> str:
    """Return the key of a number: the same words with another value are another number."""
    return f"{words} [{band.low:g} {band.likely:g} {band.high:g}]"


def key_words(key: str) -> str:
    """Return a key without its numbers, for people."""
    return key.partition(" [")[0]


def draw(inputs: Iterable[Input], *, count: int = 200, seed: int = 20240229) -> dict[str, FloatArray]:
    """Return values of every input, by key; the first of each is the likely one.

    Parameters
    ----------
    inputs
        Inputs of all set-ups that are compared.
    count
        Number of samples beside the likely one, ten or more.
    seed
        Seed of the stratified sampling.

    Returns
    -------
    dict
        Key -> values, shape (count + 1,). Triangular over the logarithm, the likely value at the top;
        over the value itself where the band reaches zero.

    Source
    ------
    Latin hypercube: McKay, Beckman & Conover 1979 (recalled, not opened); the shape is own choice.
    """
    bands = {one.key: one.band for one in inputs}
    shares = latin_hypercube(np.random.default_rng(seed), count=count, inputs=len(bands))
    out = {}
    for key, share in zip(sorted(bands), shares, strict=True):
        band = bands[key]
        out[key] = np.concatenate([[band.likely], triangular(share, (band.low, band.likely, band.high))])
    return out


def factors(one: Input, values: Mapping[str, FloatArray]) -> FloatArray:
    """Return the drawn values of an input over its likely one, shape (count + 1,)."""
    return values[one.key] / one.band.likely if one.band.likely else np.ones_like(values[one.key])
