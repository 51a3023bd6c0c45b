"""The small words of a cut: rounding by the band, what is cut, verdict, depth, speeds, levers."""

from __future__ import annotations

import math
from typing import Final

from stickout.cli.text.words import hertz, listed, note_name, plain
from stickout.fem.cut.answer import CutAnswer
from stickout.fem.cut.levers import CutLever, overhang_for
from stickout.fem.cut.turned import can_turn
from stickout.fem.force.case import CutCase
from stickout.fem.setup.parts import Setup
from stickout.fem.units import MM, MM_PER_INCH, length_text, rounded

# A lighter cut than this is not dialled in by hand [m].
TOO_LIGHT: Final = 0.01 * MM
# A gain at a speed that is worth a change of belt, and waves a turn above which no note is known well enough.
WORTH: Final = 1.15
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


def verdict(answer: CutAnswer) -> str:
    """Return whether the cut is likely quiet, and how far from it."""
    low, high = answer.spread.margin.low, answer.spread.margin.high
    if low >= 1:
        if math.isinf(high):
            return "Likely quiet as it stands: nothing here makes it chatter."
        return f"Likely quiet as it stands: the cut could grow {ranged(low, high)} times before it chatters."
    if high < 1:
        return (
            "Likely noisy as it stands: stiffness times damping fall short by a factor of "
            f"{ranged(1 / high, 1 / low)}."
        )
    upto = "no limit at all" if math.isinf(high) else rounded(high, 1)
    return f"It may go either way: the margin lies between {rounded(low, 1)} and {upto}, and 1 is the limit."


def depth_words(answer: CutAnswer) -> str:
    """Return what depth has to do with it."""
    spread, units = answer.spread.depth, answer.result.setup.units
    low, high = spread.low, spread.high
    what = "width of blade" if answer.case.cut.operation == "parting" else "depth"
    if answer.spread.margin.low >= 1 and low < answer.case.depth:
        return "Lighter is not quieter here: a thinner chip cuts stiffer."
    digits = 1 if math.isinf(high) or high > _OFTEN * low else 2
    upto, past = (fine_length(one, units, digits=digits) for one in (low, high))
    if math.isinf(low):
        deepest = fine_length(answer.deepest, units, digits=2)
        return f"No {what} limits it: looked at up to {deepest}.{_nose_words(answer)}"
    if high < TOO_LIGHT:
        return f"No {what} cures that: a lighter cut only rubs.{_nose_words(answer)}"
    if math.isinf(high):
        return (
            f"Likely quiet up to about {upto}; past that it hangs on numbers nobody measured, and if they "
            f"are kind no {what} limits it.{_nose_words(answer)}"
        )
    if low < TOO_LIGHT:
        return f"No {what} is quiet for sure; surely noisy past {past}.{_nose_words(answer)}"
    return f"Likely quiet up to about {upto}, surely noisy past {past}.{_nose_words(answer)}"


def _nose_words(answer: CutAnswer) -> str:
    """Return that the nose sets the limit, where a deeper cut is hardly worse."""
    if not answer.saturated:
        return ""
    return (
        " Once the nose is in the work, more depth hardly pushes harder across the cut: the limit is one of "
        "nose radius, not of depth."
    )


def speed_words(answer: CutAnswer) -> str:
    """Return what the spindle speed has to do with it."""
    if not answer.speeds:
        where = 60 * answer.chatter_hz / FEW_WAVES
        return (
            f"Speed hardly matters below {rounded(where, 1)} rpm: each turn holds so many waves of the note "
            "that every speed has a bad one close by."
        )
    waves = [one.waves for one in answer.speeds]
    best = max(answer.speeds, key=lambda one: one.margin if one.waves < FEW_WAVES else 0.0)
    gain = best.margin / answer.margin
    if best.waves >= FEW_WAVES or gain < WORTH:
        many = ranged(min(waves), max(waves))
        return (
            f"At your speeds it hardly matters which one: each turn holds {many} waves of the note, so every "
            "speed has a bad one close by."
        )
    return (
        f"Of your speeds try {plain(best.speed_rpm, 4)} rpm first: its margin is {rounded(gain, 2)} times "
        f"that of the worst speed, with {rounded(best.waves, 2)} waves a turn. For that the note must be "
        "known to a few per cent: tap it."
    )


def lever_words(lever: CutLever, setup: Setup) -> str:
    """Return a change as something to do."""
    units = setup.units
    value = lever.change
    if isinstance(value, str):
        return "put a centre into the work"
    parting = setup.cut is not None and setup.cut.operation == "parting"
    sizes = {
        "nose_radius": "halve the nose radius to",
        "depth": "halve the width of the blade to" if parting else "halve the depth to",
        "feed": "raise the feed to",
    }
    if lever.key in sizes:
        return f"{sizes[lever.key]} {fine_length(value * MM, units, digits=3)}"
    if lever.key == "overhang":
        short = length_text(float(f"{value:.3g}") if units == "mm" else value, units)
        return f"shorten the overhang to {short}{' and retune' if setup.absorber else ''}"
    if lever.key == "absorber":
        return f"retune the absorber to {hertz(value)} of its own"
    if lever.key == "speed":
        return f"halve the speed, {plain(2 * value, 3)} to {plain(value, 3)} rpm"
    return f"turn the section to {value:.0f}°"


def reach_words(answer: CutAnswer) -> str:
    """Return how short the bar would have to be, as it is and with the best other lever; may be empty."""
    bar, units = answer.result.setup.bar, answer.result.setup.units
    texts = []
    alone = overhang_for(answer.levers, bar.overhang_mm, margin=answer.margin)
    if alone is not None:
        texts.append(f"at about {_short(alone, units)} of overhang")
    other = next((one for one in answer.levers if one.key in ("nose_radius", "rotation")), None)
    if other is not None and other.factor > 1.0:
        both = overhang_for(answer.levers, bar.overhang_mm, margin=answer.margin * other.factor)
        if both is not None:
            texts.append(
                f"at about {_short(both, units)} if you also {lever_words(other, answer.result.setup)}"
            )
    if not texts:
        return ""
    return f"By that trend the likely margin reaches 1 {', or '.join(texts)}; rerun to check."


def _short(length_mm: float, units: str) -> str:
    """Return a length to two digits."""
    if units == "inch":
        return f"{rounded(length_mm / MM_PER_INCH, 2)} in"
    return f"{rounded(length_mm, 2)} mm"


def gain_words(lever: CutLever) -> str:
    """Return what a change does to the margin; a trend shows its band."""
    if lever.band is not None:
        return f"x {rounded(lever.band[0], 2)} to {rounded(lever.band[1], 2)}, a trend"
    return times(lever.factor)


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
        return "Turning the bar in its holder changes nothing: it bends alike every way."
    if setup.absorber is not None and setup.absorber.direction != "both":
        return (
            f"The absorber works one way only: with bar and absorber turned together the margin would lie "
            f"between {rounded(float(turned.margin.min()), 2)} and {rounded(turned.best, 2)}, best at "
            f"{turned.best_deg:.0f}°."
        )
    if not can_turn(setup):
        ends = f"between {rounded(float(turned.margin.min()), 2)} and {rounded(turned.best, 2)}"
        return (
            "The bar bends more one way than another, for its grip; turned together with the grip its margin "
            f"would lie {ends}."
        )
    wide = listed([f"{a:.0f} to {b:.0f}°" for a, b in turned.windows])
    worst = float(turned.margin.min())
    return (
        f"Rotation of the section (now {turned.now_deg:.0f}°): good {wide}, margin up to "
        f"{rounded(turned.best, 2)}; at worst {rounded(worst, 2)}. Aim for the middle of a window, "
        "for the clamp twists the bar by a degree or two."
    )
