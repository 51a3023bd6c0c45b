"""The answer of ``size --absorber`` as text: what it gains first, then how to make, place and tune it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from stickout.cli.text.assumed_words import assumed_lines, bar_scales
from stickout.cli.text.cut_words import ranged
from stickout.cli.text.screen import RULE
from stickout.cli.text.speed_words import in_ten, speed_name
from stickout.cli.text.words import (
    change,
    folded,
    hertz,
    load_name,
    margin_figure,
    plain,
    spring_text,
    stiffness_text,
)
from stickout.fem.absorber.band import CEILING, OFF_TOLD, AbsorberBand
from stickout.fem.absorber.plan import AbsorberPlan
from stickout.fem.absorber.shapes import RING, Slug
from stickout.fem.absorber.tuning import ZETAS, Tuned
from stickout.fem.cut.judged import JudgedCut
from stickout.fem.records.absorber import absorber_assumptions
from stickout.fem.units import MM, MM_PER_INCH, N_PER_LBF, rounded

HELPS: Final = 1.3
_ROWS: Final = 4  # of the ranking that one screen shows
UNKNOWN: Final = (
    "What nobody can foretell: how stiff and how lossy soft rings are. Both differ by a factor from lot to "
    "lot and with the squeeze, fall as they warm, and drift as they age; O-rings are sold by size and "
    "hardness, not by spring. So make it, tap the slug in its rings, and change squeeze, number or hardness "
    "of the rings until the note is right. Count on no more than the low end until then."
)
CAUTIONS: Final = (
    "The slug must not come out: close the bore with a cap that is screwed or pinned, and a ring with a "
    "collar on both sides. A part that flies off a tool is a projectile.",
    "Isolate the drive before you tap. Never touch or tune it while anything turns.",
)
_POISON: Final = {
    "lead": "Lead poisons: gloves, wash your hands, no filing or grinding dust.",
    "tungsten heavy alloy": "The dust of heavy tungsten is poisonous: turn it, do not grind it dry.",
    "cemented carbide": "The dust of carbide is poisonous: do not grind it dry.",
}


def absorber_screen(plan: AbsorberPlan, band: AbsorberBand, *, title: str) -> str:
    """Return the answer in one screen, at most 25 lines of 100 columns: gain, ranking, rings, off tune."""
    rows = list(_table(plan))[: 1 + _ROWS]
    lines = [
        *folded(title),
        "",
        *folded(_opening(plan, band)),
        RULE,
        *rows,
        *_making(plan, band),
        *folded(_off_tune(plan, band), "  "),
        *folded(CAUTIONS[0]),
        "An estimate: soft rings differ from lot to lot. How to make, place and tune it, numbers: --more",
    ]
    return "\n".join(lines) + "\n"


def absorber_text(plan: AbsorberPlan, band: AbsorberBand, *, title: str) -> str:
    """Return the whole answer, lines no wider than 100 columns, lengths in the set-up's units."""
    assumed = [*plan.result.assumptions, *absorber_assumptions(plan, band)]
    blocks = [
        [*folded(title), *folded(_opening(plan, band))],
        list(_table(plan)),
        list(_making(plan, band)),
        list(_place(plan, band)),
        list(_tuning(plan, band)),
        [*folded(UNKNOWN, "  ")],
        list(assumed_lines(assumed, scales=bar_scales(plan.job.setup.units), name_width=43)),
        [line for one in _cautions(plan) for line in folded(one, "  ")],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _opening(plan: AbsorberPlan, band: AbsorberBand) -> str:
    """Return the sentences that answer the question."""
    best, (low, likely, high) = plan.best, band.gain
    one = best.absorber
    mass = f"{rounded(one.mass_g, 2)} g"
    article = "An" if mass.startswith(("8", "11 ", "18 ")) else "A"
    window = f"{_span(*band.window_hz)} Hz"
    tuned = f"tuned to {hertz(one.frequency_hz)} of its own ({window})"
    what = "ring on soft rings round the bar" if best.slug.kind == RING else "slug in two soft rings"
    who = f"{article} {mass} {best.slug.material.name} {what}, {tuned},"
    if likely < HELPS:
        return f"{who} would hardly help: the cut could grow {rounded(likely, 2)} times."
    text = (
        f"{who} would let the cut grow about {rounded(likely, 1)} times as large before it chatters "
        f"(nine times in ten {ranged(low, high)}), against the bar as it is."
    )
    if plan.before is not None and plan.after is not None:
        text += f" {_cut_words(plan.before, plan.after, plan.job.setup.units)}"
    if high > CEILING:
        text += (
            " More than about a hundredfold was never published (Yadav et al. 2020, abstract opened): do not "
            "count on it."
        )
    return text


def _cut_words(before: JudgedCut, after: JudgedCut, units: str) -> str:
    """Return what the command ``cut`` says before and after, at the speed with the least margin before."""
    at = before.verdict.worst
    one, two = before.verdict.speeds[at], after.verdict.speeds[at]
    return (
        f"Your cut at {speed_name(one, units)}: {in_ten(two.p_quiet)} in 10 quiet instead of "
        f"{in_ten(one.p_quiet)}; its margin goes from {margin_figure(one.margin.likely)} to "
        f"{margin_figure(two.margin.likely)} (nine times in ten {margin_figure(two.margin.low)} to "
        f"{margin_figure(two.margin.high)}; 1 is the limit)."
    )


def _span(low: float, high: float) -> str:
    """Return two frequencies to three digits: "447 to 504"."""
    return f"{rounded(low, 3)} to {rounded(high, 3)}"


def _table(plan: AbsorberPlan) -> Iterator[str]:
    """Yield the ranking."""
    units = plan.job.setup.units
    head = f"   {_what(plan.best.slug):<46}{'mass':>7}{'middle at':>10}{'own note':>10}"
    yield f"{head}{'rings':>13}{'cut grows':>11}"
    for number, one in enumerate((plan.best, *plan.others), start=1):
        row = f"{number:>2} {_slug_words(one.slug, units):<46}{rounded(one.slug.mass_g, 2) + ' g':>7}"
        row += f"{_length(one.slug.position_mm, units):>10}{hertz(one.absorber.frequency_hz):>10}"
        yield row + f"{stiffness_text(one.stiffness, units, digits=2):>13}{'x ' + rounded(one.gain, 2):>11}"
    yield from folded(
        "Tuned a little low on purpose, so that 5 % off either way costs least. The first row is solved on "
        "fine meshes, the others on a coarse one: take them for their order.",
        "  ",
    )


def _what(slug: Slug) -> str:
    """Return what it is called: slug or ring."""
    return "ring" if slug.kind == RING else "slug"


def _slug_words(slug: Slug, units: str) -> str:
    """Return a slug by material and size, as short as a table wants it."""
    name = {"tungsten heavy alloy": "heavy tungsten", "cemented carbide": "carbide"}.get(
        slug.material.name, slug.material.name
    )
    out, long = (_length(one, units) for one in (slug.outside_mm, slug.length_mm))
    if slug.kind == RING:
        return f"{name}, {out} over {_length(slug.inside_mm, units)}, {long} long"
    return f"{name}, {out.split()[0]} x {long}, bore {_length(slug.bore_mm, units)}"


def _length(length_mm: float, units: str) -> str:
    """Return a length to three digits."""
    if units == "inch":
        return f"{length_mm / MM_PER_INCH:.3g} in"
    return f"{length_mm:.3g} mm"


def _making(plan: AbsorberPlan, band: AbsorberBand) -> Iterator[str]:
    """Yield what the rings must do, and what the bore costs."""
    best, units = plan.best, plan.job.setup.units
    one = best.absorber
    k, c = best.stiffness, best.dashpot
    yield from folded(
        f"Rings: both together a spring of {stiffness_text(k, units, digits=2)} across the bar "
        f"({stiffness_text(k / 2, units, digits=2)} each) in {_length(best.slug.gap_mm, units)} of room all "
        f"round, and a damping ratio of {plain(one.damping_ratio)} ({_dashpot(c, units)}): a rubber with a "
        f"loss factor near {plain(2 * one.damping_ratio)}. {_rubber(best)}",
        "  ",
    )
    if best.slug.kind == RING:
        yield from folded("The bar stays as it is; the ring takes room from the chips.", "  ")
        return
    more, note = (
        best.compliance_along / plan.base.compliance_along - 1,
        float(plan.base.frequency_hz[plan.base.aligned]),
    )
    if abs(more) < 5e-4:
        yield "The bar is bored already: it costs nothing."
        return
    springs = " to ".join(
        spring_text(one, units, digits=3) for one in (plan.base.compliance_along, best.compliance_along)
    )
    yield from folded(
        f"What the bore costs: the edge springs {change(more)} ({springs} for every {load_name(units)}), and "
        f"the bar alone sings at {hertz(best.note_hz)} instead of {hertz(note)}, for it is lighter at its "
        "end. That is in the gain.",
        "  ",
    )


def _dashpot(size: float, units: str) -> str:
    """Return a dashpot given in N s/m, or in lbf s per inch."""
    if units == "inch":
        return f"{rounded(size * MM_PER_INCH * MM / N_PER_LBF, 2)} lbf s/in"
    return f"{rounded(size, 2)} N s/m"


def _rubber(best: Tuned) -> str:
    """Return what a damping ratio asks of the rubber."""
    if best.absorber.damping_ratio > 0.9 * ZETAS[1]:
        return "More would be better still, but no soft ring gives it: take the most lossy rubber there is."
    if best.absorber.damping_ratio > 0.15:
        return "Plain O-rings have about half of that; lossy (butyl-like) rubber is wanted."
    return "Plain O-rings are near that."


def _place(plan: AbsorberPlan, band: AbsorberBand) -> Iterator[str]:
    """Yield what the place is worth."""
    units, at = plan.job.setup.units, plan.best.slug.position_mm
    best = band.places[0][2]
    falls = [
        f"{rounded(share / best, 1)} at {_length(position, units)}" for position, _, share in band.places[1:]
    ]
    yield from folded(
        f"Place: as near the edge as it goes; here its middle is {_length(at, units)} from the holder face, "
        f"where its mass counts as {rounded(100 * plan.best.mu, 2)} % of what swings. Of the gain at the "
        f"very end, tuned anew, this is left: {', '.join(falls)} (theory of one mode).",
        "  ",
    )


def _off_tune(plan: AbsorberPlan, band: AbsorberBand) -> str:
    """Return what is left of the gain where the slug is off tune."""
    off = [
        f"{abs(100 * one):.0f} % {'low' if one < 0 else 'high'} x {rounded(band.at(one), 2)}"
        for one in OFF_TOLD
    ]
    return f"Off tune: {', '.join(off)}, against x {rounded(plan.best.gain, 2)}."


def _tuning(plan: AbsorberPlan, band: AbsorberBand) -> Iterator[str]:
    """Yield what being off tune costs, and how to tune."""
    best = plan.best
    half = f"With rings half as lossy a perfect tuning gives x {rounded(float(band.loose.max()), 2)}."
    yield from folded(
        f"{_off_tune(plan, band)} Too high loses more than too low; from {_span(*band.window_hz)} Hz four "
        f"fifths are kept. {half}",
        "  ",
    )
    ratio = best.absorber.frequency_hz / best.note_hz
    what = _what(best.slug)
    yield from folded(
        f"To tune: clamp the finished bar without the {what} as it will work, isolate the drive, tap the "
        f"edge and note its frequency (here {hertz(best.note_hz)}). Hold the bar in a vice right at the "
        f"{what}, tap the {what}: it must ring, for a few swings, at {rounded(ratio, 2)} of the first. Do it "
        f"again whenever the overhang or the holder changes: the bar's note moves, that of the {what} stays.",
        "  ",
    )


def _cautions(plan: AbsorberPlan) -> list[str]:
    """Return what to believe of the answer, and what can hurt."""
    names = {one.slug.material.name for one in (plan.best, *plan.others)}
    told = (
        "An estimate, not a promise: linear theory, a slug that swings freely and rings that stay in place. "
        "A loose slug that knocks, without rings, is another thing: in a test of 1975 it more than doubled "
        "the stable cut (ASME J. Eng. Ind. 97, 859, abstract opened), and no linear model foresees it."
    )
    return [told, *CAUTIONS, *(_POISON[one] for one in sorted(names) if one in _POISON)]
