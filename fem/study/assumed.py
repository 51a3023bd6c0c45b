"""Every number a study took from a table or from habit, with its band and source."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from stickout.fem.beam.centres import assumed_ends
from stickout.fem.force.loading import DEFAULT_SPLIT, Loading
from stickout.fem.setup.bands import USER_SOURCE, Band
from stickout.fem.setup.joints import Joint
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.post import post_numbers
from stickout.fem.setup.usual import Usual
from stickout.fem.study.result import Assumption
from stickout.fem.units import MM

_QUANTITIES = (
    ("youngs_modulus", "Young's modulus", "Pa"),
    ("poisson_ratio", "Poisson's ratio", ""),
    ("density", "density", "kg/m3"),
    ("loss_factor", "loss factor", ""),
)


def assumptions(setup: Setup, push: Loading) -> list[Assumption]:
    """Return what was assumed for a set-up; numbers the user gave are left out.

    Parameters
    ----------
    setup
        The set-up.
    push
        The direction of the force, and how it is known.

    Returns
    -------
    list of Assumption
        Materials of the parts that are modelled, springs of the grip, split of the force.
    """
    return [a for a in _all(setup, push) if a.band.source != USER_SOURCE]


def _all(setup: Setup, push: Loading) -> Iterator[Assumption]:
    for region, material in setup.materials.items():
        if region == "work":
            continue
        loose = region == "wrap" and setup.wrap is not None and setup.wrap.bond == "loose"
        for key, words, unit in _QUANTITIES:
            if key == "density" or not loose:  # a loose wrap is weight only
                yield Assumption(f"{region} {words} ({material.name})", getattr(material, key), unit)
    yield from usual_assumptions(setup.usual)
    if setup.grip.springs is not None:
        yield from _faces(setup.grip.faces_name, setup.grip.springs)
    for spring in assumed_ends(setup):
        yield Assumption(spring.name, spring.band, "N m/rad" if spring.tilts else "N/m")
    if setup.post is not None:
        for name, band, unit in post_numbers(setup.post).assumed:
            yield Assumption(name, band, unit)
    if push.how == "default split":
        source = "common practice, no source"
        yield Assumption("feed over cutting force", Band(0.3, DEFAULT_SPLIT.f, 0.5, source), "")
        yield Assumption("passive over cutting force", Band(0.1, DEFAULT_SPLIT.p, 0.5, source), "")
    if push.how == "no cut":
        yield Assumption(
            "force straight down (no cut is described): share along -z",
            Band(0.8, 1.0, 1.0, "common practice, no source"),
            "",
        )


def usual_assumptions(values: Sequence[Usual]) -> Iterator[Assumption]:
    """Yield the values that a set-up file did not give and its reader took as usual, in SI or degrees."""
    for one in values:
        scale, unit = (MM, "m") if one.unit == "mm" else (1.0, one.unit)
        low, likely, high = (scale * end for end in (one.band.low, one.band.likely, one.band.high))
        yield Assumption(f"{one.key}, usual", Band(low, likely, high, one.band.source), unit)


def usual_edge(setup: Setup) -> list[Assumption]:
    """Return those of the cut alone: nose and edge angle that the file did not give."""
    return list(usual_assumptions([one for one in setup.usual if one.key.startswith("cut.")]))


def _faces(name: str, faces: Joint) -> Iterator[Assumption]:
    yield Assumption(f"{name} stiffness per area", faces.normal_n_per_um_mm2, "N/um/mm2")
    yield Assumption(f"{name} shear ratio", faces.shear_ratio, "")
    yield Assumption(f"{name} loss factor", faces.loss_factor, "")
