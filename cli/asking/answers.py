"""Typed answers: lengths in the units of one's own, materials, choices; what cannot be is asked again."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

from stickout.cli.asking.conversation import Known, WrongAnswerError
from stickout.fem.errors import InputError
from stickout.fem.setup.material_table import MATERIALS
from stickout.fem.setup.materials import material_named
from stickout.fem.setup.work_materials import work_material
from stickout.fem.units import MM_PER_INCH, length_text, parse_length_mm

_INCH: Final = re.compile(r'"|\u2033|\bin\b|inch|thou|\din\b')
_WIDE_MM: Final = 100.0  # no post takes a shank of that size
_FAR: Final = 20.0  # heights out: nobody turns like that
_HEAVY: Final = 0.3  # depth over the tool's height from which it is asked twice


def length(typed: str, units: str) -> tuple[float, str]:
    """Return a typed length [mm] and the units from now on; a bare number is in ``units``.

    Raises
    ------
    WrongAnswerError
        It is no length above zero.
    """
    text = typed.strip().replace(",", ".")
    now = "inch" if _INCH.search(text) else units
    text = re.sub(r"(?<=\d)-(?=\d)", " ", text)  # 1-3/8 in
    text = re.sub(r"^\.(?=\d)", "0.", text)
    if re.fullmatch(r"[\d./ ]+", text):
        text = f"{text} {'in' if now == 'inch' else 'mm'}"
    try:
        found = parse_length_mm(text, key="answer")
    except InputError:
        found = 0.0
    if not 0 < found < 1e5:
        raise WrongAnswerError("A length, please: 35, or 1-3/8 in.")
    return found, now


def lengths(typed: str, units: str, *, most: int) -> tuple[list[float], str]:
    """Return up to ``most`` typed lengths [mm], blanks or an x between them, and the units from now on.

    A single length may have a fraction with a blank in it: "1 3/8 in".
    """
    whole = typed.strip()
    if most == 1 or re.fullmatch(r"\d+[ -]\d+/\d+.*", whole):
        one, now = length(whole, units)
        return [one], now
    parts = re.findall(r"[^\sx;]+(?:\s*(?:mm|in|inch|thou|cm)\b)?", whole)
    if not 1 <= len(parts) <= most:
        raise WrongAnswerError("A length, please: 35, or 1-3/8 in.")
    found: list[float] = []
    for part in parts:
        one, units = length(part, units)
        found.append(one)
    return found, units


def choice(typed: str, choices: Mapping[str, str]) -> str:
    """Return the letter of a choice, by its letter or the beginning of its name.

    Raises
    ------
    WrongAnswerError
        It is none of them.
    """
    word = typed.strip().casefold()
    found = [letter for letter, name in choices.items() if word == letter or name.startswith(word)]
    if not word or not found:
        raise WrongAnswerError(f"One of these: {', '.join(f'{a} {b}' for a, b in choices.items())}.")
    return found[0]


def bar_material(typed: str) -> str:
    """Return the name of a bar's material as it is written into the file."""
    try:
        return material_named(typed, MATERIALS).name
    except InputError as mistake:
        raise WrongAnswerError(f"Not in the list. {mistake.mend}") from None


def work_name(typed: str) -> str:
    """Return the name of a work material as it was typed, once it is known that the table has it."""
    try:
        work_material(typed)
    except InputError:
        kinds = "soft, tough or hard? (mild steel, stainless, tool steel)"
        raise WrongAnswerError(f"Not in the list. Nearest by cutting: {kinds}") from None
    return typed.strip()


def shank(typed: str, known: Known) -> dict[str, Any]:
    """Return height and width of a shank, the diameter of a bar, or thickness and height of a blade."""
    sizes, units = lengths(typed, known["units"], most=1 if known["kind"] == "b" else 2)
    if max(sizes) > _WIDE_MM:
        tenth = length_text(max(sizes) / 10, known["units"]).split()[0]
        told = length_text(max(sizes), known["units"])
        raise WrongAnswerError(f"{told} fits no post. {tenth}? Or .{max(sizes):.0f} in?")
    if known["kind"] == "p":
        low, high = min(sizes), max(sizes) if len(sizes) > 1 else 6 * sizes[0]
        return {"height": high, "width": low, "units": units}
    return {"height": sizes[0], "width": sizes[-1], "units": units}


def overhang(typed: str, known: Known) -> dict[str, Any]:
    """Return how far out the edge is."""
    found, units = length(typed, known["units"])
    times = found / known["height"]
    if times > _FAR:
        tenth = length_text(found / 10, units).split()[0]
        of = "diameters" if known["kind"] == "b" else "heights"
        raise WrongAnswerError(f"{times:.0f} {of} out. {tenth}?")
    return {"overhang": found, "units": units}


def diameter(typed: str, known: Known) -> dict[str, Any]:
    """Return the diameter that is cut; a bar must enter its bore."""
    found, units = length(typed, known["units"])
    if known["kind"] == "b" and known["height"] >= found:
        bar, bore = length_text(known["height"], units), length_text(found, units)
        raise WrongAnswerError(f"A {bar} bar does not enter a {bore} hole. Bar or bore?")
    return {"diameter": found, "units": units}


def depth_and_feed(typed: str, known: Known) -> dict[str, Any]:
    """Return depth and feed; a very heavy depth is taken when it is typed twice."""
    found, units = lengths(typed, known["units"], most=2)
    if known["kind"] == "p":
        return {"feed": found[-1], "depth": None, "units": units}
    if len(found) != 2:
        raise WrongAnswerError("Two numbers, please: depth on the radius, and feed a turn, such as 0.5 0.1.")
    depth, feed = found
    if depth >= known["diameter"] / 2:
        raise WrongAnswerError("That is more than there is. Depth is on the radius.")
    if depth > _HEAVY * known["height"] and known.get("wrong") != typed:
        given, tenth = (length_text(one, units).split()[0] for one in (depth, depth / 10))
        unit = "mm" if units == "mm" else "in"
        told = f"{given} {unit} on the radius is a very heavy cut. {tenth}? Enter {typed} again to keep it."
        raise WrongAnswerError(told)
    return {"depth": depth, "feed": feed, "units": units}


def nose_radius(typed: str, known: Known) -> dict[str, Any]:
    """Return the nose radius, which the feed and the tool's size bound."""
    found, units = length(typed, known["units"])
    if known["feed"] >= 2 * found:
        raise WrongAnswerError("The feed must stay below twice the nose radius. Check both.")
    if found > min(known["height"], known["width"]) / 2:
        raise WrongAnswerError("That is more than half the tool. Read it off the insert's code.")
    return {"nose_radius": found, "units": units}


def speeds(typed: str, known: Known) -> dict[str, Any]:
    """Return spindle speeds [rpm]; speeds with m/min or ft/min behind them are turned into rpm."""
    cutting = re.search(r"m/min|ft/min|sfm", typed)
    numbers = [float(one) for one in re.findall(r"\d+(?:\.\d+)?", typed)]
    words = re.sub(r"rpm|m/min|ft/min|sfm|and|[\d.,;\s]", "", typed)
    if words or not numbers or not all(0 < one <= 1e5 for one in numbers):
        raise WrongAnswerError("Spindle speeds, please: 200 400 800.")
    if cutting:
        scale = 1000.0 if cutting[0] == "m/min" else 12 * MM_PER_INCH
        numbers = [float(f"{scale * one / (3.14159265 * known['diameter']):.2g}") for one in numbers]
    return {"speeds": [int(one) if one.is_integer() else one for one in numbers]}
