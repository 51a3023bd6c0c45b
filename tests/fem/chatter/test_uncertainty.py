"""Bands of the inputs carried to bands of the answer."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from cut_cases import FloatArray, flatted_bar, nose_case
from scipy.special import ndtr

from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.chatter.uncertainty import (
    GRIP_BAND,
    sample_factors,
    sampled_values,
    spread,
    stratified,
)
from stickout.fem.setup.bands import FactorBand
from stickout.meshes.errors import InputError

FORCE_BAND = FactorBand("force coefficient", 0.75, 1.25)
LOSS_BAND = FactorBand("loss", 1.0 / 1.5, 1.5)
BANDS = (FORCE_BAND, LOSS_BAND, GRIP_BAND)


def structural(stiffness_factor: float = 1.0) -> ModalModel:
    """Return the flatted bar with structural loss, all modes stiffened by one factor."""
    model = replace(flatted_bar(30.0), viscous=False)
    return replace(
        model, omega=model.omega * np.sqrt(stiffness_factor), static=model.static / stiffness_factor
    )


def margins(model: ModalModel, force: FloatArray) -> FloatArray:
    """Return the margin of the nose cut for a batch."""
    return absolute_limit(model, nose_case()).margin / force


def test_samples_keep_to_their_bands() -> None:
    """Principle: factors lie inside the band, and as many below one as the triangle has area there."""
    factors = sample_factors((FactorBand("uneven", 0.5, 1.25), FactorBand("known", 1.0, 1.0)), count=400)
    f = factors["uneven"]
    assert f.min() >= 0.5
    assert f.max() <= 1.25
    # The last of 400 strata of a triangle begins at a twentieth of its side from the corner.
    assert f.max() > 1.25 * np.exp(-np.sqrt(np.log(1.25) * np.log(2.5) / 400.0))
    assert f.min() < 0.5 * np.exp(np.sqrt(np.log(2.0) * np.log(2.5) / 400.0))
    below = np.log(2.0) / np.log(2.5)
    # Stratified in 400 strata: the share is right to one stratum.
    assert np.mean(f < 1.0) == pytest.approx(below, abs=1.0 / 400.0)
    # Mean of a triangle with corners a, 0, c is (a + c) / 3; strata of 1/400 leave under 1e-3 of its width.
    assert np.log(f).mean() == pytest.approx((np.log(0.5) + np.log(1.25)) / 3.0, abs=1e-3)
    assert np.all(factors["known"] == 1.0)


def test_same_seed_same_answer() -> None:
    """The seed is fixed: the same call gives the same samples, another seed others."""
    first, again, other = (sample_factors(BANDS, seed=seed) for seed in (1, 1, 2))
    for band in BANDS:
        assert np.array_equal(first[band.name], again[band.name])
        assert not np.array_equal(first[band.name], other[band.name])


def sampled(levels: dict[float, ModalModel], factors: dict[str, FloatArray]) -> FloatArray:
    """Return the margins of all samples."""
    return sampled_values(
        levels,
        margins,
        force=factors[FORCE_BAND.name],
        loss=factors[LOSS_BAND.name],
        grip=factors[GRIP_BAND.name],
    )


def test_samples_against_one_at_a_time() -> None:
    """Principle: the batch gives what each sample gives alone; with one level the grip does not count."""
    factors = sample_factors(BANDS, count=30)
    values = sampled({1.0: structural()}, factors)
    for i in range(0, 30, 7):
        loss = factors[LOSS_BAND.name][i]
        alone = replace(structural(), eta=structural().eta * loss)
        expected = float(absolute_limit(alone, nose_case()).margin) / factors[FORCE_BAND.name][i]
        assert values[i] == pytest.approx(expected, rel=1e-12)  # the same search


def test_grip_between_its_levels() -> None:
    """Closed form: if the grip scaled every mode's stiffness the margin would scale with it.

    The reciprocal runs straight between levels 0.8, 1 and 1.2: at most ln(1.25)^2 / 8 = 0.6 % off.
    """
    factors = sample_factors(BANDS, count=60)
    levels = {f: structural(f) for f in (0.8, 1.0, 1.2)}
    values = sampled(levels, factors)
    flat = sampled({1.0: structural()}, factors)
    assert values == pytest.approx(flat * factors[GRIP_BAND.name], rel=0.0063)
    at_level = dict(factors)
    at_level[GRIP_BAND.name] = np.full(60, 1.2)
    assert sampled(levels, at_level) == pytest.approx(flat * 1.2, rel=1e-7)  # search error


def test_band_of_a_product() -> None:
    """Closed form: margin = loss / force. Quantiles and shares follow from the two triangles."""
    bands = (FactorBand("force", 0.75, 1.0 / 0.75), FactorBand("loss", 1.0 / 1.5, 1.5))
    factors = sample_factors(bands, count=4000)
    values = factors["loss"] / factors["force"]
    found = spread(values, 1.0, factors=factors)
    variance = {"force": np.log(1.0 / 0.75) ** 2 / 6.0, "loss": np.log(1.5) ** 2 / 6.0}
    total = sum(variance.values())
    assert found.likely == 1.0
    assert found.low * found.high == pytest.approx(1.0, rel=0.03)  # symmetric; 4000 samples
    for name, part in variance.items():
        # Ranks instead of logs and 4000 samples move the shares by a few hundredths.
        assert found.shares[name] == pytest.approx(part / total, abs=0.04)
    assert found.narrows_most == "loss"
    assert 0.55 < found.low < 0.75


def test_samples_without_a_limit() -> None:
    """Where the stiffest samples have no limit the high end is infinite and the low end is not."""
    factors = {"loss": np.linspace(0.6, 1.4, 100)}
    values = np.where(factors["loss"] > 1.2, np.inf, factors["loss"])
    found = spread(values, 1.0, factors=factors)
    assert np.isinf(found.high)
    assert found.low == pytest.approx(0.6 + 0.05 * 0.8, abs=0.01)  # one in twenty of an even spread
    assert found.shares["loss"] > 0.9


def test_likely_value_never_leaves_the_band() -> None:
    """The value at the likely inputs bounds low and high even where the samples all lie on one side."""
    found = spread(np.linspace(2.0, 3.0, 50), 1.5, factors={"force": np.ones(50)})
    assert found.low == found.likely == 1.5
    assert found.shares["force"] == 0.0


def test_no_limit_in_any_sample() -> None:
    """A level without any limit gives infinite values, not an error."""
    factors = sample_factors(BANDS, count=12)
    values = sampled_values(
        {1.0: structural()},
        lambda model, force: np.full(force.shape, np.inf),
        force=factors[FORCE_BAND.name],
        loss=factors[LOSS_BAND.name],
        grip=factors[GRIP_BAND.name],
    )
    assert np.all(np.isinf(values))


def test_impossible_bands() -> None:
    """A band that misses its likely value, too few samples and no level are refused."""
    with pytest.raises(InputError, match="at most 1"):
        FactorBand("loss", 1.1, 1.5)
    with pytest.raises(InputError, match="ten samples"):
        sample_factors(BANDS, count=3)
    with pytest.raises(InputError, match="one modal model"):
        sampled_values({}, margins, force=np.ones(1), loss=np.ones(1), grip=np.ones(1))


def test_each_stratum_holds_one_draw() -> None:
    """Definition: n draws, one in each of n parts of equal chance, by SciPy's curve; inputs apart."""
    draws = stratified(3, count=50, inputs=2)
    strata = np.floor(50 * ndtr(draws)).astype(int)
    for row in strata:
        assert sorted(row) == list(range(50))
    assert abs(np.corrcoef(draws)[0, 1]) < 0.3
    assert draws is stratified(3, count=50, inputs=2)
    with pytest.raises(ValueError, match="read-only"):
        draws[0, 0] = 1.0
