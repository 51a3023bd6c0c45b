"""Envelope and half-power width on tones with known damping, and the trap of a window run into the noise."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shop import RATE, decay
from values import assert_close

from stickout.fem.bench.cross_checks import envelope_decay, half_power_ratio

HZ, RATIO = 1052.0, 0.012
ALPHA = RATIO * 2 * math.pi * HZ


@pytest.mark.parametrize("db", [30, 20])
def test_a_window_run_into_the_noise(db: int) -> None:
    """Six time constants read too little damping; forty trials as in the table. [A.env.floor.*]."""
    rng, found = np.random.default_rng(0), []
    for _ in range(40):
        sound = decay(HZ, RATIO, seconds=12 / ALPHA)
        sound += 10 ** (-db / 20) * rng.standard_normal(len(sound))
        found.append(envelope_decay(sound, HZ, rate_hz=RATE, seconds=(0.0, 6 / ALPHA)) / ALPHA)
    assert_close(f"A.env.floor.{db}dB.6tau", float(np.mean(found)))


def test_a_lone_mode_inside_its_window() -> None:
    """Both agree with the truth to two per cent, or say nothing."""
    sound = decay(HZ, RATIO, seconds=0.4)
    assert envelope_decay(sound, HZ, rate_hz=RATE, seconds=(0.003, 4 / ALPHA)) == pytest.approx(
        ALPHA, rel=0.02
    )
    assert half_power_ratio(sound, HZ, rate_hz=RATE) == pytest.approx(RATIO, rel=0.02)
    assert half_power_ratio(sound[: round(1.5 / ALPHA * RATE)], HZ, rate_hz=RATE) is None
