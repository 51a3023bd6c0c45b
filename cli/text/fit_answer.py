"""What the bench taught about a set-up, in words: predictions, what narrowed them, what next."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from stickout.cli.text.cut_words import fine_length
from stickout.cli.text.speed_words import in_ten, surface_speed
from stickout.cli.text.words import THOU_M, folded, listed, load_n, load_name, margin_figure, plain
from stickout.fem.bench.carried import TILTING
from stickout.fem.bench.fit import Fitted
from stickout.fem.bench.predictions import Predictions, SpeedMargin
from stickout.fem.bench.shares import FORCE, NAMES, RUBBING, THRUST, TOOL
from stickout.fem.bench.worth import HEARD, PULL, SPRUNG, TAPS, Worth
from stickout.fem.setup.bands import Band
from stickout.fem.units import UM

_WORDS, _NOW, _STEP = 26, 36, 40
_HALF: Final = 0.5
CAUTION: Final = (
    "Intervals hold nine times in ten if the model is right; 1 % of the note is allowed for mesh, modulus "
    "and diameter. The shear ratio of the seat cannot be learnt from taps and stays assumed. A tap moves the "
    "seat far less than a cut does: its damping is right for where chatter begins, low for loud chatter. "
    "Post and slides give only where [post] says so: a pull with the dial on the bed tells what they give."
)
UNHEARD: Final = (
    "No tap tells how hard the material pushes back, nor how much the flank of the edge rubs: spring passes "
    "tell the one, cuts heard both; until then they stay as assumed."
)
SPLIT: Final = (
    "One dial tells how much post and slides give at the edge, not how that splits between giving way and "
    "tilting: that split is as on other small lathes, until pulls at two distances from the holder tell it."
)
_STEPS: Final = {
    "note": "the note",
    "damping": "and how fast it dies away",
    "pull": "the pull",
    "post": "and what the post gives",
    "sprung": "and the spring passes",
    "heard": "and the cuts heard",
}
_UNKNOWNS: Final = {
    TOOL: "the tool: stiffness times damping",
    FORCE: "how hard the material pushes back",
    THRUST: "how much of it pushes off the work",
    RUBBING: "how much the flank rubs",
}
_NEXT: Final = {
    TAPS: "ten taps, recorded",
    PULL: "a pull with the dial on the post",
}


def fit_text(fitted: Fitted, *, at: str, units: str = "mm") -> str:
    """Return the answer of ``fit``; ``at`` is what was changed for the prediction, or nothing."""
    lines = folded(_on_post(fitted, units) + _headline(fitted))
    if fitted.disagreement:
        lines += ["", *folded(f"Note and model disagree: {fitted.disagreement}. Nothing was averaged.")]
    for why in fitted.left_out:
        lines += ["", *folded(f"One tap is not counted: {why}.")]
    head = f"Predicted{' at ' + at if at else ''}"
    lines += ["", f"{head.ljust(_WORDS + 2)}{'measured'.ljust(_NOW)}before"]
    for words, now, then in _rows(fitted.predictions, fitted.before, units):
        lines.append(f"  {words.ljust(_WORDS)}{now.ljust(_NOW)}{then}".rstrip())
    lines += _narrowed(fitted, units)
    if fitted.parameters:
        lines += ["", "By-products: the grip, what carries it, the push of the metal over the table's"]
        lines += [f"  {key} = {band_text(band)}" for key, band in fitted.parameters.items()]
    if TILTING in fitted.parameters:
        lines += folded(SPLIT)
    solves = f"Models solved: {fitted.full_solves}."
    unheard = folded(UNHEARD) if fitted.worths else []
    return "\n".join([*lines, "", *unheard, *folded(CAUTION), solves]) + "\n"


def _on_post(fitted: Fitted, units: str) -> str:
    """Return what the post does to the spring, where it was pulled."""
    if TILTING not in fitted.parameters:
        return ""
    (name, _, unit), scale = spring_row(units)[0].rpartition(", "), spring_row(units)[1]
    now, then = (scale * one.compliance_along.likely for one in (fitted.predictions, fitted.before))
    return f"With what post and slides give, the {name} is {plain(now, 2)} {unit}, not {plain(then, 2)}. "


def _headline(fitted: Fitted) -> str:
    """Return how much narrower the margin, or the note, has become."""
    after, before = fitted.predictions, fitted.before
    now, then = after.margin_without_rubbing, before.margin_without_rubbing
    if now is None or then is None or after.tool is None or before.tool is None:
        return f"Note {band_text(after.frequency_hz, 4)} Hz, before {band_text(before.frequency_hz, 4)} Hz."
    return (
        f"What taps and pulls can tell, stiffness times damping of the tool, is known to a factor of "
        f"{factor_text(after.tool)}, before to {factor_text(before.tool)} (high over low). The margin "
        f"without rubbing, {band_text(now)}, is now known to {factor_text(now)}, before to "
        f"{factor_text(then)}; {_rest(after)}."
    )


def _rest(one: Predictions) -> str:
    """Return what most of the spread of the margin without rubbing still comes from."""
    most = max(NAMES, key=lambda name: one.shares_without_rubbing[name])
    if one.shares_without_rubbing[TOOL] < _HALF:
        return f"the rest is the metal you cut, {_UNKNOWNS[most]}"
    return f"what is left is mostly {_UNKNOWNS[most]}"


def _rows(after: Predictions, before: Predictions, units: str) -> list[tuple[str, str, str]]:
    """Return the table: words, measured, before."""
    spring, scale = spring_row(units)
    rows = [
        ("note, Hz", band_text(after.frequency_hz, 4), band_text(before.frequency_hz, 4)),
        (
            spring,
            band_text(after.compliance_along, scale=scale),
            band_text(before.compliance_along, scale=scale),
        ),
    ]
    now, then = after.margin_without_rubbing, before.margin_without_rubbing
    if now is not None and then is not None:
        rows.append(("margin without rubbing", margin_band(now, 3), margin_band(then, 3)))
    for one, other in zip(after.speeds, before.speeds, strict=True):
        rows.append((f"margin at {speed_words(one, units)}", _told(one), _told(other)))
    return rows


def spring_row(units: str) -> tuple[str, float]:
    """Return what the spring under the usual load is called, and the factor from m/N to its unit."""
    size, small = (THOU_M, "thou") if units == "inch" else (UM, "µm")
    return f"spring under {load_name(units)}, {small}", load_n(units) / size


def speed_words(one: SpeedMargin, units: str) -> str:
    """Return a speed: of the spindle where it is known, else of the cut."""
    if one.rpm is not None:
        return f"{one.rpm:.0f} rpm"
    return surface_speed(one.cutting_speed, units)


def _told(one: SpeedMargin) -> str:
    """Return the margin at a speed and how many cuts of ten stay quiet."""
    return f"{margin_band(one.margin)}, quiet {in_ten(one.p_quiet)} in 10"


def _narrowed(fitted: Fitted, units: str) -> Iterator[str]:
    """Yield what each measurement did to the band, and what each other one would do."""
    if not fitted.worths:
        return
    worst = min(fitted.predictions.speeds, key=lambda one: one.margin.likely)
    yield ""
    head = f"at {speed_words(worst, units)}"
    yield f"{'High over low of the margin'.ljust(_STEP + 2)}{head.ljust(16)}without rubbing"
    yield _line("as assumed", fitted.before)
    for name, one in fitted.steps:
        yield _line(_STEPS[name], one)
    yield "Its spread comes from"
    for name in NAMES:
        yield _shares(name, fitted)
    yield "Next, and what is left of it then"
    for worth in fitted.worths:
        rubbed, dry = (plain(one, 3) for one in (worth.factor, worth.without_rubbing))
        yield f"  {next_words(worth, units).ljust(_STEP)}{rubbed.ljust(16)}{dry}"


def _line(words: str, one: Predictions) -> str:
    """Return a step and the width of the bands after it."""
    bands = (one.margin, one.margin_without_rubbing)
    rubbed, dry = ("-" if band is None else factor_text(band) for band in bands)
    return f"  {words.ljust(_STEP)}{rubbed.ljust(16)}{dry}"


def _shares(name: str, fitted: Fitted) -> str:
    """Return an unknown and its share of the margin's spread, as assumed and now."""
    before, after = fitted.before, fitted.predictions
    rows = [
        f"{100 * one[name]:.0f} %, now {100 * other[name]:.0f} %"
        for one, other in (
            (before.shares, after.shares),
            (before.shares_without_rubbing, after.shares_without_rubbing),
        )
    ]
    return f"  {_UNKNOWNS[name].ljust(_STEP)}{rows[0].ljust(16)}{rows[1]}"


def next_words(worth: Worth, units: str) -> str:
    """Return a measurement in words."""
    if worth.what == HEARD and worth.rpm is not None:
        return f"one cut at {worth.rpm:.0f} rpm, heard"
    if worth.what == SPRUNG:
        return f"spring passes at feeds {listed([fine_length(one, units) for one in worth.feeds])}"
    return _NEXT[worth.what]


def factor_text(band: Band) -> str:
    """Return high over low."""
    return plain(band.high / band.low, 3)


def margin_band(band: Band, digits: int = 2) -> str:
    """Return the band of a margin, with so many digits that the sides of one show."""
    likely, low, high = (margin_figure(one, digits) for one in (band.likely, band.low, band.high))
    return f"{likely} ({low} to {high})"


def band_text(band: Band, digits: int = 3, *, scale: float = 1.0) -> str:
    """Return "likely (low to high)"."""
    likely, low, high = (plain(scale * one, digits) for one in (band.likely, band.low, band.high))
    return f"{likely} ({low} to {high})"
