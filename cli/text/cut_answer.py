"""The answer of ``cut`` as text: plain sentences first, then numbers, then what to check before cutting."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from stickout.cli.text.assumed_words import assumed_lines, bar_scales, cut_scales
from stickout.cli.text.cut_advice import advice
from stickout.cli.text.cut_margins import margin_rows, margin_words
from stickout.cli.text.cut_words import (
    cut_words,
    mode_words,
    window_words,
)
from stickout.cli.text.force_answer import chip_lines
from stickout.cli.text.lever_words import change_head, change_rows, idle_words
from stickout.cli.text.leverage_words import leverage_words
from stickout.cli.text.measured_words import measured_words
from stickout.cli.text.modes_answer import setup_words
from stickout.cli.text.speed_words import verdict_line
from stickout.cli.text.words import folded, margin_figure, plain
from stickout.fem.cut.answer import CutAnswer
from stickout.fem.cut.assumed import cut_assumptions
from stickout.fem.cut.dig_in import DigIn
from stickout.fem.setup.measured import loss_measured
from stickout.fem.setup.parts import Setup
from stickout.fem.study.assumed import usual_assumptions
from stickout.fem.study.clamped_loss import CLAMPED
from stickout.fem.units import FOOT, MM, N_PER_LBF, UM, length_text, rounded, small_length_text

CHECKLIST: Final = (
    "gibs snug, slides and saddle that do not move locked",
    "edge sharp, screwed down hard, nothing loose under it",
    "edge at centre height (a bore: no lower)",
    "tool overhang and toolpost screws as in the set-up, quill and slides short",
    "work held on its full jaw length, and running true",
)
CAUTIONS: Final = (
    "guards on, eyes covered, no gloves or loose sleeves; chuck key out",
    "hand feed, the lowest speed, a hand near the stop, yourself out of the plane of the work",
    "never touch, wrap or measure a running tool or work; stop before you listen closely",
    "stay below the speed the chuck and the work allow, whatever a table says",
)
_LEVER_WIDTH: Final = 44
_COUNTS: Final = 0.05 * UM  # less than this is left to no dial


def cut_text(answer: CutAnswer) -> str:
    """Return the whole answer, lines no wider than 100 columns, lengths in the set-up's units."""
    setup = answer.result.setup
    blocks = [
        [
            *folded(setup.title or "Untitled set-up"),
            *folded(setup_words(setup)),
            *folded(cut_words(setup, answer.case)),
        ],
        list(_opening(answer)),
        list(_levers(answer)),
        list(_numbers(answer)),
        list(margin_rows(answer)),
        list(_errors(answer)),
        list(_light(answer)),
        list(
            assumed_lines(
                cut_assumptions(answer), of=" for the cut", scales=cut_scales(setup.units), name_width=44
            )
        ),
        list(_usual(setup)),
        [line for one in answer.result.warnings for line in folded(f"Warning: {one}", "  ")],
        list(checklist_lines(post=setup.post is not None)),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _opening(answer: CutAnswer) -> Iterator[str]:
    """Yield the sentences that answer the question."""
    units = answer.result.setup.units
    yield from folded(f"{verdict_line(answer.verdict, units)} {advice(answer)}")


def _levers(answer: CutAnswer) -> Iterator[str]:
    """Yield the changes in a turner's order, and what is no help."""
    yield f"{change_head(answer)}: quiet in 10, margin, price"
    for one, what, chance, price in change_rows(answer):
        margin = f"{margin_figure(one.before.margin)} to {margin_figure(one.after.margin)}"
        yield f"  {what:<{_LEVER_WIDTH}}{chance:>3}   {margin:<16}{price}"
    idle = idle_words(answer)
    for text in (f"No help: {idle}." if idle else "", window_words(answer)):
        yield from folded(f"  {text}", "  ") if text else ()


def _numbers(answer: CutAnswer) -> Iterator[str]:
    """Yield margins, mode, loss and work."""
    yield from folded(margin_words(answer), "  ")
    if answer.bare_margin is not None:
        yield from folded(_absorber_words(answer, answer.bare_margin), "  ")
    yield from folded(mode_words(answer), "  ")
    yield from folded(_loss_words(answer), "  ")
    if answer.leverage is not None:
        yield from folded(leverage_words(answer.leverage), "  ")


def _absorber_words(answer: CutAnswer, bare: float) -> str:
    """Return what the absorber does to the margin, and what of it is sure."""
    if not (math.isfinite(bare) and math.isfinite(answer.margin)):
        return "The absorber is counted in all of this."
    return (
        f"The absorber multiplies the margin by {rounded(answer.margin / bare, 2)}: without it "
        f"{margin_figure(bare)}. Its tuning counts within 5 %, its damping within a factor of 1.4; rubber "
        "drifts with heat, squeeze and age, and how far is not known: tap it again after some hours of work."
    )


def _loss_words(answer: CutAnswer) -> str:
    """Return where the damping comes from."""
    usual = f"{plain(50 * CLAMPED.low)} to {plain(50 * CLAMPED.high)} %"
    at = answer.result.aligned if answer.limiting is None else answer.limiting
    used = _percent_of(float(answer.loss.loss.likely[at]) / 2)
    if answer.limiting is None:
        likely = _percent_of(CLAMPED.likely / 2)
        return (
            f"Damping of the work is assumed: clamped parts measure {usual} of critical, {likely} is likely."
        )
    if answer.loss.given:
        setup = answer.result.setup
        whence = measured_words(setup) if loss_measured(setup) else "from the loss factor you gave"
        return f"Damping ratio of the limiting mode: {used}, {whence}."
    modelled = _percent_of(float(answer.result.loss.likely[at]) / 2)
    return (
        f"Damping is assumed: clamped bars measure {usual} of critical, {used} is taken as likely. The parts "
        f"modelled here account for {modelled} alone; the rest rubs in seat, slides and post."
    )


def _percent_of(ratio: float) -> str:
    """Return a small ratio in per cent, two digits: "0.24 %"."""
    return f"{plain(100 * ratio)} %"


def _usual(setup: Setup) -> Iterator[str]:
    """Yield the sizes that the file does not give, each with how far it may lie from the usual one."""
    found = usual_assumptions(setup.usual)
    scales = bar_scales(setup.units)
    yield from assumed_lines(found, of=" as usual, counted in the bands above", scales=scales, name_width=44)


def _errors(answer: CutAnswer) -> Iterator[str]:
    """Yield spring-off, passes, taper and centre height; a parting blade has none of them."""
    if answer.dig_in is not None:
        yield from folded(_blade_words(answer, answer.dig_in), "  ")
        return
    yield from folded(_spring_words(answer), "  ")
    spring, units = answer.spring_off, answer.result.setup.units
    if spring.taper is not None:
        yield f"  Along the work the diameter varies by {small_length_text(spring.taper, units)} for that."
    if spring.bore is not None and spring.bore.drop > _COUNTS:
        yield from folded(_bore_words(answer), "  ")


def _blade_words(answer: CutAnswer, found: DigIn) -> str:
    """Return where the cut moves a blade's edge, and how far from digging in that is."""
    units = answer.result.setup.units
    moved, above = small_length_text(abs(found.pulled), units), length_text(found.above / MM, units)
    way = "into the work" if found.pulled > 0 else "out of the work"
    text = f"Under this cut the edge, {above} from the blade's middle, moves {moved} {way}"
    if math.isinf(found.factor):
        return f"{text}: it cannot dig in by itself."
    return f"{text}; {rounded(found.factor, 2)} times this cut would pull it in without end: it digs in."


def _spring_words(answer: CutAnswer) -> str:
    """Return size error and what further passes leave."""
    spring, units, operation = answer.spring_off, answer.result.setup.units, answer.case.cut.operation
    off = spring.radial >= 0
    size = small_length_text(abs(spring.radial), units)
    text = f"Spring-off: the cut {'pushes edge and work apart' if off else 'draws the edge in'} by {size}"
    if operation in ("boring", "turning"):
        wrong = small_length_text(2 * abs(spring.radial), units)
        # Pushed off, a bore comes small and an outside diameter large; drawn in, the other way round.
        text += f"; the diameter comes {wrong} {'small' if (operation == 'boring') == off else 'large'}"
    if not off:
        return f"{text}."
    if spring.left[0] < answer.slow.least_chip.likely:
        return f"{text}. A second pass at the same setting finds less than the edge can cut: it rubs."
    after = [small_length_text(float(one), units, digits=1) for one in spring.left[1:] if one > _COUNTS]
    then = f"leaves {', the next '.join(after)} on the radius" if after else "leaves nothing that counts"
    return f"{text}. A second pass at the same setting {then}, if the edge still cuts a chip that thin."


def _bore_words(answer: CutAnswer) -> str:
    """Return what centre height does in the bore."""
    bore, units = answer.spring_off.bore, answer.result.setup.units
    if bore is None:
        return ""
    drop = small_length_text(bore.drop, units)
    off = small_length_text(100 * UM, units, digits=1)
    altered = small_length_text(abs(bore.diameter_change), units, digits=1)
    lost = plain(math.degrees(bore.clearance_lost), 1)
    return (
        f"The edge sinks {drop} under the cut, which takes {lost}° of clearance. Set {off} above centre, "
        f"that drop alters the bore by {altered} only; set low, the heel may rub first."
    )


def _light(answer: CutAnswer) -> Iterator[str]:
    """Yield the warnings of light cuts and of squeal."""
    slow, units = answer.slow, answer.result.setup.units
    chip = float(answer.case.edge.mean_chip)
    yield from chip_lines(chip, slow.least_chip, units=units)
    if slow.edge_form_factor > 1.1 or slow.edge_form_factor < 1 / 1.1:
        yield from folded(
            "For a chip this thin two force laws differ: with an edge force beside the chip's own the margin "
            f"is {rounded(slow.edge_form_factor, 2)} times as large.",
            "  ",
        )
    if math.isfinite(slow.squeal):
        yield from folded(
            f"Squeal that leaves no marks: a cutting force that falls with speed by more than "
            f"{_fall(slow.squeal, units)} sets the bar off at any depth. Damping raises that threshold in "
            "proportion.",
            "  ",
        )


def _fall(slope: float, units: str) -> str:
    """Return a fall of the force with speed [N s/m]: "0.07 N per m/min", or lbf per ft/min."""
    if units == "inch":
        return f"{rounded(slope / 60 * FOOT / N_PER_LBF, 1)} lbf per ft/min"
    return f"{rounded(slope / 60, 1)} N per m/min"


def checklist_lines(*, post: bool = False) -> Iterator[str]:
    """Yield what to check before the cut, and how to make the first one; ``post``: it is described."""
    yield "Check first, before you trust any of this"
    yield from (f"  [ ] {one}" for one in CHECKLIST)
    yield "For the first cut"
    yield from (f"  - {one}" for one in CAUTIONS)
    left_out = "The spindle is" if post else "Post, slides and spindle are"
    yield from folded(
        f"An estimate with a band, not a promise: linear theory, small waves, a described grip. {left_out} "
        "not in it; what gives more than the bar decides.",
        "  ",
    )
