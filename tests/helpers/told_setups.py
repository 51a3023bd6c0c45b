"""Random set-ups of every kind of section and grip, for comparing told errors with errors made."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.parts import Setup

Draw = Callable[[float, float], float]
ACCURACIES = (1e-2, 1e-3, 3e-4, 1e-4)


def told_setup(number: int) -> tuple[str, Setup]:
    """Return the kind and the set-up of a case: kinds in turn, sizes at random, accuracies in turn."""
    kind = KINDS[number % len(KINDS)]
    draw = np.random.default_rng(number).uniform
    text = KIND_TEXTS[kind](lambda low, high: round(float(draw(low, high)), 2))
    setup = parse_setup(f'units = "mm"\n{text}\n').setup
    accuracy = ACCURACIES[(number + number // len(KINDS)) % len(ACCURACIES)]
    return kind, replace(setup, solve=replace(setup.solve, modes=6, accuracy=accuracy))


def bar(section: str, **sizes: object) -> str:
    """Return the table of a bar, after it what ``more`` says."""
    lines = [f"{key} = {value}" for key, value in sizes.items()]
    return "\n".join(["[bar]", f'section = "{section}"', 'material = "steel"', *lines])


RIGID = '\n[grip]\nstyle = "rigid"'
HELD = '\n[grip]\nstyle = "held"'


def bed(stiffness: float) -> str:
    """Return a grip all round."""
    return f'\n[grip]\nstyle = "bed"\nbed_n_per_um_mm2 = {stiffness}'


def slot(d: Draw, gripped: float) -> str:
    """Return two screws on a gripped length."""
    first = round(0.22 * gripped, 2)
    return (
        f'\n[grip]\nstyle = "slot"\nscrews = 2\nscrew_diameter = {d(4, 7)}\nfirst_screw = {first}\n'
        f"screw_spacing = {round(0.5 * gripped, 2)}\njoint_n_per_um_mm2 = {round(10 ** d(-1, 1), 2)}"
    )


def sleeve(d: Draw, diameter: float, *, split: bool) -> str:
    """Return a bored block."""
    side = round(diameter * d(1.9, 2.8), 2)
    wall = round((side - diameter) / 2 * d(0.6, 1.0), 2)
    return (
        f'\n[grip]\nstyle = "sleeve"\nblock_width = {side}\nblock_height = {side}\nwall = {wall}\n'
        f'block_material = "steel"\nsplit = {str(split).lower()}'
    )


def mass(d: Draw) -> str:
    """Return an edge mass or none."""
    grams = d(-5, 15)
    return f"\n[edge]\nmass_g = {grams}" if grams > 0 else ""


def shim(d: Draw) -> str:
    """Return a copper shim of half a millimetre to two."""
    return f'\n[shim]\nmaterial = "annealed copper"\nthickness = {d(0.5, 2)}'


def wrap(start: float, length: float, d: Draw) -> str:
    """Return a bonded solder sleeve."""
    return (
        f'\n[wrap]\nmaterial = "tin-lead solder"\nthickness = {d(1, 3)}\nstart = {round(start, 2)}\n'
        f'length = {round(length, 2)}\nbond = "bonded"'
    )


def _round_bar(d: Draw, *, held: bool = False) -> tuple[str, float, float]:
    diameter, slender = d(8, 25), d(3, 7)
    overhang = round(diameter * slender, 2)
    gripped = {"gripped": round(diameter * d(2, 3.5), 2)} if held else {}
    return bar("round", diameter=diameter, overhang=overhang, **gripped), diameter, overhang


def _square_bar(d: Draw, gripped: float) -> str:
    side = d(8, 16)
    return bar("square", width=side, overhang=round(side * d(2, 5), 2), gripped=gripped)


def _blade(d: Draw, **more: object) -> str:
    height = d(12, 30)
    return bar(
        "rectangle",
        width=round(height * d(0.12, 0.3), 2),
        height=height,
        overhang=round(height * d(1, 3), 2),
        **more,
    )


def _stepped(d: Draw) -> str:
    diameter, slender = d(14, 25), d(3, 5)
    start = round(diameter * slender * d(0.3, 0.7), 2)
    step = f"\n[[bar.steps]]\nstart = {start}\ndiameter = {round(diameter * d(0.5, 0.9), 2)}"
    return bar("round", diameter=diameter, overhang=round(diameter * slender, 2)) + step + RIGID


def _tube(d: Draw) -> str:
    diameter = d(12, 30)
    bore = round(diameter * d(0.3, 0.75), 2)
    return bar("tube", diameter=diameter, bore=bore, overhang=round(diameter * d(3, 6), 2)) + RIGID


def _flatted(d: Draw, turn: float, **more: object) -> str:
    diameter = d(10, 20)
    return bar(
        "flatted",
        diameter=diameter,
        across_flats=round(diameter * d(0.7, 0.92), 2),
        overhang=round(diameter * d(3, 6), 2),
        rotation_deg=turn,
        **more,
    )


def _thin_flatted(d: Draw) -> str:
    diameter = d(12, 20)
    flats = round(diameter * d(0.25, 0.4), 2)
    return (
        bar("flatted", diameter=diameter, across_flats=flats, overhang=round(diameter * d(2, 4), 2)) + RIGID
    )


def _wrapped(d: Draw, *, to_tip: bool) -> str:
    text, _, overhang = _round_bar(d)
    share = d(0.3, 0.5)
    stop = overhang if to_tip else overhang * d(0.8, 0.92)
    start = round(stop - share * overhang, 2)
    return text + RIGID + wrap(start, round(stop, 2) - start, d)


def _sleeved(d: Draw, *, split: bool) -> str:
    text, diameter, _ = _round_bar(d, held=True)
    return text + sleeve(d, diameter, split=split)


KIND_TEXTS: dict[str, Callable[[Draw], str]] = {
    "round rigid": lambda d: _round_bar(d)[0] + RIGID + mass(d),
    "square rigid": lambda d: _square_bar(d, 0) + RIGID + mass(d),
    "blade rigid": lambda d: _blade(d) + RIGID,
    "flatted turned": lambda d: _flatted(d, d(0, 90)) + RIGID + mass(d),
    "thin flatted": _thin_flatted,
    "tube": _tube,
    "stepped": _stepped,
    "soft bed": lambda d: _round_bar(d, held=True)[0] + bed(round(10 ** d(-1, 1), 3)) + mass(d),
    "stiff bed": lambda d: _round_bar(d, held=True)[0] + bed(round(10 ** d(1.5, 5), 0)),
    "held": lambda d: _square_bar(d, d(25, 40)) + HELD,
    "held shim": lambda d: _square_bar(d, d(25, 40)) + HELD + shim(d),
    "slot": lambda d: _square_bar(d, 36) + slot(d, 36) + mass(d),
    "slot shim": lambda d: _square_bar(d, 36) + slot(d, 36) + shim(d),
    "flatted on screws": lambda d: _flatted(d, 0, gripped=40) + slot(d, 40),
    "sleeve": lambda d: _sleeved(d, split=False),
    "split sleeve": lambda d: _sleeved(d, split=True),
    "wrap to the tip": lambda d: _wrapped(d, to_tip=True),
    "wrap amid": lambda d: _wrapped(d, to_tip=False),
}
KINDS = list(KIND_TEXTS)
