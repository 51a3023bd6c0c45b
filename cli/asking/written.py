"""The set-up file of the answers: its tables, a comment beside what was not asked, and its name."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

from stickout.cli.asking.conversation import CHECK, Known
from stickout.cli.asking.questions import GRIPS
from stickout.fem.setup.toml_text import toml_text
from stickout.fem.setup.usual import (
    EDGE_ANGLE_DEG,
    FLAT,
    SLEEVE_BLOCK,
    SLEEVE_GRIP,
    TAKEN_AS_USUAL,
    usual_nose_mm,
    usual_screws,
)
from stickout.fem.setup.work_materials import work_material
from stickout.fem.units import MM_PER_INCH, length_text

HEAD: Final = (
    "# Written by `stickout new`. Change any line and run `stickout cut` again.\n"
    "# Behind a # stand usual values, taken until you measure: then take the # away and write yours.\n"
)
USUAL: Final = "usual"
ACCURACY: Final = 0.003
NOSES: Final = {"mm": "0.2 to 0.8 mm", "inch": "1/64 to 1/32 in"}
# How a bar is held, where it is not simply "in a" what holds it.
_HELD: Final = {"f": "under two screws"}
_SIXTEENTH: Final = 1e-3
_COLUMN: Final = 30  # where comments begin
_OPERATIONS: Final = {"t": "turning", "b": "boring", "p": "parting"}
# Which keys of the file an answer stands in, for a mark beside them.
_KEYS: Final = {
    "size": "bar.width",
    "overhang": "bar.overhang",
    "material": "bar.material",
    "grip": "grip.style",
    "work": "cut.work_material",
    "diameter": "cut.work_diameter",
    "depth": "cut.depth",
    "nose_radius": "cut.nose_radius",
    "speeds": "cut.speeds_rpm",
}


def title_of(known: Known) -> str:
    """Return the title: size, metal, what it is, how far out or held in what."""
    size = _said(known["width"] if known["kind"] == "p" else known["height"], known["units"])
    grip = GRIPS[known["kind"]][known["grip"]]
    if known["kind"] == "b":
        return f"{size} bar {_HELD.get(known['grip'], f'in a {grip}')}"
    what = "blade" if known["kind"] == "p" else "tool"
    metal = "HSS " if known["material"] == "high speed steel" else ""
    return f"{size} {metal}{what}, {_said(known['overhang'], known['units'])} out"


def _said(length_mm: float, units: str) -> str:
    """Return a length as a turner says it: "12 mm", "1-3/8 in"; inches that are no sixteenths as they are."""
    parts = 16 * length_mm / MM_PER_INCH
    if units == "mm" or abs(parts - round(parts)) > _SIXTEENTH or round(parts) % 16 == 0:
        return length_text(length_mm, units)
    whole, left = divmod(round(parts), 16)
    part = Fraction(left, 16)
    return f"{f'{whole}-' if whole else ''}{part.numerator}/{part.denominator} in"


def file_of(known: Known) -> tuple[str, int]:
    """Return the text of the set-up file, and how many of its numbers are usual ones that nobody measured."""
    tables, comments = tables_of(known)
    comments |= {_KEYS[key]: mark for key, mark in known["marks"].items() if key in _KEYS and mark == CHECK}
    usual = sum(note.startswith(USUAL) for note in comments.values())
    return HEAD + commented(toml_text(tables), comments), usual


def tables_of(known: Known) -> tuple[dict[str, Any], dict[str, str]]:
    """Return the tables of the file in its own units, and comments by dotted key."""
    bar, comments = _bar(known)
    grip, more = _grip(known)
    gripped = grip.pop("gripped")
    bar = {
        **bar,
        "overhang": _own(known["overhang"], known),
        "gripped": gripped,
        "material": known["material"],
    }
    comments |= more | {
        "bar.overhang": "face of the holder to the cutting edge",
        "bar.gripped": "usual: not asked, measure it",
    }
    cut, marks = _cut(known)
    tables = {"title": title_of(known), "units": known["units"], "bar": bar, "grip": grip, "cut": cut}
    if grip["style"] != "bed":  # many touching faces: a finer mesh would cost minutes and change no verdict
        tables["solve"] = {"accuracy": ACCURACY}
        comments["solve.accuracy"] = "of the pitch, 0.3 %: finer takes longer"
    return tables, comments | marks


def commented(text: str, comments: dict[str, str]) -> str:
    """Return TOML text with comments behind the lines of dotted keys.

    A line that is usual and that a set-up's reader takes as usual by itself becomes a comment: what nobody
    measured is not read back as given, and stands among the assumptions with its band.
    """
    section, out = "", []
    for line in text.splitlines():
        heading = re.fullmatch(r"\[(\w+)\]", line)
        section = heading[1] if heading else section
        key = line.partition(" = ")[0]
        note = comments.get(f"{section}.{key}")
        if note and not heading:
            taken = note.startswith(USUAL) and note != CHECK and f"{section}.{key}" in TAKEN_AS_USUAL
            line = f"{'# ' if taken else ''}{line}"
            line = f"{line:<{_COLUMN}} # {note}"
        out.append(line)
    return "\n".join(out) + "\n"


def free_path(wanted: Path) -> Path:
    """Return the path itself, or the next one with a number that no file has."""
    number, path = 2, wanted
    while path.exists() or path.is_symlink():
        path = wanted.with_name(f"{wanted.stem}-{number}{wanted.suffix}")
        number += 1
    return path


def name_of(known: Known) -> str:
    """Return a file name from the title: "10-mm-hss-tool.toml"."""
    size = length_text(known["width"] if known["kind"] == "p" else known["height"], known["units"])
    said = _said(known["width"] if known["kind"] == "p" else known["height"], known["units"])
    words = title_of(known).replace(said, size, 1).partition(",")[0].casefold()
    return "-".join(re.findall(r"[a-z0-9]+(?:\.[0-9]+)?", words)) + ".toml"


def _own(length_mm: float, known: Known) -> float:
    """Return a length in the file's units, without the noise of its last digits."""
    value = float(f"{length_mm / (MM_PER_INCH if known['units'] == 'inch' else 1.0):.6g}")
    return int(value) if value.is_integer() else value


def _bar(known: Known) -> tuple[dict[str, Any], dict[str, str]]:
    """Return the section and sizes of the bar."""
    height, width = _own(known["height"], known), _own(known["width"], known)
    if known["kind"] == "b":
        if known["grip"] == "f":
            across = _own(FLAT * known["height"], known)
            body = {"section": "flatted", "diameter": height, "across_flats": across}
            return body, {"bar.across_flats": USUAL}
        return {"section": "round", "diameter": height}, {}
    if height == width:
        return {"section": "square", "width": width}, {}
    return {"section": "rectangle", "width": width, "height": height}, {}


def _grip(known: Known) -> tuple[dict[str, Any], dict[str, str]]:
    """Return the grip in the style that the holder comes nearest to, with its usual sizes."""
    kind, how, height = known["kind"], known["grip"], known["height"]
    name = GRIPS[kind][how]
    if kind == "b" and how in "sk":
        block, wall = SLEEVE_BLOCK * height, (SLEEVE_BLOCK - 1) / 2 * height
        sizes = {"block_width": block, "block_height": block, "wall": wall}
        body = {key: _own(value, known) for key, value in sizes.items()}
        notes = dict.fromkeys((f"grip.{key}" for key in (*sizes, "block_material")), USUAL)
        grip = {"style": "sleeve", "split": how == "s", **body, "block_material": "steel"}
        told = {"grip.split": "the saw cut"} if how == "s" else {}
        return {**grip, "gripped": _own(SLEEVE_GRIP * height, known)}, notes | told | {"grip.style": name}
    if kind == "p" or (kind == "b" and how == "v"):
        gripped = SLEEVE_GRIP * height
        return {"style": "bed", "gripped": _own(gripped, known)}, {"grip.style": f"{name}: bedded all along"}
    flat = (height**2 * (1 - FLAT**2)) ** 0.5 if kind == "b" else known["width"]
    stands = FLAT * height if kind == "b" else height  # between the post's floor and its screws
    one = usual_screws(stands, flat, screws=1 if how == "c" else 2, units=known["units"])
    grip = {
        "style": "slot",
        "screws": one.screws,
        "screw_diameter": _own(one.screw_diameter_mm, known),
        "first_screw": _own(one.first_screw_mm, known),
    }
    if one.screws > 1:
        grip["screw_spacing"] = _own(one.screw_spacing_mm, known)
    notes = dict.fromkeys((f"grip.{key}" for key in grip if key != "style"), USUAL) | {"grip.style": name}
    if how == "c":
        notes["grip.screws"] = "a clamp presses once"
    return {**grip, "gripped": _own(one.gripped_mm, known)}, notes


def _cut(known: Known) -> tuple[dict[str, Any], dict[str, str]]:
    """Return the cut; a blade is as wide as its depth and has a small nose."""
    blade = known["kind"] == "p"
    body: dict[str, Any] = {"operation": _OPERATIONS[known["kind"]], "work_material": known["work"]}
    body |= {"depth": _own(known["width"] if blade else known["depth"], known)}
    body |= {"feed": _own(known["feed"], known)}
    ground = usual_nose_mm("parting", known["feed"], most_mm=known["width"] / 2, units=known["units"])
    body |= {"nose_radius": _own(ground if blade else known["nose_radius"], known)}
    body |= {"edge_angle_deg": int(EDGE_ANGLE_DEG), "work_diameter": _own(known["diameter"], known)}
    body |= {"speeds_rpm": known["speeds"]}
    entry = work_material(known["work"]).name
    notes = {"cut.edge_angle_deg": USUAL}
    if entry.casefold() != known["work"].casefold():
        notes["cut.work_material"] = f"read as {entry}"
    notes["cut.nose_radius"] = (
        USUAL if blade else f"{NOSES[known['units']]} are common; look at the insert's code"
    )
    if blade:
        notes["cut.depth"] = "the width of the blade"
    return body, notes
