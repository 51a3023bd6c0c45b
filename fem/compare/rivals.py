"""The same space spent otherwise: steel in place of a wrap or a shim, less overhang, flats turned."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from stickout.fem.setup.centres_grip import BAR_HOLDS, CentresGrip
from stickout.fem.setup.changes import TENTH, slid, turned, without_absorber, without_shim, without_wrap
from stickout.fem.setup.checks import setup_faults
from stickout.fem.setup.parts import Setup
from stickout.meshes.parts import Bar, Step, Wrap

SHORTER: Final = "shorter"
PLAIN: Final = "plain"
THICKER: Final = "thicker there"
THICKER_ALL: Final = "thicker all over"
TALLER: Final = "taller"
TURNED: Final = "turned"
BEST_TURN: Final = "best turn"
HELD: Final = "held otherwise"


@dataclass(frozen=True)
class Rival:
    """A set-up that spends the same space otherwise.

    Attributes
    ----------
    kind
        One of the kinds of this module.
    setup
        The set-up.
    amount
        What it is about: overhang or diameter [mm], millimetres of height, or degrees turned.
    """

    kind: str
    setup: Setup
    amount: float


def rivals(setups: Sequence[Setup]) -> list[Rival]:
    """Return the same-space rivals of set-ups that are compared, none of them twice.

    Parameters
    ----------
    setups
        The first one and the changed ones.

    Returns
    -------
    list of Rival
        For every wrap the bar without it, as thick as wrap and bar over that length, and over the whole
        overhang; for every shim the shank without it and as much taller; of the first set-up 10 percent
        less overhang and, where its section is not round, a quarter turn; where it is held at both ends, a
        tenth thicker, and with a chuck at the headstock. For every absorber the bar
        without it; all other rivals are without it too. Set-ups that could not be built or held so are
        left out.
    """
    found: list[Rival] = []
    known = [_essence(one) for one in setups]
    for rival in _all(setups):
        if _essence(rival.setup) not in known and not list(setup_faults(rival.setup)):
            found.append(rival)
            known.append(_essence(rival.setup))
    return found


def _all(setups: Sequence[Setup]) -> Iterator[Rival]:
    for setup in map(without_absorber, setups):
        if setup.wrap is not None:
            yield from _steel_for_wrap(setup, setup.wrap)
        if setup.shim is not None:
            yield Rival(PLAIN, without_shim(setup), setup.shim.thickness_mm)
            taller = replace(without_shim(setup), bar=_taller(setup.bar, setup.shim.thickness_mm))
            yield Rival(TALLER, taller, setup.shim.thickness_mm)
    for setup in setups:
        if setup.absorber is not None:
            yield Rival(PLAIN, without_absorber(setup), setup.absorber.mass_g)
    first = without_absorber(setups[0])
    short = slid(first, (1 - TENTH) * first.bar.overhang_mm)
    yield Rival(SHORTER, short, short.bar.overhang_mm)
    if isinstance(first.grip, CentresGrip):
        yield from _at_both_ends(first, first.grip)
    if first.bar.section in ("flatted", "rectangle"):
        yield Rival(TURNED, turned(first, 90.0), 90.0)


def _at_both_ends(setup: Setup, grip: CentresGrip) -> Iterator[Rival]:
    """Yield a bar held at both ends a tenth thicker, and with its headstock end in a chuck."""
    grown = TENTH * setup.bar.widest_mm
    thick = _thicker(setup, (0.0, setup.bar.overhang_mm), grown)
    yield Rival(THICKER_ALL, replace(setup, bar=thick), grown)
    # A spring that was measured is that of the present headstock, not of a chuck.
    chucked = replace(grip, held=BAR_HOLDS[-1], chuck_n_per_um=None, chuck_tilt_nm_per_rad=None)
    yield Rival(HELD, replace(setup, grip=chucked), setup.bar.overhang_mm)


def _steel_for_wrap(setup: Setup, wrap: Wrap) -> Iterator[Rival]:
    """Yield the bar without its wrap, and with the wrap's space filled with bar."""
    bare, grown = without_wrap(setup), 2 * wrap.thickness_mm
    yield Rival(PLAIN, bare, wrap.thickness_mm)
    stop = wrap.start_mm + wrap.length_mm
    there = _thicker(setup, (wrap.start_mm, stop), grown)
    yield Rival(THICKER, replace(bare, bar=there), grown)
    yield Rival(THICKER_ALL, replace(bare, bar=_thicker(setup, (0.0, setup.bar.overhang_mm), grown)), grown)


def _thicker(setup: Setup, span: tuple[float, float], grown: float) -> Bar:
    """Return the bar with a larger diameter over a span of the overhang; its bore and seat stay."""
    bar, (start, stop) = setup.bar, span
    reach = bar.overhang_mm
    edges = {0.0, start, *(s.start_mm for s in bar.steps)} | ({stop} if stop < reach * (1 - 1e-9) else set())
    steps = []
    for at in sorted(edges):
        size = _size_at(bar, at) + (grown if start <= at < stop else 0.0)
        bore = next((s.bore_mm for s in bar.steps if s.start_mm == at), None)
        steps.append(Step(at, diameter_mm=size, bore_mm=bore))
    first, *rest = steps
    if setup.grip.grown_out:  # nothing is meshed behind the face, so the bar may begin thicker
        return replace(bar, diameter_mm=first.diameter_mm, steps=tuple(rest))
    if first.diameter_mm == bar.diameter_mm and first.bore_mm is None:
        return replace(bar, steps=tuple(rest))
    return replace(bar, steps=(first, *rest))


def _size_at(bar: Bar, at: float) -> float:
    """Return the diameter of a bar at a distance from the holder face [mm]."""
    sizes = [bar.diameter_mm, *(s.diameter_mm for s in bar.steps if s.start_mm <= at)]
    return [size for size in sizes if size is not None][-1]


def _taller(bar: Bar, more: float) -> Bar:
    """Return a square or rectangular bar with more height as it stands."""
    if bar.width_mm is None:
        return bar
    upright = round(bar.rotation_deg / 90) % 2 == 0
    square = bar.section == "square"
    steps = []
    for step in bar.steps:
        high = step.width_mm if square else step.height_mm
        width, height = _grown(step.width_mm, high, more=more, upright=upright)
        steps.append(replace(step, width_mm=width, height_mm=height))
    high = bar.width_mm if square else bar.height_mm
    width, height = _grown(bar.width_mm, high, more=more, upright=upright)
    return replace(bar, section="rectangle", steps=tuple(steps), width_mm=width, height_mm=height)


def _grown(
    width: float | None, height: float | None, *, more: float, upright: bool
) -> tuple[float | None, float | None]:
    """Return width and height with the one that stands up grown; a size not given stays so."""
    if upright:
        return width, None if height is None else height + more
    return None if width is None else width + more, height


def _essence(setup: Setup) -> tuple[object, ...]:
    """Return what makes two set-ups the same for the mechanics."""
    materials = tuple(sorted((name, one.name) for name, one in setup.materials.items() if name != "work"))
    return (
        setup.bar,
        setup.grip,
        setup.shim,
        setup.wrap,
        setup.turns,
        setup.edge,
        materials,
        setup.cut,
        setup.absorber,
    )
