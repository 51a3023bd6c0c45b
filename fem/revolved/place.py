"""How a section of a solved bar of revolution moves: in its modes, and at rest under loads."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from stickout.fem.revolved.motion import section_loads
from stickout.fem.revolved.problem import Block
from stickout.fem.revolved.solve import Solution
from stickout.meshes.tagged import FloatArray


def section_motion(solution: Solution, x: float) -> FloatArray:
    """Return the mean motion of the bar's section in every mode [kg^-1/2], shape (n_modes, 3).

    Parameters
    ----------
    solution
        The solved bar.
    x
        Distance from the holder face [m].
    """
    out = np.zeros((len(solution.modes), 3))
    for problem in dict.fromkeys(mode.problem for mode in solution.modes):
        loads = [section_loads(block.wave, x) for block in problem.blocks]
        for place, mode in enumerate(solution.modes):
            if mode.problem is problem:
                for number, (block, (rigid, own)) in enumerate(zip(problem.blocks, loads, strict=True)):
                    moved = own.T @ problem.pairs.shapes[problem.part(number), mode.number]
                    out[place] += rigid.translation_and_rotation(block.way.turn + mode.turn)[:3] @ moved
    return out


def section_at_rest(solution: Solution, x: float) -> tuple[FloatArray, FloatArray]:
    """Return the static motion of edge and section for unit forces spread over the section [m/N].

    Parameters
    ----------
    solution
        The solved bar.
    x
        Distance from the holder face [m].

    Returns
    -------
    tuple of ndarray
        Motion of the edge, and mean motion of the section, shape (3, 3) each.

    Source
    ------
    Linear statics, solved by each order of the series (computed here).
    """
    cross, static = np.zeros((3, 3)), np.zeros((3, 3))
    for block, turns in _blocks(solution):
        wave = block.wave
        rigid, loads = section_loads(wave, x)
        moved = wave.chain.solve(loads)
        for turn in turns:
            way = rigid.translation_and_rotation(turn)[:3]
            cross += wave.reach(turn) @ (wave.loads.T @ moved) @ way.T
            static += way @ (loads.T @ moved) @ way.T
    return cross, static


def _blocks(solution: Solution) -> Iterator[tuple[Block, list[float]]]:
    """Yield every way of moving with all turns in which it is there; the edge knows orders 0 and 1 alone."""
    for problem in solution.problems:
        for block in problem.blocks:
            if block.way.order < 2:
                yield block, [block.way.turn + turn for turn in problem.turned]
