"""What is drawn from a band, against what a stratified sample and a triangle must be."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from stickout.fem.setup.bands import Band, exactly, latin_hypercube, triangular


@pytest.mark.parametrize("orders_first", [False, True])
def test_one_sample_in_every_stratum(orders_first: bool) -> None:
    """A Latin hypercube by definition (McKay, Beckman & Conover 1979): each of n equal slices is hit once."""
    shares = latin_hypercube(np.random.default_rng(5), count=40, inputs=3, orders_first=orders_first)
    assert shares.shape == (3, 40)
    for row in shares:
        assert sorted(np.floor(40 * row)) == list(range(40))
    assert abs(np.corrcoef(shares)[0, 1]) < 0.5  # orders of their own, not one order three times


def test_no_input_draws_nothing() -> None:
    """Two set-ups of which everything is known leave nothing to draw."""
    assert latin_hypercube(np.random.default_rng(5), count=40, inputs=0).shape == (0, 40)


def test_the_triangle_is_scipys() -> None:
    """Over the value where the band reaches zero, over the logarithm else: scipy.stats.triang."""
    share = np.linspace(0.01, 0.99, 25)
    straight = stats.triang(c=0.3, loc=0.0, scale=10.0)
    assert triangular(share, (0.0, 3.0, 10.0)) == pytest.approx(straight.ppf(share))
    low, top, high = np.log([0.5, 1.0, 4.0])
    logs = stats.triang(c=(top - low) / (high - low), loc=low, scale=high - low)
    assert np.log(triangular(share, (0.5, 1.0, 4.0))) == pytest.approx(logs.ppf(share))
    assert np.all(triangular(share, (2.0, 2.0, 2.0)) == 2.0)


def test_an_end_of_a_band_has_no_width() -> None:
    """Only the value at that end is left, and where it comes from."""
    band = Band(1.0, 2.0, 4.0, "written here")
    assert band.at_end("high") == exactly(4.0, "written here")
