"""A mass at the edge: the formula on exact notes of a beam on springs, whose modal mass is known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from beam_bars import CLAMP, R16_EB
from bench_references import mass_shift
from values import assert_close

from stickout.fem.beam.frequencies import bending_frequencies
from stickout.fem.beam.spans import End
from stickout.fem.beam.stepped import PointSpring, sprung_chain

BARE = float(bending_frequencies([R16_EB], 1, root=CLAMP)[0])


@pytest.mark.parametrize("grams", [4.0, 10.0, 20.0])
def test_two_notes_give_mass_and_stiffness(grams: float) -> None:
    """Exact notes of the standard bar, all ids that the table holds for the mass. [A3.mass.*]."""
    loaded = float(bending_frequencies([R16_EB], 1, root=CLAMP, tip=End(mass=grams * 1e-3))[0])
    found = mass_shift(BARE, loaded, added=grams * 1e-3)
    mass_sd, stiffness_sd = found.errors(0.002)
    assert_close(f"A3.mass.{grams}.f", loaded)
    if grams != 10.0:
        assert_close(f"A3.mass.{grams}.m_g", 1e3 * found.mass)
        assert_close(f"A3.mass.{grams}.gain_m", found.gain)
    if grams != 4.0:
        assert_close(f"A3.mass.{grams}.k", 1e-6 * found.stiffness)
        assert_close(f"A3.mass.{grams}.sd_rel_m_at_0p2pct", mass_sd)
    assert_close(f"A3.mass.{grams}.sd_rel_k_at_0p2pct", stiffness_sd)


@pytest.mark.parametrize("grams", [4.0, 20.0])
def test_the_place_of_the_mass_is_the_trap(grams: float) -> None:
    """Its centre 5 mm inside the tip, taken as at the tip. [A3.mass.*.cg5mm_inside_m_g]."""
    chain = sprung_chain([R16_EB], [PointSpring(0.0, CLAMP.translation, CLAMP.rotation)], stations=[0.075])
    node = 2 * int(np.argmin(abs(chain.places - 0.075)))
    mass = chain.mass.copy()
    mass[node, node] += grams * 1e-3
    loaded = float(replace(chain, mass=mass).modes(1)[0][0]) / (2 * np.pi)
    assert_close(f"A3.mass.{grams}.cg5mm_inside_m_g", 1e3 * mass_shift(BARE, loaded, added=grams * 1e-3).mass)


def test_half_the_note() -> None:
    """Closed form: a mass three times the mode's own halves the note."""
    assert mass_shift(1000.0, 500.0, added=0.03).mass == pytest.approx(0.01)
