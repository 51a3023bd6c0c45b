"""The answer of ``force`` as text."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from stickout.cli.text.assumed_words import assumed_lines, cut_scales
from stickout.cli.text.cut_words import cut_words, fine_length, ranged
from stickout.cli.text.words import area_text, folded, force_size, force_words, plain, pressure_text
from stickout.fem.chatter.low_speed import cutting_speed
from stickout.fem.cut.assumed import force_assumptions
from stickout.fem.cut.low_speed import least_chip
from stickout.fem.force.case import CutCase
from stickout.fem.force.edge_load import chord_force
from stickout.fem.force.law import CutForce, specific_force
from stickout.fem.force.nose import crest_height
from stickout.fem.setup.bands import Band
from stickout.fem.setup.parts import Setup
from stickout.fem.study.assumed import usual_edge
from stickout.fem.units import MM, N_PER_LBF, small_length_text


def force_text(setup: Setup, case: CutCase) -> str:
    """Return the whole answer, lines no wider than 100 columns."""
    assumed = [*force_assumptions(case), *usual_edge(setup)]
    blocks = [
        [*folded(setup.title or "Untitled set-up"), *folded(cut_words(setup, case))],
        list(_opening(setup, case)),
        list(_components(setup, case)),
        list(_edge(setup, case)),
        list(chip_lines(float(case.edge.mean_chip), least_chip(case.cut), units=setup.units)),
        list(assumed_lines(assumed, of=" for the cut", scales=cut_scales(setup.units), name_width=44)),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _opening(setup: Setup, case: CutCase) -> Iterator[str]:
    """Yield size and direction of the force on the tool."""
    size = float(np.linalg.norm(case.on_tool))
    given = case.cut.force_direction is not None
    how = "direction as the set-up says" if given else "seen from the free end"
    one, unit = (N_PER_LBF, "lbf") if setup.units == "inch" else (1.0, "N")
    band = ranged(*(size * end / one for end in case.force_band))
    yield from folded(
        f"The cut pushes the tool with about {plain(size / one)} {unit} ({band} {unit} within the band of "
        f"the force table): {force_words((case.on_tool / size).tolist())} ({how})."
    )
    push = _push_words(case, setup.units)
    if push:
        yield from folded(push)


def _push_words(case: CutCase, units: str) -> str:
    """Return whether the push out of the work outweighs the feed force."""
    depth, nose = case.depth, case.edge.nose_radius
    if case.cut.operation == "parting" or depth >= nose:
        return ""
    return (
        "The depth is below the nose radius, so the edge pushes out of the work: passive force "
        f"{force_size(case.force.p, units)}, feed force {force_size(case.force.f, units)}. A smaller nose "
        "turns that round."
    )


def _components(setup: Setup, case: CutCase) -> Iterator[str]:
    """Yield the components by integrated normals, and by the chord rule for comparison."""
    size, unit = (N_PER_LBF, "lbf") if setup.units == "inch" else (1.0, "N")
    head = f"Force on the work, {unit} (ISO 3002-4)"
    yield f"{head:<39}Fc cutting   Ff feed   Fp passive"
    rows: list[tuple[str, CutForce]] = [("local normals along the edge", case.force)]
    if case.cut.force_direction is None:
        rows.append(("chord rule (Colwell), to compare", chord_force(case.law, case.edge)))
    for name, force in rows:
        yield f"  {name:<36}{plain(force.c / size):>11}{plain(force.f / size):>10}{plain(force.p / size):>13}"
    diameter, speeds = case.cut.work_diameter_mm, case.cut.speeds_rpm
    if diameter and speeds:
        powers = [case.force.c * cutting_speed(diameter * MM, rpm) for rpm in (min(speeds), max(speeds))]
        yield f"  Power at your speeds: {ranged(*powers)} W at the edge."


def _edge(setup: Setup, case: CutCase) -> Iterator[str]:
    """Yield the engaged edge."""
    edge, units = case.edge, setup.units
    kc = pressure_text(float(specific_force(case.law, edge.mean_chip)), units)
    yield from folded(
        f"  Engaged edge {fine_length(float(edge.length), units, digits=2)} long, mean chip "
        f"{small_length_text(float(edge.mean_chip), units)} thick, area "
        f"{area_text(float(edge.area), units)}; there the work asks {kc}.",
        "  ",
    )
    if edge.nose_radius > 0:
        crest = small_length_text(crest_height(edge.feed, float(edge.nose_radius)), units)
        yield f"  The nose alone leaves a roughness of {crest}, top to bottom."


def chip_lines(chip: float, least: Band, *, units: str) -> Iterator[str]:
    """Yield the warning of a chip thinner than the edge can cut."""
    mean = small_length_text(chip, units)
    sharp, honed = (small_length_text(one, units, digits=1) for one in (least.low, least.high))
    if chip < least.likely:
        yield from folded(
            f"Warning: the mean chip is {mean}, and an edge cuts only above some {sharp} (ground) to {honed} "
            "(honed): it will rub, then bite. Feed more, or use a sharper edge.",
            "  ",
        )
    elif chip < least.high:
        yield from folded(
            f"The mean chip is {mean}: enough for a ground edge; a honed one needs {honed}.", "  "
        )


def chip_warnings(setup: Setup, case: CutCase) -> list[str]:
    """Return the warning of a chip too thin to cut as one sentence for the result file; empty without one."""
    lines = chip_lines(float(case.edge.mean_chip), least_chip(case.cut), units=setup.units)
    text = " ".join(" ".join(lines).split())
    return [text.removeprefix("Warning: ")] if text.startswith("Warning: ") else []
