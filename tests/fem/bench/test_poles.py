"""Poles against the error floor of a decaying sine, and the traps of part A of the check values."""

from __future__ import annotations

import math

import numpy as np
import pytest
from bench_bounds import decay_sd, pair_factor, window_factor
from shop import decay, limited
from values import assert_close

from stickout.fem.bench.gain import gain_bias
from stickout.fem.bench.poles import matrix_pencil, refine

HZ, RATIO = 1052.0, 0.012
OMEGA = 2 * math.pi * HZ
ALPHA = RATIO * OMEGA


def test_the_error_floor() -> None:
    """Fisher information of a damped sine. [A.crb.*, A.agc.bias]."""
    alpha = decay_sd(ALPHA, noise=0.01, rate_hz=48_000)
    assert_close("A.crb.alpha", alpha)
    assert_close("A.crb.zeta_rel", alpha / ALPHA)
    assert_close("A.crb.f", alpha / (2 * math.pi))
    assert_close("A.crb.window.3", window_factor(3.0))
    assert_close("A.crb.window.4", window_factor(4.0))
    assert_close("A.crb.pair.1", pair_factor(-ALPHA + 1j * OMEGA, -ALPHA + 1j * (OMEGA + ALPHA)))
    assert_close("A.crb.pair.4", pair_factor(-ALPHA + 1j * OMEGA, -ALPHA + 1j * (OMEGA + 4 * ALPHA)))
    other = -0.5 * ALPHA + 1j * (OMEGA + ALPHA)
    assert_close("A.crb.pair_general.1", pair_factor(-ALPHA + 1j * OMEGA, other))
    assert_close("A.agc.bias", gain_bias(60.0))


@pytest.mark.parametrize(("noise", "record"), [(0.01, "A.mp.sd_z.0.01"), (0.1, "A.mp.sd_z.0.1")])
def test_matrix_pencil_sits_on_the_floor(noise: float, record: str) -> None:
    """Standard deviation over the bound, and bias below 0.2 %, at 40 and 20 dB. [A.mp.*]."""
    rate, rng, found = 12_000, np.random.default_rng(7), []
    for _ in range(150):
        sound = decay(HZ, RATIO, seconds=0.06, rate=rate, phase=rng.uniform(0, 6.28))
        sound += noise * rng.standard_normal(len(sound))
        poles = matrix_pencil(sound[None, ::1], 2, rate_hz=rate)
        best = poles[np.argmax(poles.imag)]
        found.append(-best.real / abs(best))
    floor = decay_sd(ALPHA, noise=noise, rate_hz=rate) * window_factor(0.06 * ALPHA) / OMEGA
    assert_close(record, float(np.std(found)) / floor)
    assert abs(float(np.mean(found)) / RATIO - 1) < 0.002 + 3 * floor / RATIO / math.sqrt(150)


@pytest.mark.parametrize(
    ("separation", "quantity"), [(0.2, "resid"), (0.5, "zeta"), (1.0, "zeta"), (2.0, "resid")]
)
def test_two_modes_fitted_as_one(separation: float, quantity: str) -> None:
    """Too much damping, and a residual that tells. [A.pair_as_one.*]."""
    other = HZ + separation * ALPHA / (2 * math.pi)
    sound = decay(HZ, RATIO, seconds=0.12) + decay(other, RATIO, seconds=0.12)
    fitted = refine(sound[None], np.array([-ALPHA + 1j * OMEGA]), rate_hz=48_000)
    value = {"zeta": -fitted.poles[0].real / abs(fitted.poles[0]) / RATIO, "resid": fitted.residual[0]}
    assert_close(f"A.pair_as_one.{quantity}.{separation:g}", float(value[quantity]))
    if separation < 0.5:
        return  # from a guess so far off the way to a pair this close is too long
    both = np.array([-ALPHA + 1j * (OMEGA - 0.4 * ALPHA), -ALPHA + 1j * (OMEGA + 2 * ALPHA)])
    apart = refine(sound[None], both, rate_hz=48_000)
    assert np.sort(apart.poles.imag) / (2 * math.pi) == pytest.approx(
        [HZ * math.sqrt(1 - RATIO**2), other * math.sqrt(1 - RATIO**2)], rel=1e-5
    )


@pytest.mark.parametrize("peak", [1.5, 4.0])
def test_clipping(peak: float) -> None:
    """A fit through the clipped start reads too little damping; after the last clipped one it is right."""
    sound = np.clip(decay(HZ, RATIO, seconds=0.05, size=peak), -1.0, 1.0)
    guess = np.array([-ALPHA + 1j * OMEGA])
    fitted = refine(sound[None], guess, rate_hz=48_000)
    assert_close(f"A.clip.{peak:.1f}", float(-fitted.poles[0].real / OMEGA / RATIO))
    after = int(np.flatnonzero(np.abs(sound) >= 1.0)[-1]) + 48
    later = refine(sound[None, after:], guess, rate_hz=48_000)
    assert -later.poles[0].real / OMEGA == pytest.approx(RATIO, rel=1e-6)


@pytest.mark.parametrize(("peak", "record"), [(1.0, "A.agc.loud"), (0.1, "A.agc.soft")])
def test_gain_control(peak: float, record: str) -> None:
    """A loud tap read while the gain recovers, and a soft one below the threshold. [A.agc.*]."""
    sound = limited(decay(HZ, RATIO, seconds=0.07, size=peak), release_db_s=200.0)
    fitted = refine(sound[None, 576:2976], np.array([-ALPHA + 1j * OMEGA]), rate_hz=48_000)
    assert_close(record, float(-fitted.poles[0].real / ALPHA))


RECORDS = {
    "one_record": ((1, 1),),
    "two_same": ((1, 1), (1, 1)),
    "dirs_ratio5": ((1, 0.2), (0.2, 1)),
    "dirs_ratio20": ((1, 0.05), (0.05, 1)),
    "beat_flipped": ((1, 1), (1, -1)),
}


@pytest.mark.parametrize(
    ("separation", "how"),
    [(0.2, how) for how in RECORDS]
    + [(0.5, "dirs_ratio20"), (0.5, "beat_flipped")]
    + [(1.0, how) for how in ("one_record", "two_same", "dirs_ratio5", "beat_flipped")],
)
def test_a_pair_wants_two_directions(separation: float, how: str) -> None:
    """The fit's own deviation over that of a lone mode: two directions split it. [A.pair2.*]."""
    other = HZ + separation * ALPHA / (2 * math.pi)
    one, two = decay(HZ, RATIO, seconds=0.12), decay(other, RATIO, seconds=0.12)
    noise = 1e-7 * np.random.default_rng(3).standard_normal((len(RECORDS[how]), len(one)))
    sounds = np.array([a * one + b * two for a, b in RECORDS[how]]) + noise
    true = np.array([-ALPHA + 1j * OMEGA, -ALPHA + 1j * (OMEGA + separation * ALPHA)])
    fitted = refine(sounds, true, rate_hz=48_000)
    floor = decay_sd(ALPHA, noise=1e-7, rate_hz=48_000) * window_factor(0.12 * ALPHA)
    assert_close(f"A.pair2.{separation:.1f}.{how}", float(fitted.sd[0]) / floor)
