"""Set-ups at the edges of what may be asked: stubs, slender bars, thin walls, unlike metals, many modes."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
from told_setups import RIGID, Draw, bar, bed

from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.parts import Setup

ACCURACIES = (1e-2, 1e-3, 3e-4, 1e-4)
MODES = (6, 12, 3, 20, 1)
METALS = ("steel", "cemented carbide", "aluminium", "lead", "tungsten heavy alloy", "acetal")


def extreme_setup(number: int) -> tuple[str, Setup]:
    """Return the kind and the set-up of a case: kinds, accuracies and numbers of modes in turn."""
    kinds = list(EXTREMES)
    kind, turn = kinds[number % len(kinds)], number // len(kinds)
    draw = np.random.default_rng([number, len("extreme")]).uniform
    text = EXTREMES[kind](lambda low, high: round(float(draw(low, high)), 3))
    setup = parse_setup(f'units = "mm"\n{text}\n').setup
    solve = replace(
        setup.solve,
        modes=MODES[(number + turn) % len(MODES)],
        accuracy=ACCURACIES[(number + turn) % len(ACCURACIES)],
    )
    return kind, replace(setup, solve=solve)


def _sized(d: Draw, slender: tuple[float, float], *, bore: tuple[float, float] | None = None) -> str:
    """Return a round bar of 16 mm, or a tube, of a metal at random, gripped over a length at random."""
    hollow: Mapping[str, float] = {} if bore is None else {"bore": round(16 * d(*bore), 3)}
    text = bar(
        "round" if bore is None else "tube",
        diameter=16,
        **hollow,
        overhang=round(16 * d(*slender), 2),
        gripped=round(16 * d(0.4, 3), 2),
    )
    return text.replace('"steel"', f'"{METALS[int(d(0, len(METALS)))]}"')


def _stiffness(d: Draw, low: float, high: float) -> str:
    """Return a bed whose stiffness is drawn by its logarithm."""
    return bed(float(f"{10 ** d(low, high):.3g}"))


def _edge(d: Draw, *, beside: bool) -> str:
    """Return a heavy edge, on the axis or far from it."""
    sides = f"\noffset_y = {d(-16, 16)}\noffset_z = {d(-16, 16)}\nend_distance = {d(0, 6)}" if beside else ""
    return f"\n[edge]\nmass_g = {d(2, 80)}{sides}"


def _wrapped(d: Draw, start: float, length: float, bond: str = "bonded") -> str:
    """Return a wrap of a soft metal or a hard one, thin or thick."""
    metal = METALS[int(d(0, len(METALS)))]
    return (
        f'\n[wrap]\nmaterial = "{metal}"\nthickness = {d(0.6, 8)}\nstart = {start}\n'
        f'length = {round(length, 3)}\nbond = "{bond}"'
    )


def _stairs(d: Draw) -> str:
    """Return a bar of 40 mm that steps down by a lot and up by little."""
    steps = [(12, 16 * d(0.3, 0.8)), (24, 16 * d(0.85, 1.15))]
    text = bar("round", diameter=16, overhang=40)
    return text + "".join(f"\n[[bar.steps]]\nstart = {x}\ndiameter = {round(s, 2)}" for x, s in steps)


def _flat(d: Draw, width: float, height: float, **more: object) -> str:
    return bar("rectangle", width=width, height=height, overhang=d(12, 50), **more)


EXTREMES: dict[str, Callable[[Draw], str]] = {
    "stub": lambda d: _sized(d, (0.5, 1.5)) + RIGID,
    "stub on a bed": lambda d: _sized(d, (0.5, 1.5)) + _stiffness(d, 1, 7),
    "thin tube": lambda d: _sized(d, (0.6, 5), bore=(0.85, 0.96)) + RIGID,
    "thin tube on a bed": lambda d: _sized(d, (0.6, 5), bore=(0.8, 0.96)) + _stiffness(d, 1, 7),
    "tube of a narrow bore": lambda d: _sized(d, (1, 5), bore=(0.05, 0.2)) + RIGID,
    "slender": lambda d: _sized(d, (9, 15)) + _edge(d, beside=False) + RIGID,
    "edge beside the axis": lambda d: _sized(d, (1, 6)) + _edge(d, beside=True) + RIGID,
    "edge beside the axis, bed": lambda d: _sized(d, (1, 6)) + _edge(d, beside=True) + _stiffness(d, 0, 4),
    "bed": lambda d: _sized(d, (1, 6)) + _stiffness(d, 1, 7),
    "steps down and up": lambda d: _stairs(d) + RIGID,
    "wrap at the root": lambda d: _sized(d, (2, 5)) + RIGID + _wrapped(d, 0, d(5, 25)),
    "thick wrap to the tip": lambda d: bar("round", diameter=16, overhang=48) + RIGID + _wrapped(d, 40, 8),
    "wrap over a step": lambda d: (
        bar("round", diameter=16, overhang=60)
        + f"\n[[bar.steps]]\nstart = 36\ndiameter = {d(9, 15)}"
        + RIGID
        + _wrapped(d, 28, d(12, 24))
    ),
    "loose wrap": lambda d: _sized(d, (2, 5)) + RIGID + _wrapped(d, 8, d(6, 20), "loose"),
    "all but square": lambda d: _flat(d, 12, d(12, 12.1), rotation_deg=30) + RIGID,
    "flat blade": lambda d: _flat(d, d(1.6, 3), d(20, 32)) + RIGID,
}
