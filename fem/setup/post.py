"""What carries the holder as numbers: springs, mass and loss of slides and post, given or of habit.

A number the user gave stands alone. The others are those of a small lathe's top slide and post.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from stickout.fem.setup.bands import MEASURED, USER_SOURCE, Band, exactly
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.work_parts import Post
from stickout.fem.units import MM, N_PER_UM

HABIT: Final = "common practice, no source: top slide and post of a small lathe"
SPRING: Final = Band(10e6, 25e6, 60e6, HABIT)
TILT: Final = Band(1e4, 3e4, 1e5, HABIT)
MASS: Final = Band(1.5, 3.0, 6.0, HABIT)
# Damping ratio 1.5 to 6 % of machine structures with sliding and bolted joints.
LOSS: Final = Band(0.03, 0.06, 0.12, f"{HABIT}, damping ratio 1.5 to 6 %")
_AXES: Final = ("along the bar", "sideways", "up")
# A holder is about as wide as a steel cube of its mass: what resists tilting.
_STEEL: Final = 7850.0


@dataclass(frozen=True)
class PostNumbers:
    """Springs along x, y, z [N/m] and against tilting [N m/rad], mass [kg], loss factor [-], as bands."""

    spring: tuple[Band, Band, Band]
    tilt: Band
    mass: Band
    loss: Band

    @property
    def named(self) -> list[tuple[str, Band, str]]:
        """Return every number with its name and unit."""
        springs = [(f"post spring {axis}", one, "N/m") for axis, one in zip(_AXES, self.spring, strict=True)]
        return [
            *springs,
            ("post spring against tilting", self.tilt, "N m/rad"),
            ("mass on the post", self.mass, "kg"),
            ("post loss factor", self.loss, ""),
        ]

    @property
    def ruling(self) -> Band:
        """Return the spring that the others go with: one that was measured, else the first."""
        across = [one for one in (self.spring[2], self.spring[1]) if one.source.startswith(MEASURED)]
        return across[0] if across else self.spring[0]

    @property
    def assumed(self) -> list[tuple[str, Band, str]]:
        """Return the numbers that nobody measured, the three springs as one where all are assumed."""
        found = [one for one in self.named if _assumed(one[1])]
        if all(_assumed(one) for one in self.spring):
            found = [("post springs along the bar, sideways and up", self.spring[0], "N/m"), *found[3:]]
        return found


def _assumed(band: Band) -> bool:
    """Return whether a number was neither given nor measured."""
    return band.source != USER_SOURCE and not band.source.startswith(MEASURED)


def post_numbers(post: Post) -> PostNumbers:
    """Return the numbers of what carries the holder: those given, else those of a small lathe.

    Source
    ------
    Common practice, no source.
    """

    def known(value: float | None, usual: Band, unit: float = 1.0) -> Band:
        return usual if value is None else exactly(value * unit)

    def pulled(band: Band | None, told: Band, unit: float = 1.0) -> Band:
        return told if band is None else _times(band, unit)

    x, y, z = (None, None, None) if post.spring_n_per_um is None else post.spring_n_per_um
    return PostNumbers(
        spring=(
            known(x, SPRING, N_PER_UM),
            pulled(post.sideways_band_n_per_um, known(y, SPRING, N_PER_UM), N_PER_UM),
            pulled(post.up_band_n_per_um, known(z, SPRING, N_PER_UM), N_PER_UM),
        ),
        tilt=pulled(post.tilt_band_nm_per_rad, known(post.tilt_nm_per_rad, TILT)),
        mass=known(post.mass_kg, MASS),
        loss=known(post.loss_factor, LOSS),
    )


def _times(band: Band, unit: float) -> Band:
    """Return a band in another unit."""
    return Band(band.low * unit, band.likely * unit, band.high * unit, band.source)


def post_at_end(setup: Setup, side: str) -> Setup:
    """Return the set-up with what was assumed of its post at one end: soft and heavy, or the opposite.

    Parameters
    ----------
    setup
        The set-up; without a post it comes back as it is.
    side
        ``low``, ``likely`` or ``high``: that of the springs.
    """
    if setup.post is None:
        return setup
    numbers = post_numbers(setup.post)
    x, y, z = (getattr(one, side) / N_PER_UM for one in numbers.spring)
    mass = getattr(numbers.mass, {"low": "high", "high": "low"}.get(side, side))
    tilt = getattr(numbers.tilt, side)
    given = Post((x, y, z), tilt, mass, setup.post.loss_factor, setup.post.measured)
    return replace(setup, post=given)


def post_place(setup: Setup) -> float:
    """Return where the post's springs act, on the bar's axis [m]: the middle of the gripped part."""
    return -0.5 * (setup.bar.gripped_mm or 0.0) * MM


def cube_inertia(mass: float) -> float:
    """Return the moment of inertia of a steel cube of a mass [kg m^2] about an axis through its middle.

    Source
    ------
    ``m a^2 / 6`` (recalled, not opened).
    """
    return float(mass * (mass / _STEEL) ** (2 / 3) / 6)
