"""The lowest modes and the static compliance of a bar of revolution."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.revolved.bar import Fine, RevolvedBar
from stickout.fem.revolved.cells import Cells, cells_of
from stickout.fem.revolved.motion import motion
from stickout.fem.revolved.problem import Block, Mode, Problem
from stickout.fem.revolved.section import BENDING
from stickout.fem.revolved.wave import ALONG, ROUND, SIDEWAYS, UPWARD, Wave, Way
from stickout.fem.solid.kinds import named_kinds
from stickout.meshes.tagged import FloatArray

# Below this part of its lowest section frequency squared nothing of an order rings: what an endless bar has
# there lies a few per cent lower at most, and orders above the second rise (own margin).
_CLEAR: Final = 0.5
# Waves along the bar among a number of modes: a third bend each way, a third twist or stretch.
_WAVES: Final = 4.5


@dataclass(frozen=True)
class Solution:
    """The lowest modes, mass-normalised, and the compliance.

    Attributes
    ----------
    frequency_hz
        Natural frequencies [Hz], rising, shape (n_modes,).
    edge
        Motion of the edge [kg^-1/2], shape (n_modes, 3).
    energy
        Strain energy [J] of each mode in every region and bed, shape (n_modes,) each.
    residual
        Relative residual of each mode, shape (n_modes,).
    labels
        What tells modes of unlike symmetry apart.
    compliance
        Static compliance at the edge [m/N], shape (3, 3).
    unknowns
        How many unknowns were solved for.
    modes
        Where each mode is kept.
    problems
        What was solved by itself each.
    """

    frequency_hz: FloatArray
    edge: FloatArray
    energy: Mapping[str, FloatArray]
    residual: FloatArray
    labels: Sequence[str]
    compliance: FloatArray
    unknowns: int
    modes: Sequence[Mode]
    problems: Sequence[Problem]

    def kinds(self) -> list[str]:
        """Return the kind of each mode, from how the sections of the overhanging bar move."""
        return named_kinds(self.kind_shares())

    def kind_shares(self) -> FloatArray:
        """Return the share of each kind in the squared motion of each mode, shape (n_modes, 4)."""
        return np.stack([shares[mode.number] for mode, shares in self._each(Problem.kind_shares)])

    def most(self) -> FloatArray:
        """Return the motion of the point that moves most [kg^-1/2], shape (n_modes,).

        Of a mode that moves in more ways than one it is bounded by the sum of theirs.
        """
        return np.array([most[mode.number] for mode, most in self._each(Problem.most)])

    def _each(self, of: Callable[[Problem], FloatArray]) -> Iterator[tuple[Mode, FloatArray]]:
        """Yield every mode with what is worked out for all modes of its problem."""
        known = {problem: of(problem) for problem in dict.fromkeys(mode.problem for mode in self.modes)}
        return ((mode, known[mode.problem]) for mode in self.modes)

    def motion(self, points: FloatArray) -> FloatArray:
        """Return the motion of points [m], (n_points, 3), in every mode: (n_modes, n_points, 3)."""
        out = np.zeros((len(self.modes), len(points), 3))
        for problem, turn in dict.fromkeys((mode.problem, mode.turn) for mode in self.modes):
            mine = [i for i, mode in enumerate(self.modes) if (mode.problem, mode.turn) == (problem, turn)]
            columns = problem.pairs.shapes[:, [self.modes[i].number for i in mine]]
            for number, block in enumerate(problem.blocks):
                own = columns[problem.part(number)]
                moved = motion(block.wave, points, columns=own, turn=block.way.turn + turn)
                out[mine] += moved.transpose(2, 0, 1)
        return out


def solve(bar: RevolvedBar, fine: Fine, *, wanted: int) -> Solution:
    """Return the lowest modes of a bar of revolution and its compliance.

    Parameters
    ----------
    bar
        The bar, held at its first face or on a bed.
    fine
        Degrees and cuts; the spaces of a lesser one lie in those of a greater.
    wanted
        How many modes.

    Raises
    ------
    SolveError
        The stiffness is not positive, or an iteration did not converge.

    Source
    ------
    Fourier series round the axis: Wilson, AIAA J. 3 (1965) 2269; polynomials on graded cells: Szabo &
    Babuska, Finite Element Analysis (both recalled, not opened).
    """
    cells = cells_for(bar, fine, wanted=wanted)
    waves = waves_of(bar, cells, wanted=wanted)
    blocks = {way: Block(wave, way) for way, wave in waves.items()}
    problems = [
        Problem(
            [blocks[way] for way in ways],
            mass=bar.edge_mass,
            turned=(SIDEWAYS.turn, UPWARD.turn) if ways == (SIDEWAYS,) else (0.0,),
        )
        for ways in ways_together(bar)
    ]
    _settled(problems, wanted)
    order = 2
    while True:
        wave = Wave(bar, cells, order=order, parts=BENDING)
        if is_clear(wave, _highest(problems, wanted)):
            break
        turns = (0.0, np.pi / 2)
        problems.append(Problem([Block(wave, Way(order, BENDING))], mass=0.0, turned=turns))
        _settled(problems, wanted)
        order += 1
    compliance = np.zeros((3, 3))
    for way, wave in waves.items():
        reach = wave.reach(way.turn)
        compliance += reach @ wave.flex @ reach.T
    unknowns = sum(wave.chain.n_unknowns for wave in waves.values())
    return _solution(problems, wanted, compliance=compliance, unknowns=unknowns)


def cells_for(bar: RevolvedBar, fine: Fine, *, wanted: int) -> Cells:
    """Return the cells on which so many modes of a bar are solved."""
    return cells_of(bar, fine, waves=max(wanted / _WAVES, 1.0))


def waves_of(bar: RevolvedBar, cells: Cells, *, wanted: int) -> dict[Way, Wave]:
    """Return the ways of moving that the edge knows; both of bending share their matrices."""
    waves = {
        way: Wave(bar, cells, order=way.order, parts=way.parts, count=_expected(way, wanted))
        for way in (SIDEWAYS, ROUND, ALONG)
    }
    return waves | {UPWARD: waves[SIDEWAYS]}


def ways_together(bar: RevolvedBar) -> list[tuple[Way, ...]]:
    """Return what is solved by itself: every way, or all together where a mass beside the axis joins them.

    Bending is there once, for both of its ways, where it is by itself.
    """
    if bar.edge_mass and np.any(bar.edge[1:]):
        return [(SIDEWAYS, UPWARD, ROUND, ALONG)]
    return [(SIDEWAYS,), (ROUND,), (ALONG,)]


def is_clear(wave: Wave, value: float) -> bool:
    """Return whether nothing of an order above the first rings below an eigenvalue [1/s^2]."""
    return wave.lowest_of_sections * _CLEAR > value


def _expected(way: Way, wanted: int) -> int:
    """Return how many of so many modes may be of a way: a first guess."""
    return -(-wanted // 3) if way.order == 1 else 1


def _highest(problems: Sequence[Problem], wanted: int) -> float:
    """Return the highest of the wanted eigenvalues, infinite when there are not as many yet."""
    values = np.sort(np.concatenate([np.repeat(p.pairs.values, len(p.turned)) for p in problems]))
    return float(values[wanted - 1]) if len(values) >= wanted else np.inf


def _settled(problems: Sequence[Problem], wanted: int) -> None:
    """Ask every problem for modes until none can hide one below the highest of the wanted ones."""
    for problem in problems:
        if not len(problem.pairs.values):
            ways = [block.way for block in problem.blocks]
            problem.ask(wanted if len(ways) > 1 else _expected(ways[0], wanted))
    while True:
        lowest = min(problems, key=lambda p: p.beyond)
        if lowest.beyond >= _highest(problems, wanted) * (1 - 1e-6):
            return
        lowest.ask(len(lowest.pairs.values) + 1)


def _solution(problems: Sequence[Problem], wanted: int, *, compliance: FloatArray, unknowns: int) -> Solution:
    """Return the wanted modes of all problems, in order."""
    every = [
        (float(value), Mode(problem, number, turn), f"{kind} {turn:.0f}")
        for kind, problem in enumerate(problems)
        for turn in problem.turned
        for number, value in enumerate(problem.pairs.values)
    ]
    every = sorted(every, key=lambda one: one[0])[:wanted]
    modes = [mode for _, mode, _ in every]
    edges = {(p, turn): p.edge(p.pairs.shapes, turn) for p in problems for turn in p.turned}
    energies = {p: p.energies() for p in problems}
    names = dict.fromkeys(name for one in energies.values() for name in one)
    return Solution(
        frequency_hz=np.sqrt([value for value, _, _ in every]) / (2 * np.pi),
        edge=np.stack([edges[m.problem, m.turn][:, m.number] for m in modes]),
        energy={n: np.array([energies[m.problem][n][m.number] for m in modes]) for n in names},
        residual=np.array([m.problem.pairs.residuals[m.number] for m in modes]),
        labels=[label for _, _, label in every],
        compliance=compliance,
        unknowns=unknowns,
        modes=modes,
        problems=problems,
    )
