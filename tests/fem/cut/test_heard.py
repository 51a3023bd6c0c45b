"""What heard cuts teach, and how high a vibration grows, against tests/data/check_values_3.json."""

from __future__ import annotations

import itertools
import json
from pathlib import Path

import numpy as np
import pytest

from stickout.fem.cut.draws import SCATTER, chance
from stickout.fem.cut.flank import ceiling_of
from stickout.fem.cut.heard import reweighted

RECORDS = {
    one["id"]: one
    for one in json.loads((Path(__file__).parents[2] / "data" / "check_values_3.json").read_text("utf-8"))
}
HEARD = [name for name in RECORDS if name.startswith("v3.heard.")]
CEILINGS = [name for name in RECORDS if name.startswith("v3.ceiling.")]
NODES = 40


@pytest.mark.parametrize("name", HEARD)
def test_a_heard_cut_weighs_the_draws_anew(name: str) -> None:
    """Gauss-Hermite and Monte Carlo from outside; here the product's weights stand on other nodes."""
    given = RECORDS[name]["inputs"]
    x, weight = np.polynomial.hermite_e.hermegauss(NODES)
    grid = np.array(list(itertools.product(x, repeat=3))).T
    weights = np.prod(np.array(list(itertools.product(weight, repeat=3))), axis=1)
    weights /= weights.sum()
    prior = given["prior"]
    zeta, star, whole = (
        np.exp(prior[k][0] + prior[k][1] * g) for k, g in zip(("z", "l", "u"), grid, strict=True)
    )

    def margins(dry: float, wave: float) -> np.ndarray:
        # One direction of flexibility, to first order: the dry margin grows with the loss.
        return np.asarray(whole * (dry * zeta / np.exp(prior["z"][0]) + star / wave))

    assert given["sigma_e"] == SCATTER
    for dry, wave, word in given["evidence"]:
        weights = reweighted(weights, margins(dry, wave), quiet=word == "quiet")
    mean = float(weights @ np.log(star))
    expected, width = RECORDS[name]["expected"], RECORDS[name]["tolerance"]["abs"]
    assert chance(margins(*given["ask"]), weights) == pytest.approx(expected["P_quiet"], abs=width)
    assert 1e3 * np.exp(mean) == pytest.approx(expected["lam_star_median_like_mm"], abs=width)
    spread = np.sqrt(float(weights @ np.log(star) ** 2) - mean**2)
    assert spread == pytest.approx(expected["sd_ln_lam"], abs=width)
    assert np.exp(weights @ np.log(zeta)) == pytest.approx(expected["zeta"], abs=width / 10)


def test_a_cut_that_sang_and_one_that_was_quiet_pull_apart() -> None:
    """Principle: evidence moves the chance its own way, and certain draws are not thrown out for good."""
    margins = np.array([0.1, 0.8, 1.2, 20.0])
    even = np.full(4, 0.25)
    quiet, sang = (reweighted(even, margins, quiet=one) for one in (True, False))
    assert chance(margins, sang) < chance(margins, even) < chance(margins, quiet)
    assert min(*quiet, *sang) > 0.0
    assert quiet.sum() == pytest.approx(1.0)


@pytest.mark.parametrize("name", CEILINGS)
def test_the_ceiling_of_a_vibration(name: str) -> None:
    """Formula, and a time simulation of the whole flank that may leave the cut, from outside."""
    record = RECORDS[name]
    given = record["inputs"]
    found = ceiling_of(given["lam"], np.radians(given["gam"]))
    for route in record["routes"].values():
        assert found == pytest.approx(route, rel=record["tolerance"]["rel"])
