"""The bell curve against SciPy's, tails included."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.special
from scipy.special import ndtr, ndtri

from stickout.fem.bell import share_below, value_above
from stickout.fem.compiled import compiled


def test_shares_are_scipys() -> None:
    """From 37 widths below, where a share is 1e-300, to as far above."""
    values = np.linspace(-37.0, 37.0, 20001)
    assert share_below(values) == pytest.approx(ndtr(values), rel=1e-12)
    assert float(share_below(0.0)) == 0.5


def test_values_are_scipys() -> None:
    """Shares from 1e-300 to 1 - 1e-15; both ways round they come back."""
    shares = np.concatenate([np.geomspace(1e-300, 0.5, 4000), 1 - np.geomspace(1e-15, 0.5, 4000)])
    assert value_above(shares) == pytest.approx(ndtri(shares), rel=2e-14, abs=1e-15)
    assert share_below(value_above(shares)) == pytest.approx(shares, rel=1e-11)


@pytest.mark.parametrize(
    ("name", "needs"), [("scipy.special._moved", ("ndtr",)), ("scipy.special._special_ufuncs", ("none",))]
)
def test_what_has_moved_comes_from_the_public_package(name: str, needs: tuple[str, ...]) -> None:
    """Reference: the public module itself."""
    assert compiled(name, needs=needs, otherwise="scipy.special") is scipy.special
