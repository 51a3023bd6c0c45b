"""A hung bar against the classical root of a thin free bar, and callipers that are off."""

from __future__ import annotations

import math

import pytest

from stickout.fem.bench.hung import HungBar, free_notes, read_hung
from stickout.fem.errors import InputError

E, RHO = 205e9, 7850.0


def thin(length: float, diameter: float, root: float = 4.730041) -> float:
    """Return the note of a thin free bar: root squared, Rayleigh 1877 (any textbook of vibration)."""
    return root**2 / (2 * math.pi * length**2) * math.sqrt(E / RHO) * diameter / 4


def test_a_thin_bar_is_the_textbooks() -> None:
    """Length 60 diameters: the closed root to a thousandth, and the modulus back again, weighed or not."""
    bar = HungBar(0.6, 0.01)
    first, second = free_notes(bar, density=RHO, modulus=E)
    assert first == pytest.approx(thin(0.6, 0.01), rel=2e-3)
    assert second == pytest.approx(thin(0.6, 0.01, 7.853205), rel=4e-3)
    for one in (bar, HungBar(0.6, 0.01, mass=RHO * math.pi / 4 * 0.01**2 * 0.6)):
        found = read_hung(one, (first, second))
        assert found.modulus.likely == pytest.approx(E, rel=1e-9)
        assert found.modulus.low < E < found.modulus.high
        assert found.agrees
        assert found.modulus.high / found.modulus.low < 1.05


def test_callipers_that_are_off_are_told() -> None:
    """A stout bar, its diameter taken a tenth too large: the overtone does not fit."""
    notes = free_notes(HungBar(0.1, 0.02), density=RHO, modulus=E)
    assert read_hung(HungBar(0.1, 0.02), notes).agrees
    wrong = read_hung(HungBar(0.1, 0.022), notes)
    assert not wrong.agrees
    assert wrong.overtone is not None
    assert read_hung(HungBar(0.1, 0.02), notes[:1]).overtone is None


def test_a_bar_without_size_is_refused() -> None:
    """One message."""
    with pytest.raises(InputError, match="length"):
        read_hung(HungBar(0.0, 0.02), (1000.0,))
