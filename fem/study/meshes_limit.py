"""What nested meshes tend to, and how far the limit may be off.

The finer mesh is a subdivision of the coarser one: frequencies fall and compliance grows from the one to the
other, and on to the exact ones. What is still to come is a part of the step between them that was measured
over many set-ups, and is told as error as wide as it was seen.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.meshes.tagged import FloatArray

# The whole change of a direction over its first halving: 1 / (1 - ratio) at the ratios seen.
_ONWARD: Final = {"singular": 1.18, "along": 1.15, "across": 1.12}
# Told where directions are refined apart: part of their sum, and of the step for what they miss together.
_OF_SUM: Final = 0.20
_OF_STEP: Final = 0.03
_REGULAR: Final = 0.5
# Beside the worst figure's error none is told smaller than this part of it: steps that small follow no rule.
_SHARED_APART: Final = 0.25
_LEAST_ERROR: Final = 3e-6
# As many modes at the end may lack their likes on another mesh.
_MOST_LEFT_OUT: Final = 2
# Beyond rounding, frequencies of nested meshes cannot rise nor compliance fall.
_ROUNDING: Final = 1e-6


@dataclass(frozen=True)
class Rule:
    """What is still to come, in parts of the last step: the middle, which is added, and what is told.

    A figure that hardly moves beside the others falls by no rule: ``shared`` of the greatest step is told.
    """

    middle: float
    told: float
    shared: float


# What is still to come was 0.02 to 0.50 of the step (computed here; theory's third is for fine meshes): the
# middle of nothing and a half is added, a little more than what then may be left is told.
OF_MESHES: Final = Rule(0.25, 0.30, 0.05)
# Between spaces of polynomials it was 0.00 to 0.11 of the step on beds, 0.03 to 0.13 from the third space on
# (computed here).
OF_POLYNOMIALS: Final = Rule(0.055, 0.07, 0.01)
# Between the first two it was 0.00 to 0.08 where no bed holds the bar: its stress is less singular. At a
# shoulder's inner corner it is more so: up to 0.085.
OF_FIRST_POLYNOMIALS: Final = Rule(0.037, 0.042, 0.01)
# On a stiff bed the stress at its rim is that of a jump of pressure where springs are softer than the least
# cell: what is to come is 0.023 of the step (0.15^2 and all that follows, 0.15 being the share that a cut
# leaves). Where springs are stiffer it is that of a held face's rim: 0.110. Between the two it goes by
# stiffness times least cell over modulus, half-way at 50 (computed here, 68 bars, off by 0.016 at most).
# Figures that the rim has little part in have anything to come from nothing to what smooth motion leaves.
_SPRINGS_RULE: Final = 0.023
_CELLS_RULE: Final = 0.110
_HALF_WAY: Final = 50.0
_OFF_THE_LAW: Final = 0.02
_SMOOTH: Final = 0.11


def on_bed(stiffness: float) -> Rule:
    """Return what may be still to come after the first two spaces of polynomials of a plain bar on a bed.

    Parameters
    ----------
    stiffness
        That of the bed [N/m^3] times the least cell of the finer space [m], over the bar's modulus [Pa].

    Source
    ------
    Exponents of the stress at the rim, 1 and a half: recalled, not opened. The way between: computed here.
    """
    held = stiffness / (stiffness + _HALF_WAY)
    at_rim = _SPRINGS_RULE + (_CELLS_RULE - _SPRINGS_RULE) * held + _OFF_THE_LAW
    half = max(at_rim, _SMOOTH) / 2
    return Rule(half, 1.15 * half, 0.01)


@dataclass(frozen=True)
class MeshNumbers:
    """What one mesh told: frequencies [Hz], their kinds, compliance at the edge [m/N], (3, 3)."""

    frequency_hz: FloatArray
    kinds: Sequence[str]
    compliance: FloatArray


@dataclass(frozen=True)
class Tended:
    """Frequencies [Hz], compliance [m/N] and their relative errors in the limit of fine meshes."""

    frequency_hz: FloatArray
    error: FloatArray
    compliance: FloatArray
    compliance_error: FloatArray


def worst_error(error: FloatArray, compliance_error: FloatArray, *, wanted: int) -> float:
    """Return the greatest error of what was asked for: of the wanted frequencies and of the springs."""
    return float(max(error[:wanted].max(), np.diag(compliance_error).max()))


def tended(solved: Sequence[MeshNumbers], rule: Rule = OF_MESHES) -> Tended:
    """Return what two nested meshes tend to.

    Parameters
    ----------
    solved
        What the meshes told, the coarse one first, as many modes each.
    rule
        How much of their step may be still to come.

    Returns
    -------
    Tended
        The limit lies a part of the step beyond the finer mesh, off by little more at most. A compliance
        tends to its limit from below as a matrix, so that the error of an entry is bounded by the root of
        its two diagonal ones.

    Source
    ------
    Min-max principle; range of a step's part still to come measured (see DEVELOPERS.md).
    """
    coarse, fine = solved[-2:]
    step = fine.frequency_hz - matched(coarse, fine)
    soft = fine.compliance - coarse.compliance
    frequency = fine.frequency_hz + rule.middle * step
    compliance = fine.compliance + rule.middle * soft
    told = rule.told * np.abs(step)
    most = (np.abs(step) / np.maximum(fine.frequency_hz, 1e-300)).max()
    told = np.maximum(told, rule.shared * most * fine.frequency_hz)
    # What nested meshes cannot do shows that they are not: then the whole step is in doubt.
    rising = step > _ROUNDING * frequency
    told[rising] = np.abs(step[rising])
    root = (rule.told if _is_growing(soft, compliance) else 1.0) * _roots(soft)
    size = np.sqrt(np.abs(np.diag(compliance)))
    root = np.maximum(root, rule.shared * np.outer(size, size) * np.abs(np.diag(soft) / size**2).max())
    return with_floor(frequency, told, compliance=compliance, root=root)


def further(found: Tended, own: MeshNumbers, *, last: MeshNumbers, more: Tended) -> Tended:
    """Return a limit to which is added what other refinements, nested too, still have to come.

    Parameters
    ----------
    found
        What is known without.
    own
        The numbers whose order of modes it has.
    last
        What the last of those refinements told, all else alike.
    more
        What they tend to.
    """
    change = matched(replace(last, frequency_hz=more.frequency_hz / last.frequency_hz), own)
    doubt = matched(replace(last, frequency_hz=more.error), own)
    return Tended(
        frequency_hz=found.frequency_hz * change,
        error=found.error + doubt,
        compliance=found.compliance + more.compliance - last.compliance,
        compliance_error=found.compliance_error + more.compliance_error,
    )


def split(pair: Sequence[MeshNumbers], more: Mapping[str, MeshNumbers]) -> Tended:
    """Return what two nested meshes, and the second refined in one direction each, tend to.

    Parameters
    ----------
    pair
        What the two nested meshes told.
    more
        What each direction told: ``singular``, ``along``, ``across``.

    Source
    ------
    Splitting extrapolation: Lin, Lü, Liem & Shih (recalled, not opened); constants measured.
    """
    coarse, fine = pair
    step = fine.frequency_hz - matched(coarse, fine)
    soft = fine.compliance - coarse.compliance
    change = {name: matched(one, fine) - fine.frequency_hz for name, one in more.items()}
    softer = {name: one.compliance - fine.compliance for name, one in more.items()}
    frequency = fine.frequency_hz + sum(_ONWARD[name] * d for name, d in change.items())
    compliance = fine.compliance + sum(_ONWARD[name] * d for name, d in softer.items())
    told = _told(np.abs(step), np.sum([np.abs(d) for d in change.values()], axis=0))
    root = _told(_roots(soft), np.sum([_roots(d) for d in softer.values()], axis=0))
    told = np.maximum(told, _SHARED_APART * frequency * (told / np.maximum(frequency, 1e-300)).max())
    size = np.sqrt(np.abs(np.diag(compliance)))
    root = np.maximum(root, _SHARED_APART * np.outer(size, size) * (np.diag(root) / size**2).max())
    for name in more:
        rising = change[name] > _ROUNDING * frequency
        told[rising] = np.maximum(told, np.abs(step))[rising]
        if not _is_growing(softer[name], compliance):
            root = np.maximum(root, _roots(soft))
    return with_floor(frequency, told, compliance=compliance, root=root)


def _told(step: FloatArray, total: FloatArray) -> FloatArray:
    """Return the error told from the sum of the directions' changes, and the step before them."""
    told: FloatArray = _OF_SUM * total + _OF_STEP * step
    return np.where(total > _REGULAR * step, np.maximum(told, OF_MESHES.told * step), told)


def with_floor(
    frequency: FloatArray, told: FloatArray, *, compliance: FloatArray, root: FloatArray
) -> Tended:
    """Return the limit with relative errors, none below what rounding and the solver leave.

    Parameters
    ----------
    frequency, told
        Frequencies and their errors [Hz].
    compliance, root
        Compliance and the errors of its entries [m/N], (3, 3).
    """
    scale = np.where(frequency > 0, frequency, 1.0)
    size = np.sqrt(np.abs(np.diag(compliance)))
    return Tended(
        frequency_hz=frequency,
        error=np.maximum(told / scale, _LEAST_ERROR),
        compliance=compliance,
        compliance_error=np.maximum(root / np.outer(size, size), _LEAST_ERROR),
    )


def _roots(step: FloatArray) -> FloatArray:
    """Return the roots of products of a step's diagonal entries: what bounds every entry of a growing one."""
    size = np.sqrt(np.abs(np.diag(step)))
    return np.outer(size, size)


def _is_growing(step: FloatArray, compliance: FloatArray) -> bool:
    """Return whether a step adds compliance in every direction, but for rounding."""
    size = np.sqrt(np.abs(np.diag(compliance)))
    return bool(np.linalg.eigvalsh(step / np.outer(size, size)).min() > -_ROUNDING)


def matched(level: MeshNumbers, finest: MeshNumbers) -> FloatArray:
    """Return a level's frequencies [Hz] in the order of the finest: the n-th of a kind with the n-th.

    Parameters
    ----------
    level, finest
        What two meshes told, as many modes each.

    Notes
    -----
    A mode near the border of two kinds may bear one on this mesh and the other on that: where a kind counts
    unlike on both, its modes are matched by their order alone, as the min-max principle has them. The last
    ones are left out of the count where that makes the rest alike: of an equal pair only one may be there.
    """
    here, there = list(level.kinds), list(finest.kinds)
    if here == there:
        return level.frequency_hz
    out = level.frequency_hz.copy()
    whole = len(here)
    fewer = range(whole, whole - _MOST_LEFT_OUT - 1, -1)
    last = next((n for n in fewer if sorted(here[:n]) == sorted(there[:n])), whole)
    ours, theirs = here[:last], there[:last]
    alike = {kind for kind in theirs if ours.count(kind) == theirs.count(kind)}
    for group in (*({kind} for kind in alike), set(ours + theirs) - alike):
        mine = [i for i, kind in enumerate(ours) if kind in group]
        other = [i for i, kind in enumerate(theirs) if kind in group]
        for i, j in zip(mine, other, strict=True):
            out[j] = level.frequency_hz[i]
    return out
