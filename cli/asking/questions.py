"""The ten questions: what is held, how thick, of what, how far out, how gripped, what it cuts."""

from __future__ import annotations

from typing import Final

from stickout.cli.asking import answers
from stickout.cli.asking.conversation import Known, Question
from stickout.fem.units import length_text

KINDS: Final = {"t": "turning tool", "b": "boring bar", "p": "parting blade"}
TOOLS: Final = {"hss": "high speed steel", "insert holder": "steel", "brazed carbide": "steel"}
GRIPS: Final = {
    "t": {"4": "four-way post", "q": "quick-change holder", "c": "clamp"},
    "b": {"s": "split sleeve", "k": "bored block", "v": "v-block", "f": "two screws on a flat"},
    "p": {"4": "four-way post", "q": "quick-change holder", "c": "clamp"},
}
DRAWING: Final = """
   post or block |<-- overhang -->|
 ================|================#  <- cutting edge
 |<-- gripped -->|

"""
_SIZE_WORDS: Final = {
    "t": "Shank, height (and width if different)?",
    "b": "Bar, diameter?",
    "p": "Blade, thickness and height?",
}


def questions() -> tuple[Question, ...]:
    """Return the questions in order."""
    return (*_of_the_tool(), *_of_the_cut())


def _of_the_tool() -> tuple[Question, ...]:
    """Return the questions on the tool and its grip."""
    return (
        Question(
            "kind",
            lambda _: f"What do you set up?  {_listed(KINDS)}",
            lambda _: "t",
            "A turning tool stands in a post, a boring bar reaches into a hole, a blade cuts off.",
            lambda typed, _: {"kind": answers.choice(typed, KINDS)},
            letters="b",
        ),
        Question(
            "size",
            lambda known: _SIZE_WORDS[known["kind"]],
            lambda known: "2 12" if known["kind"] == "p" else "12",
            'Measure it with callipers. Bare numbers are mm; 1/2", 0.5in or 20 thou are inches.',
            answers.shank,
        ),
        Question(
            "material",
            lambda known: "Made of?" + ("" if known["kind"] == "b" else f"  {', '.join(TOOLS)}"),
            lambda known: "steel" if known["kind"] == "b" else "hss",
            "The shank counts, not the edge: an insert holder is steel. Trade names and numbers will do.",
            lambda typed, known: _material(typed, known),
        ),
        Question(
            "overhang",
            lambda known: f"How far out of the {_holder(known)}, to the edge?",
            lambda known: _shown({"t": 1.5, "b": 4.0, "p": 1.5}[known["kind"]] * known["height"], known),
            "From the face that holds it to the cutting edge: the number that matters most." + DRAWING,
            answers.overhang,
        ),
        Question(
            "grip",
            lambda known: f"Held in?  {_listed(GRIPS[known['kind']])}",
            lambda known: next(iter(GRIPS[known["kind"]])),
            "How the holder bears on the tool. Screws and block get usual sizes; measure them later.",
            lambda typed, known: {"grip": answers.choice(typed, GRIPS[known["kind"]])},
        ),
    )


def _of_the_cut() -> tuple[Question, ...]:
    """Return the questions on the cut."""
    return (
        Question(
            "work",
            lambda _: "What do you cut?",
            lambda _: "mild steel",
            "A name of trade or a number: mild steel, EN1A, 4140, 304, cast iron, aluminium, brass.",
            lambda typed, _: {"work": answers.work_name(typed)},
        ),
        Question(
            "diameter",
            lambda known: "Bore, before the cut?" if known["kind"] == "b" else "Diameter there?",
            lambda known: _shown(1.7 * known["height"] if known["kind"] == "b" else 25.0, known),
            "Of the work, where it is cut.",
            answers.diameter,
        ),
        Question(
            "depth",
            lambda known: (
                "Feed a turn?" if known["kind"] == "p" else "Depth of cut on the radius, and feed a turn?"
            ),
            lambda known: _cut_shown({"t": (0.5, 0.1), "b": (0.2, 0.05), "p": (0.04,)}[known["kind"]], known),
            "Depth on the radius is half of what comes off the diameter. Feed is per turn of the work.",
            answers.depth_and_feed,
        ),
        Question(
            "nose_radius",
            lambda _: "Nose radius?",
            lambda known: _shown(0.4, known),
            "Read it off the insert's code (04 is 0.4 mm) or the grinding gauge; 0.2 to 0.8 mm are common.",
            answers.nose_radius,
            asked=lambda known: known["kind"] != "p",
        ),
        Question(
            "speeds",
            lambda _: "Spindle speeds you would use?",
            lambda known: "80, 160, 330 ft/min" if known["units"] == "inch" else "25, 50, 100 m/min",
            "As on the machine's plate, in rpm: 200 400 800. Or cutting speeds with m/min or ft/min behind.",
            answers.speeds,
        ),
    )


def _listed(choices: dict[str, str]) -> str:
    """Return choices with their letters: "t turning tool, b boring bar"."""
    return ", ".join(f"{letter} {name}" for letter, name in choices.items())


def _holder(known: Known) -> str:
    """Return what a tool sticks out of."""
    return {"b": "holder"}.get(known["kind"], "post")


def _material(typed: str, known: Known) -> dict[str, str]:
    """Return the material, as it was called and as it is written into the file."""
    word = typed.strip().casefold()
    named = next((one for one in TOOLS if known["kind"] != "b" and one.startswith(word)), None)
    return {"called": typed.strip(), "material": TOOLS[named] if named else answers.bar_material(typed)}


def _shown(length_mm: float, known: Known) -> str:
    """Return a length as one would type it, two digits."""
    tidy = length_mm if known["units"] == "mm" else length_mm / 25.4
    return length_text(float(f"{tidy:.2g}"), "mm").split()[0]


def _cut_shown(lengths_mm: tuple[float, ...], known: Known) -> str:
    """Return depth and feed as one would type them."""
    return " ".join(_shown(one, known) for one in lengths_mm)
