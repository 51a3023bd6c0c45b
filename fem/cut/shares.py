"""Tool against work: which of the two holds most of the response, in statics and at the chatter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.chatter.receptance import ModalModel, receptance
from stickout.fem.chatter.stability import Limit
from stickout.fem.force.case import CutCase
from stickout.meshes.tagged import FloatArray

MOST: Final = 0.6


@dataclass(frozen=True)
class WorkSide:
    """Share of the tool in what tool and work do together.

    Attributes
    ----------
    static_share
        Share of the tool in the static spring along the force [-].
    dynamic_share
        Share of the tool in the part of the response that feeds the chatter, at its frequency [-].
    work_compliance_along
        Deflection of the work per force along the force [m/N].
    """

    static_share: float
    dynamic_share: float
    work_compliance_along: float

    @property
    def soft_side(self) -> str:
        """Return the side that holds more than 60 % of the response: tool, work, or both."""
        if self.dynamic_share > MOST:
            return "tool"
        return "work" if self.dynamic_share < 1.0 - MOST else "both"


def work_side(case: CutCase, tool: ModalModel, *, work: ModalModel, limit: Limit) -> WorkSide:
    """Return the shares of tool and work.

    Parameters
    ----------
    case
        The cut.
    tool, work
        The two modal models.
    limit
        The limit of both together.

    Returns
    -------
    WorkSide
        Static and dynamic share of the tool.

    Source
    ------
    ``|Re tr(G A)|`` of each side at the chatter's frequency: receptances add (computed here).
    """
    e = case.on_tool / np.linalg.norm(case.on_tool)
    springs = [float(e @ model.static @ e) for model in (tool, work)]
    parts = [abs(_fed(model, case.stiffness, float(limit.omega))) for model in (tool, work)]
    return WorkSide(
        static_share=springs[0] / sum(springs),
        dynamic_share=parts[0] / sum(parts),
        work_compliance_along=springs[1],
    )


def _fed(model: ModalModel, matrix: FloatArray, omega: float) -> float:
    """Return the real part of the trace of G A at a frequency."""
    response = receptance(model, np.array([omega]))[..., 0]
    return float(np.trace(response @ matrix).real)
