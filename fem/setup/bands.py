"""A number not exactly known: its band, as given or as factors, what is drawn from it, what comes out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from stickout.fem.errors import InputError

if TYPE_CHECKING:  # a set-up is read without NumPy; only who draws from a band loads it
    import numpy as np

    from stickout.meshes.tagged import FloatArray

USER_SOURCE: Final = "given by the user"
# Every band of a drawn result lies between these shares of its draws: nine times in ten.
NINE_IN_TEN: Final = (0.05, 0.95)
MEASURED: Final = "measured"  # a source that begins so is the user's own measurement, with its interval


@dataclass(frozen=True)
class Band:
    """A number as well as it is known: low, likely, high, and where it comes from.

    The source ends with its mark: opened; recalled, not opened; computed here; or it is
    "common practice, no source" or "given by the user".
    """

    low: float
    likely: float
    high: float
    source: str

    def __post_init__(self) -> None:
        if self.low > self.likely or self.likely > self.high:
            raise InputError(
                key="band",
                given=(self.low, self.likely, self.high),
                allowed="low, likely, high in rising order",
                mend="Order the three numbers.",
            )

    def at_end(self, side: str) -> Band:
        """Return the band of no width at one end of this one: ``low``, ``likely`` or ``high``."""
        return exactly(getattr(self, side), self.source)


def exactly(value: float, source: str = USER_SOURCE) -> Band:
    """Return the band of a number that is taken as it stands: low, likely and high are equal.

    Examples
    --------
    >>> from stickout.fem import exactly
    >>> measured = exactly(0.02)
    >>> measured.low == measured.likely == measured.high, measured.source
    (True, 'given by the user')
    """
    return Band(value, value, value, source)


@dataclass(frozen=True)
class FactorBand:
    """An input known within limits, as factors of its likely value: 0 < low <= 1 <= high."""

    name: str
    low: float
    high: float

    def __post_init__(self) -> None:
        if not 0.0 < self.low <= 1.0 <= self.high:
            raise InputError(
                key=f"band of {self.name}",
                given=(self.low, self.high),
                allowed="low above 0 and at most 1, high at least 1",
                mend="Give factors of the likely value, such as 0.75 and 1.25.",
            )


@dataclass(frozen=True)
class Spread:
    """Low, likely and high of a result, and, where it was drawn, what each input adds to its width.

    Attributes
    ----------
    low, likely, high
        Where it was drawn the ends of ``NINE_IN_TEN`` and the value at the likely inputs; else the values at
        the ends of the bands.
    shares
        Input -> share of the spread that would go if it were known [-]; empty where nothing was drawn.
    """

    low: float
    likely: float
    high: float
    shares: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))

    @property
    def narrows_most(self) -> str:
        """The input whose measurement would narrow the answer most."""
        return max(self.shares, key=lambda name: self.shares[name])


def latin_hypercube(
    draw: np.random.Generator, *, count: int, inputs: int, orders_first: bool = False
) -> FloatArray:
    """Return shares between 0 and 1, one in each of ``count`` equal strata for every input.

    Parameters
    ----------
    draw
        Generator; the same seed gives the same shares.
    count
        Number of samples.
    inputs
        Number of inputs.
    orders_first
        Draw the orders of all inputs before the places in the strata, and the places sample by sample; else
        input by input. Both are as good: each seed is to give what it always gave.

    Returns
    -------
    ndarray
        Shape (inputs, count).

    Source
    ------
    McKay, Beckman & Conover, Technometrics 21 (1979) 239 (recalled, not opened).
    """
    import numpy as np

    if orders_first:
        orders = np.stack([draw.permutation(count) for _ in range(inputs)])
        return np.asarray((orders + draw.random((count, inputs)).T) / count)
    shares = [(draw.permutation(count) + draw.random(count)) / count for _ in range(inputs)]
    return np.stack(shares) if shares else np.empty((0, count))


def triangular(share: FloatArray, ends: tuple[float, float, float]) -> FloatArray:
    """Return the value below which a share of a triangle over a band lies, the likely value at its top.

    Parameters
    ----------
    share
        Shares [-], any shape.
    ends
        Low, likely and high. Above zero the triangle stands over the logarithm, else over the value.

    Returns
    -------
    ndarray
        Values, shape of ``share``.

    Source
    ------
    Inverse of the triangular distribution (computed here); the shape of the bands is own choice.
    """
    import numpy as np

    if ends[0] == ends[2]:
        return np.full(np.shape(share), ends[1])
    over_log = ends[0] > 0
    low, top, high = np.log(ends) if over_log else np.asarray(ends)
    width = high - low
    rising = low + np.sqrt(share * width * (top - low))
    falling = high - np.sqrt((1.0 - share) * width * (high - top))
    at = np.where(share * width <= top - low, rising, falling)
    return np.asarray(np.exp(at) if over_log else at)
