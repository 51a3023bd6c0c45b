"""The handout of a club talk: one page in plain language that goes with the loops and the sound."""

from __future__ import annotations

import base64
import html
import io
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from PIL import Image

from stickout.cli.show.pages.report_parts import page, paragraph, section, table
from stickout.cli.show.pages.told import Told, plain_answer
from stickout.cli.text.cut_screen import opening_sentences
from stickout.cli.text.lever_words import change_head, change_rows
from stickout.cli.text.modes_answer import answer_text, setup_words
from stickout.cli.text.modes_screen import change_name, changes_of
from stickout.cli.text.words import along_words, hertz, load_name, note_name, percent, plain, spring_text
from stickout.cli.version import TOOL, VERSION
from stickout.fem.study.levers import rerun
from stickout.fem.study.result import Result

STYLES: Final = ("handout.css",)
_STILL_PIXELS: Final = (960, 540)
_LEVERS: Final = 3
_ROOMY: Final = 2500  # letters that fit the page at the larger size, measured on Letter
_MODE: Final = re.compile(r"mode_\d\.")


@dataclass(frozen=True)
class Heading:
    """What stands at the top, all from the command line; empty where nothing was given."""

    title: str = ""
    club: str = ""
    date: str = ""


@dataclass(frozen=True)
class Handout:
    """What a handout tells.

    Attributes
    ----------
    told
        The result, and the cut where there is one.
    heading
        Title, club and date.
    still
        The loop whose first picture is shown.
    files
        Name of each file of the pack -> what it is.
    changed
        The result after the change; None without one.
    change
        The change in words.
    """

    told: Told
    heading: Heading
    still: Path
    files: Mapping[str, str] = field(default_factory=dict)
    changed: Result | None = None
    change: str = ""


def handout_page(handout: Handout) -> str:
    """Return the handout as one HTML page that asks nothing of any other file."""
    result, heading = handout.told.result, handout.heading
    title = heading.title or result.setup.title or "A held bar"
    where = " · ".join(filter(None, [heading.club, heading.date]))
    told = [
        section("What the bar does", paragraph(plain_answer(answer_text(result)))),
        _cut(handout.told),
        _changed(handout),
        section("In the pictures", paragraph(_picture_words(result))),
        section("In the sound", paragraph(_sound_words(result, handout.files))),
        section("How sure is this", paragraph(_doubt_words(result))),
        section("In this folder", table(("file", "what it is"), list(_file_rows(handout.files)))),
    ]
    head = [
        f"<h1>{html.escape(title)}</h1>",
        paragraph(where, kind="where"),
        paragraph(setup_words(result.setup)),
        paragraph(lead_words(result), kind="lead"),
    ]
    foot = f"Computed by {TOOL} {VERSION} from a set-up file of sizes; nothing was measured."
    text = "\n".join([*head, *told])
    tight = " tight" if len(re.sub(r"<[^>]*>", "", text)) > _ROOMY else ""
    body = [
        f'<main class="page{tight}">',
        *head,
        _still(handout),
        f'<div class="two">{"".join(told)}</div>',
        paragraph(foot, kind="foot"),
        "</main>",
    ]
    return page(title, "\n".join(body), styles=STYLES)


def lead_words(result: Result) -> str:
    """Return the one sentence to remember."""
    at, units = result.aligned, result.setup.units
    force = "the cutting force" if result.setup.cut else "a force straight down"
    note = float(result.frequency_hz[at])
    load = "2.2 lb" if units == "inch" else "1 kg"
    way = along_words(float(result.alignment[at]), force=force).partition(" (")[0]
    return (
        f"Hang {load} on the edge, the way the force points: it gives "
        f"{spring_text(result.compliance_along, units)}. Tap it: it sings at {hertz(note)}, "
        f"near {note_name(note)}, and moves {way}."
    )


def _still(handout: Handout) -> str:
    """Return the first picture of the loop along the force, inside the page."""
    with Image.open(handout.still) as film:
        picture = film.convert("RGB").resize(_STILL_PIXELS, Image.Resampling.LANCZOS)
    held = io.BytesIO()
    picture.quantize(64, dither=Image.Dither.NONE).save(held, format="PNG", optimize=True)
    data = base64.b64encode(held.getvalue()).decode("ascii")
    text = "The bar at the end of its swing, much magnified"
    image = f'<img alt="{text}" src="data:image/png;base64,{data}">'
    return f"<figure>{image}<figcaption>{text}.</figcaption></figure>"


def _cut(told: Told) -> str:
    """Return what is said of the cut, and what to change first."""
    answer = told.answer
    if answer is None:
        return section("What helps", paragraph(_bar_levers(told.result)))
    helps = [f"{what} ({chance} in 10)" for _, what, chance, _ in change_rows(answer)[:_LEVERS]]
    text = "No cheap change helps much."
    if helps:
        text = f"{change_head(answer)}, how many lathes in ten stay quiet: {'; '.join(helps)}."
    cut = paragraph(" ".join(opening_sentences(answer)))
    return section("What the cut does", cut) + section("What helps", paragraph(text))


def _bar_levers(result: Result) -> str:
    """Return what less overhang and a thicker bar bring, each solved anew."""
    parts = [
        f"{change_name(result.setup, one.setup)}: {percent(1 - one.compliance_along)} less spring"
        for one in rerun(result, list(changes_of(result.setup)))
        if one.compliance_along < 1
    ]
    return f"{'; '.join(parts)}." if parts else "Less overhang and a firmer seat, in that order."


def _changed(handout: Handout) -> str:
    """Return what the change brings."""
    after = handout.changed
    if after is None:
        return ""
    before, units = handout.told.result, handout.told.result.setup.units
    springs = [spring_text(one.compliance_along, units) for one in (before, after)]
    notes = [hertz(float(one.frequency_hz[one.aligned])) for one in (before, after)]
    gain = after.compliance_along / before.compliance_along - 1
    how = f"{abs(100 * gain):.0f} % {'more' if gain > 0 else 'less'} spring"
    text = (
        f"With {handout.change}: {springs[1]} instead of {springs[0]} under {load_name(units)}, {how}; the "
        f"note goes from {notes[0]} to {notes[1]}."
    )
    return section("Before and after", paragraph(text))


def _picture_words(result: Result) -> str:
    """Return how to read the loops."""
    share = percent(float(result.static_share[result.aligned]))
    return (
        "Movement is magnified and slowed; each picture says how much. Colour tells how far a part moves "
        "against the rest, not stress, and not danger. The grey outline is the bar at rest, the arrow the "
        f"force on the tool. Mode {result.aligned + 1} carries {share} of the spring along that force: it is "
        "the one to watch."
    )


def _sound_words(result: Result, files: Mapping[str, str]) -> str:
    """Return how to hear the note."""
    at = result.aligned
    note, ratio = float(result.frequency_hz[at]), float(result.loss.likely[at]) / 2
    if "note.wav" not in files:
        return f"Mode {at + 1} sings at {hertz(note)}, which nobody hears: there is no sound file."
    dies = "" if ratio == 0 else f", and it falls to a thousandth in {_time_words(ratio, note)}"
    return (
        f"note.wav is mode {at + 1}, tapped once a second: {hertz(note)} with a damping ratio of "
        f"{plain(100 * ratio)} %{dies}. Loudness is not to scale; the first taps are soft so that you can "
        "turn it down. Clamped tools measure 0.5 to 3 %, so the real one may die sooner. Chatter sings near "
        "this note."
    )


def _time_words(ratio: float, frequency_hz: float) -> str:
    """Return how long a note takes to fall to a thousandth."""
    seconds = math.log(1000) / (2 * math.pi * frequency_hz * ratio)
    return f"{plain(1000 * seconds)} ms" if seconds < 1 else f"{plain(seconds)} s"


def _doubt_words(result: Result) -> str:
    """Return what to believe of it."""
    grip = "The seat is the least known number; it alone may move the note by a third."
    if result.setup.grip.perfect:
        grip = "The grip is taken as perfect; expect a note up to 30 % lower on the machine."
    return (
        f"An estimate, not a promise. {grip} Isolate the machine, tap the edge and compare the note; pull "
        "with a spring scale against a dial. Slack gibs, a dull edge and centre height come first."
    )


def _file_rows(files: Mapping[str, str]) -> Iterator[list[str]]:
    """Yield a row for each file; a loop in several formats, and the loops of the first modes, share one."""
    modes = [name for name in files if _MODE.match(name)]
    formats = sorted({Path(name).suffix for name in modes})
    if modes:
        last = max(int(Path(name).stem[-1]) for name in modes)
        named = "mode_1" if last == 1 else f"mode_1 to mode_{last}"
        yield [f"{named} ({', '.join(formats)})", "loops of the first modes"]
    told = set()
    for name, words in files.items():
        stem = Path(name).stem
        if name not in modes and stem not in told and name != "handout.html":
            told.add(stem)
            video = f" ({', '.join(formats)})" if Path(name).suffix in formats else Path(name).suffix
            yield [html.escape(f"{stem}{video}"), html.escape(words)]
