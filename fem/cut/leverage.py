"""Who is soft: tool, post, the part or what holds it, asked at rest, and by making one side rigid at a time.

Shares at the chatter's frequency may be negative or above one; what the cut would do with a side made rigid
is a number that anybody can read.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.beam.work import has_wall, work_model
from stickout.fem.chatter.modal import ModalModel
from stickout.fem.cut.likely import LikelyLimit
from stickout.fem.cut.models import coarse_model, joined
from stickout.fem.cut.speed_margins import SpeedMargins, speed_margins
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.carrier import edge_compliance
from stickout.fem.study.on_post import carrier_of
from stickout.fem.study.result import Result

TOOL, POST, WORK, HOLDING, WALL = "tool", "post", "work", "holding", "wall"
_UNDER: Final = {WORK: (HOLDING, WALL), TOOL: (POST,)}
# A side whose rigidity raises the margin by less than this is not what sings.
_FELT: Final = 1.1
_DOUBLED: Final = 2.0


@dataclass(frozen=True)
class Rigid:
    """The cut with one side made rigid: margin [-] and frequency of the chatter [Hz] at its worst speed."""

    side: str
    margin: float
    chatter_hz: float


@dataclass(frozen=True)
class Leverage:
    """Who is soft.

    Attributes
    ----------
    margin
        The likely margin at the worst speed, as it is [-].
    static
        Share of tool, post, the part's own bending (work), its thin wall and what holds it (holding) in the
        deflection between edge and part along the force; those that are described.
    rigid
        One for each of the same sides: ``work`` is the part with wall and holding, ``tool`` the tool with its
        post, ``holding``, ``wall`` and ``post`` are only those.
    """

    margin: float
    static: Mapping[str, float]
    rigid: tuple[Rigid, ...]

    @property
    def softest(self) -> str:
        """Return the side with the largest share of the deflection."""
        return max(self.static, key=lambda side: self.static[side])

    @property
    def singer(self) -> str | None:
        """Return the side that limits the cut; None where none does alone.

        The side that made rigid raises the margin most. Where a perfect hold alone doubles it, or does half
        of that (in the logarithm), it is the holding; the same for a thin wall, and the post under the tool.
        """
        gain = {one.side: one.margin / self.margin for one in self.rigid}
        best = max(gain, key=lambda side: gain[side])
        if gain[best] < _FELT:
            return None
        under = max(_UNDER.get(best, (best,)), key=lambda side: gain.get(side, 0.0))
        return under if gain.get(under, 0.0) > min(_DOUBLED, gain[best] ** 0.5) else best


def leverage(
    result: Result, likely: LikelyLimit, *, base: ModalModel, found: SpeedMargins
) -> Leverage | None:
    """Return who is soft; None where neither a part nor a post is described.

    Parameters
    ----------
    result
        The modes.
    likely
        The cut at the likely inputs.
    base
        The tool on the coarse mesh.
    found
        Margins as they are.

    Source
    ------
    Receptances of tool and work add: (G_t + G_w) F (computed here) [B.loop].
    """
    setup = likely.setup
    if likely.work is None and carrier_of(setup) is None:
        return None
    rigid = tuple(_rigid(likely, base=base, found=found))
    return Leverage(float(found.margin[found.worst]), _static(result, likely), rigid)


def _rigid(likely: LikelyLimit, *, base: ModalModel, found: SpeedMargins) -> Iterator[Rigid]:
    """Yield the cut with each side made rigid."""
    case, setup, work = likely.case, likely.setup, likely.work

    def judged(side: str, model: ModalModel, fix: float = 1.0) -> Rigid:
        margins = speed_margins(case, model)
        worst = margins.worst
        return Rigid(side, fix * float(margins.margin[worst]), float(margins.chatter_hz[worst]))

    if work is not None:
        yield judged(TOOL, work)
        yield judged(WORK, likely.tool)
        yield judged(HOLDING, joined(likely.tool, _part(setup, work, side="perfect")))
        if has_wall(work):
            yield judged(WALL, joined(likely.tool, _part(setup, work, wall=False)))
    if carrier_of(setup) is not None:
        coarse = speed_margins(case, joined(base, work))
        fix = float(found.margin[found.worst] / coarse.margin[coarse.worst])
        yield judged(POST, joined(coarse_model(replace(setup, post=None), on_mesh=True), work), fix)


def _static(result: Result, likely: LikelyLimit) -> dict[str, float]:
    """Return the share of each side in the deflection along the force."""
    case, setup = likely.case, likely.setup
    e = case.on_tool / np.linalg.norm(case.on_tool)
    gives = {TOOL: float(e @ likely.tool.static @ e)}
    carrier = carrier_of(setup)
    if carrier is not None:
        gives[POST] = float(e @ edge_compliance(result.model, carrier) @ e)
        gives[TOOL] -= gives[POST]
    if likely.work is not None:
        bare = _part(setup, likely.work, wall=False)
        perfect = _part(setup, likely.work, side="perfect", wall=False)
        gives[WORK] = float(e @ perfect.static @ e)
        gives[HOLDING] = float(e @ (bare.static - perfect.static) @ e)
        if has_wall(likely.work):
            gives[WALL] = float(e @ (likely.work.static - bare.static) @ e)
    total = sum(gives.values())
    return {side: give / total for side, give in gives.items()}


def _part(setup: Setup, work: ModalModel, *, side: str = "likely", wall: bool = True) -> ModalModel:
    """Return the part at an end of what holds it, perfect for one that nothing gives under."""
    found = work_model(setup, loss=float(work.eta[0]), side=side, wall=wall)
    return work if found is None else found
