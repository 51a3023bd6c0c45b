"""The small words of a cut: rounding by the band, what is cut, verdict, depth, rotation."""

from __future__ import annotations

from typing import Final

from stickout.cli.text.words import hertz, listed, note_name, plain
from stickout.fem.cut.answer import CutAnswer
from stickout.fem.cut.turned import can_turn
from stickout.fem.force.case import CutCase
from stickout.fem.setup.parts import Setup
from stickout.fem.units import MM, MM_PER_INCH, rounded

# A lighter cut than this is not dialled in by hand [m].
TOO_LIGHT: Final = 0.01 * MM
# Waves a turn above which no pitch is known well enough to pick a speed by it.

FEW_WAVES: Final = 20
_OFTEN: Final = 2.0


def ranged(low: float, high: float) -> str:
    """Return a range with one digit where its ends are far apart, two where they are near: "0.03 to 0.2"."""
    digits = 1 if high > _OFTEN * low else 2
    ends = [rounded(one, digits) for one in (low, high)]
    return ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"


def fine_length(length_m: float, units: str, *, digits: int = 1) -> str:
    """Return a depth or a feed: "0.2 mm", or "8 thou" where the set-up is in inches."""
    if units == "inch":
        return f"{plain(length_m / MM / MM_PER_INCH * 1000, digits)} thou"
    return f"{plain(length_m / MM, digits)} mm"


def times(factor: float) -> str:
    """Return a factor as "x 1.4", two digits."""
    return f"x {rounded(factor, 2)}"


def cut_words(setup: Setup, case: CutCase) -> str:
    """Return what is cut and how, in one sentence."""
    cut, units = case.cut, setup.units
    depth = "blade" if cut.operation == "parting" else "radial depth"
    parts = [
        f"{depth} {_size(cut.depth_mm, units)}",
        f"feed {_size(cut.feed_mm, units)} a turn",
        f"nose radius {_size(cut.nose_radius_mm, units)}",
        f"edge angle {plain(cut.edge_angle_deg or 0.0, 3)}°",
    ]
    if cut.rake_deg:
        parts.append(f"rake {plain(cut.rake_deg, 3)}°")
    return f"{(cut.operation or '').capitalize()} {case.material.name}: {', '.join(parts)}."


def _size(size_mm: float | None, units: str) -> str:
    """Return a size of the cut, in thou where the set-up is in inches."""
    return fine_length((size_mm or 0.0) * MM, units, digits=3)


def _nose_words(answer: CutAnswer) -> str:
    """Return that the nose sets the limit, where a deeper cut is hardly worse."""
    if not answer.saturated:
        return ""
    return (
        " Once the nose is in the work, more depth hardly pushes harder across the cut: the limit is one of "
        "nose radius, not of depth."
    )


def mode_words(answer: CutAnswer) -> str:
    """Return which mode limits, beside the one along the force."""
    result, note = answer.result, answer.chatter_hz
    sings = f"The chatter would sing at about {hertz(note)}, near {note_name(note)}"
    if answer.limiting is None:
        return f"{sings}: a mode of the work limits, not of the tool."
    same = answer.limiting == result.aligned or (
        (min(answer.limiting, result.aligned), max(answer.limiting, result.aligned)) in result.pairs
    )
    if same:
        return f"{sings}: mode {answer.limiting + 1} limits, the one along the force."
    return (
        f"{sings}: mode {answer.limiting + 1} limits, not mode {result.aligned + 1}, which lies along the "
        "force. A mode limits when the force drives it into the cut, not when it moves most."
    )


def window_words(answer: CutAnswer) -> str:
    """Return the good rotations of the section."""
    turned, setup = answer.turned, answer.result.setup
    if turned.alike and answer.limiting is None:
        return "Turning the bar in its holder changes nothing: the work decides."
    if turned.alike:
        return "Round: turning it changes nothing." if setup.bar.diameter_mm else ""
    if setup.absorber is not None and setup.absorber.direction != "both":
        return (
            f"The absorber works one way only: with bar and absorber turned together the margin would lie "
            f"between {rounded(float(turned.margin.min()), 2)} and {rounded(turned.best, 2)}, best at "
            f"{turned.best_deg:.0f}°."
        )
    if not can_turn(setup):
        return ""
    wide = listed([f"{a:.0f} to {b:.0f}°" for a, b in turned.windows])
    worst = float(turned.margin.min())
    return (
        f"Rotation of the section (now {turned.now_deg:.0f}°): good {wide}, margin up to "
        f"{rounded(turned.best, 2)}; at worst {rounded(worst, 2)}. Aim for the middle of a window, "
        "for the clamp twists the bar by a degree or two."
    )
