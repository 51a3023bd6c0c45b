"""Absorber on one mode: check values (section f), limits, the receptance against a direct solve."""

from __future__ import annotations

import re
from functools import cache

import numpy as np
import pytest
from absorber_references import (
    by_own,
    by_primary,
    den_hartog_peak,
    lanchester,
    lanchester_pair,
    mistuned,
    peak,
    scaled_receptance,
)
from cut_cases import ids
from values import assert_close, check_value

from stickout.fem.chatter.absorber_best import chatter_best
from stickout.fem.chatter.absorber_theory import (
    Pair,
    Tuning,
    bare_negative_real,
    coupled_modes,
    den_hartog,
    gain,
    sims,
    worst_negative_real,
)
from stickout.fem.errors import InputError


def pair_of(record_id: str, tuning: Tuning) -> Pair:
    """Return the pair of a record's inputs with a tuning."""
    given = check_value(record_id).inputs
    return Pair(given["mu"], tuning, given.get("zeta1", 0.0))


def best_of(record_id: str) -> Pair:
    """Return the pair of a record's inputs at its numeric chatter optimum."""
    given = check_value(record_id).inputs
    return best_pair(given["mu"], given.get("zeta1", 0.0))


@cache
def best_pair(mu: float, zeta: float) -> Pair:
    """Return a mode with its best absorber, searched once."""
    return Pair(mu, chatter_best(mu, zeta_primary=zeta), zeta)


def test_den_hartog_tuning_in_both_conventions() -> None:
    """Published: 1/(1+mu), and the one dashpot by its own and by the bar's frequency (f.dh)."""
    for record_id in ids(r"f\.dh\.f\..*"):
        assert_close(record_id, den_hartog(check_value(record_id).inputs["mu"]).frequency_ratio)
    for record_id in ids(r"f\.dh\.zeta\..*"):
        assert_close(record_id, den_hartog(check_value(record_id).inputs["mu"]).zeta_own)
    for record_id in ids(r"f\.dh\.zeta_cc\..*"):
        tuning = den_hartog(check_value(record_id).inputs["mu"])
        assert_close(record_id, by_primary(tuning))
        assert by_own(by_primary(tuning), tuning.frequency_ratio) == tuning


def test_den_hartog_peaks() -> None:
    """Published fixed-point height, and true peaks and real parts of an independent grid (f.dh)."""
    for record_id in ids(r"f\.dh\.peak\.mu.*"):
        assert_close(record_id, den_hartog_peak(check_value(record_id).inputs["mu"]))
    for record_id in ids(r"f\.dh\.peak\.true\..*"):
        pair = pair_of(record_id, den_hartog(check_value(record_id).inputs["mu"]))
        assert_close(record_id, peak(pair))
    for record_id in ids(r"f\.dh\.negre\..*"):
        pair = pair_of(record_id, den_hartog(check_value(record_id).inputs["mu"]))
        assert_close(record_id, worst_negative_real(pair))


def test_closed_form_for_chatter() -> None:
    """Published form (recalled there), its real part by an independent grid; within 0.5 % of the optimum."""
    for record_id in ids(r"f\.sims\.f\..*"):
        assert_close(record_id, sims(check_value(record_id).inputs["mu"]).frequency_ratio)
    for record_id in ids(r"f\.sims\.negre\..*"):
        mu = check_value(record_id).inputs["mu"]
        reached = worst_negative_real(Pair(mu, sims(mu)))
        assert_close(record_id, reached)
        assert 1.0 <= reached / worst_negative_real(Pair(mu, chatter_best(mu))) < 1.005


def test_numeric_optimum_of_the_negative_real_part() -> None:
    """Against an independent minimax (f.opt): tuning, damping, real part, gain, damped bars too."""
    for record_id in ids(r"f\.opt\.(z0\.0\d\.)?f\..*"):
        assert_close(record_id, best_of(record_id).tuning.frequency_ratio)
    for record_id in ids(r"f\.opt\.(z0\.0\d\.)?zeta\..*"):
        assert_close(record_id, best_of(record_id).tuning.zeta_own)
    for record_id in ids(r"f\.opt\.negre\..*"):
        assert_close(record_id, worst_negative_real(best_of(record_id)))
    for record_id in ids(r"f\.opt\.z0\.0\d\.gain\..*"):
        assert_close(record_id, gain(best_of(record_id)))


def test_gain_with_den_hartog_tuning_and_off_tune() -> None:
    """Against independent grids (f.dh.z, detuned); too high loses more than too low, by 10 and 20 %."""
    for record_id in ids(r"f\.dh\.z0\.0\d\.gain\..*"):
        assert_close(record_id, gain(pair_of(record_id, den_hartog(check_value(record_id).inputs["mu"]))))
    for record_id in ids(r"f\.opt\.z0\.01\.detuned.*"):
        (off,) = re.findall(r"detuned([+-]0\.1)\.", record_id)
        assert_close(record_id, gain(mistuned(best_of(record_id), float(off))))
    for mu in (0.05, 0.1, 0.2):
        best = best_pair(mu, 0.01)
        for off in (0.1, 0.2):
            assert gain(mistuned(best, off)) < gain(mistuned(best, -off)) < gain(best)


def test_damper_without_a_spring() -> None:
    """Published (f.lanchester): best dashpot and peak; the real part by an independent grid."""
    for record_id in ids(r"f\.lanchester\.zeta\..*"):
        assert_close(record_id, lanchester(check_value(record_id).inputs["mu"]))
    for record_id in ids(r"f\.lanchester\.peak\..*"):
        pair = lanchester_pair(check_value(record_id).inputs["mu"])
        # A spring of 1e-12 of the bar's stands for none.
        assert peak(pair) == pytest.approx(check_value(record_id).value, rel=1e-6)
    for record_id in ids(r"f\.lanchester\.negre\..*"):
        assert_close(record_id, worst_negative_real(lanchester_pair(check_value(record_id).inputs["mu"])))


@pytest.mark.parametrize("zeta_primary", [0.0, 0.02])
def test_receptance_and_peaks_against_a_direct_solve(zeta_primary: float) -> None:
    """Principle: two masses written out as matrices; peaks against a dense sweep of that solve."""
    pair = Pair(0.13, Tuning(0.94, 0.11), zeta_primary)
    ratio = np.linspace(0.02, 3.0, 60_001)
    f, mu = pair.tuning.frequency_ratio, pair.mu
    spring = mu * (f**2 + 2j * pair.tuning.zeta_own * f * ratio)
    stiff = np.empty((ratio.size, 2, 2), dtype=np.complex128)
    stiff[:, 0, 0] = 1.0 + 2j * zeta_primary * ratio - ratio**2 + spring
    stiff[:, 0, 1] = stiff[:, 1, 0] = -spring
    stiff[:, 1, 1] = spring - mu * ratio**2
    solved = np.linalg.solve(stiff, np.broadcast_to([[1.0], [0.0]], (ratio.size, 2, 1)))[:, 0, 0]
    assert scaled_receptance(pair, ratio) == pytest.approx(solved, rel=1e-9)  # rounding
    # A sweep in steps of 5e-5 misses a peak of this width by less than 1e-6.
    assert worst_negative_real(pair) == pytest.approx(-solved.real.min(), rel=1e-6)


def test_coupled_modes() -> None:
    """Principles: undamped notes multiply to f, their squares add to 1 + f^2 (1 + mu); a weak mass, two."""
    pair = Pair(0.1, Tuning(0.95, 1e-9))
    (low, _), (high, _) = coupled_modes(pair)
    assert low * high == pytest.approx(0.95, rel=1e-9)
    assert low**2 + high**2 == pytest.approx(1.0 + 0.95**2 * 1.1, rel=1e-9)
    apart = coupled_modes(Pair(1e-9, Tuning(0.8, 0.1), 0.02))
    # First order in mu: 1e-9 over the distance.
    assert apart[0] == pytest.approx((0.8, 0.1), rel=1e-6)
    assert apart[1] == pytest.approx((1.0, 0.02), rel=1e-6)
    assert len(coupled_modes(Pair(0.1, Tuning(0.8, 5.0), 0.02))) == 1


def test_limits_of_the_gain() -> None:
    """Limits: no mass gains nothing, a heavier one gains more; bad numbers are refused."""
    assert gain(Pair(1e-9, Tuning(1.0, 0.1), 0.01)) == pytest.approx(1.0, rel=1e-6)
    gains = [gain(best_pair(mu, 0.01)) for mu in (0.02, 0.1, 0.4)]
    assert gains == sorted(gains)
    # One over 4 zeta (1 + zeta): c.1dof.
    assert 1.0 / bare_negative_real(0.03) == pytest.approx(0.1236, rel=1e-12)
    for wrong in ((0.0, 1.0, 0.1, 0.0), (0.1, 0.0, 0.1, 0.0), (0.1, 1.0, 0.0, 0.0), (0.1, 1.0, 0.1, -1.0)):
        mu, f, zeta, primary = wrong
        with pytest.raises(InputError, match="above zero"):
            Pair(mu, Tuning(f, zeta), primary)
    with pytest.raises(InputError, match="above zero"):
        gain(Pair(0.1, Tuning(1.0, 0.1)))
    for tuning in (den_hartog, sims, lanchester, den_hartog_peak):
        with pytest.raises(InputError, match="mass ratio"):
            tuning(0.0)
