"""A tuned absorber on one mode: text-book tunings, receptance and its peaks, both signs of the real part.

Primary of modal stiffness k, absorber of mass ratio mu. ``frequency_ratio`` is the absorber's own frequency,
with the bar held still, over the bar's. A dashpot c has two damping ratios in the books: ``zeta_own =
c / (2 m_a w_a)``, by the absorber's own frequency, used everywhere here and in a set-up; and
``zeta_by_primary = c / (2 m_a w_n)``, by the bar's; ``by_primary`` and ``by_own`` change one into the other.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stickout.fem.errors import InputError

FloatArray = NDArray[np.float64]
ComplexArray = NDArray[np.complex128]


@dataclass(frozen=True)
class Tuning:
    """Own frequency over the bar's, and damping ratio of its own ``c / (2 m_a w_a)``, both without unit."""

    frequency_ratio: float
    zeta_own: float


@dataclass(frozen=True)
class Pair:
    """A mode and an absorber on it.

    Attributes
    ----------
    mu
        Mass ratio [-]: absorber's mass times the square of the mass-normalised motion of its place, that is
        its mass over the modal mass referred to its place; not over the bar's mass. Above zero.
    tuning
        Frequency ratio and damping; both above zero.
    zeta_primary
        Damping ratio of the bar without it [-], zero or above.

    Raises
    ------
    InputError
        A number is out of its range.
    """

    mu: float
    tuning: Tuning
    zeta_primary: float = 0.0

    def __post_init__(self) -> None:
        check_mass_ratio(self.mu)
        for key, value, sound in (
            ("frequency_ratio", self.tuning.frequency_ratio, self.tuning.frequency_ratio > 0.0),
            ("zeta_own", self.tuning.zeta_own, self.tuning.zeta_own > 0.0),
            ("zeta_primary", self.zeta_primary, self.zeta_primary >= 0.0),
        ):
            if not sound:
                mend = "Give a frequency ratio near one and damping ratios of 0.001 to 0.5."
                raise InputError(key=key, given=value, allowed="above zero", mend=mend)


def check_mass_ratio(mu: float) -> None:
    """Refuse a mass ratio that is not above zero and finite.

    Raises
    ------
    InputError
        It is not.
    """
    if not 0.0 < mu < float("inf"):
        mend = "Take the absorber's mass over the modal mass at its place."
        raise InputError(key="mass ratio", given=mu, allowed="above zero", mend=mend)


def den_hartog(mu: float) -> Tuning:
    """Return the tuning of the least resonance peak ``|G|``: equal peaks of an undamped bar.

    Source
    ------
    Den Hartog, Mechanical Vibrations; damping Brock 1946: ``1/(1+mu)``, ``sqrt(3 mu / (8 (1+mu)))`` by its
    own frequency, ``sqrt(3 mu / (8 (1+mu)^3))`` by the bar's (recalled, not opened). [f.dh.*]
    """
    check_mass_ratio(mu)
    return Tuning(1.0 / (1.0 + mu), float(np.sqrt(3.0 * mu / (8.0 * (1.0 + mu)))))


def sims(mu: float) -> Tuning:
    """Return the closed form for chatter: the least ``-Re G`` of an undamped bar, within half a per cent.

    Source
    ------
    Sims, J. Sound Vib. 301 (2007) 592 (recalled, not opened; checked by optimum here): ``f = sqrt((mu + 2 +
    sqrt(2 mu + mu^2)) / (2 (1+mu)^2))``, damping as Den Hartog. [f.sims.*]
    """
    check_mass_ratio(mu)
    square = (mu + 2.0 + np.sqrt(2.0 * mu + mu**2)) / (2.0 * (1.0 + mu) ** 2)
    return Tuning(float(np.sqrt(square)), den_hartog(mu).zeta_own)


def worst_negative_real(pair: Pair) -> float:
    """Return the greatest ``-Re G k``: one over it, times k/2, is the depth limit of a straight edge.

    Source
    ------
    Tlusty & Poláček 1963 (recalled, not opened); exact extremes, see ``_extremes``. [f.*.negre.*]
    """
    return float(-_extremes(pair).min())


def bare_negative_real(zeta: float) -> float:
    """Return the greatest ``-Re G k`` of a mode alone, ``1 / (4 zeta (1 + zeta))``.

    Source
    ------
    Exact one-mode theory; Tobias & Fishwick 1958 (recalled, not opened).
    """
    if not zeta > 0.0:
        mend = "Give half the loss factor of the clamped bar, 0.005 to 0.03."
        raise InputError(key="damping ratio", given=zeta, allowed="above zero", mend=mend)
    return 1.0 / (4.0 * zeta * (1.0 + zeta))


def gain(pair: Pair) -> float:
    """Return how many times deeper a straight edge may cut with the absorber than without.

    Raises
    ------
    InputError
        The bar has no damping: then the limit without it is zero.

    Source
    ------
    Ratio of two exact limits (computed here). [f.opt.*.gain.*, f.dh.*.gain.*]
    """
    return bare_negative_real(pair.zeta_primary) / worst_negative_real(pair)


def coupled_modes(pair: Pair) -> list[tuple[float, float]]:
    """Return frequency ratio and damping ratio of the two modes of bar and absorber, the lower one first.

    Source
    ------
    Roots of ``(s^2 + 2 z s + 1)(s^2 + 2 za f s + f^2) + mu s^2 (2 za f s + f^2)`` (computed here). A pair of
    real roots, an absorber damped past critical, is left out.
    """
    f, zeta = pair.tuning.frequency_ratio, pair.tuning.zeta_own
    spring = np.array([2.0 * zeta * f, f**2])
    own = np.concatenate([[1.0], spring])
    bare = np.array([1.0, 2.0 * pair.zeta_primary, 1.0])
    total = np.polyadd(np.polymul(bare, own), pair.mu * np.concatenate([spring, [0.0, 0.0]]))
    roots = np.roots(total)
    kept = roots[roots.imag > 1e-9 * np.abs(roots)]
    return sorted((float(abs(one)), float(-one.real / abs(one))) for one in kept)


def _extremes(pair: Pair) -> FloatArray:
    """Return ``Re G k`` at every place where it may be greatest or least, zero included.

    With ``s = r^2`` it is a ratio of polynomials in s, so its extremes are the roots of ``N'D - ND'``.
    """
    f, zeta, z1, mu = pair.tuning.frequency_ratio, pair.tuning.zeta_own, pair.zeta_primary, pair.mu
    # G k = (a + i b r) / (c + i e r), highest power of s first.
    a = np.array([-1.0, f**2])
    b = 2.0 * zeta * f
    c = np.array([1.0, -(1.0 + f**2 + 4.0 * z1 * zeta * f + mu * f**2), f**2])
    e = np.array([-2.0 * z1 - b * (1.0 + mu), 2.0 * z1 * f**2 + b])
    s = np.array([1.0, 0.0])
    below = np.polyadd(np.polymul(c, c), np.polymul(s, np.polymul(e, e)))
    real = np.polyadd(np.polymul(a, c), b * np.polymul(s, e))
    slope: FloatArray = np.polysub(np.polymul(np.polyder(real), below), np.polymul(real, np.polyder(below)))
    roots = np.roots(slope)
    good = roots.real[(np.abs(roots.imag) < 1e-4 * np.abs(roots)) & (roots.real > 0.0)]
    at = np.concatenate([np.zeros(1), good])
    return np.asarray(np.polyval(real, at) / np.polyval(below, at))
