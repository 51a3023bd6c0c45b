"""The ten questions: what is held, how thick, of what, how far out, how gripped, what it cuts."""

from __future__ import annotations

from typing import Final

from stickout.cli.asking import answers
from stickout.cli.asking.conversation import Known, Question
from stickout.fem.units import MM_PER_INCH, length_text

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
_QUARTER: Final = 0.25
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
            lambda _: "What do you set up?",
            lambda _: "t",
            "A turning tool stands in a post, a boring bar reaches into a hole, a blade cuts off.",
            lambda typed, _: {"kind": answers.choice(typed, KINDS)},
            choices=lambda _: KINDS,
        ),
        Question(
            "size",
            lambda known: _SIZE_WORDS[known["kind"]],
            lambda known: _shown_all((2.0, 12.0) if known["kind"] == "p" else (12.0,), known),
            'Measure it with callipers. Bare numbers are mm; 1/2", 0.5in or 20 thou are inches.',
            answers.shank,
        ),
        Question(
            "material",
            lambda _: "Made of?",
            lambda known: "steel" if known["kind"] == "b" else "hss",
            "The shank counts, not the edge: an insert holder is steel. Trade names and numbers will do.",
            lambda typed, known: _material(typed, known),
            offers=lambda known: () if known["kind"] == "b" else tuple(TOOLS),
        ),
        Question(
            "overhang",
            lambda known: f"How far out of the {_holder(known)}, to the edge?",
            lambda known: _shown({"t": 1.5, "b": 4.0, "p": 1.5}[known["kind"]] * known["height"], known),
            "From the face that holds it to the cutting edge: the number that matters most.",
            answers.overhang,
            drawing=DRAWING,
        ),
        Question(
            "grip",
            lambda _: "Held in?",
            lambda known: next(iter(GRIPS[known["kind"]])),
            "How the holder bears on the tool. Screws and block get usual sizes; measure them later.",
            lambda typed, known: {"grip": answers.choice(typed, GRIPS[known["kind"]])},
            choices=lambda known: GRIPS[known["kind"]],
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
            lambda known: _shown_all({"t": (0.5, 0.1), "b": (0.2, 0.05), "p": (0.04,)}[known["kind"]], known),
            "Depth on the radius is half of what comes off the diameter. Feed is per turn of the work.",
            answers.depth_and_feed,
        ),
        Question(
            "nose_radius",
            lambda _: "Nose radius?",
            lambda known: _shown(0.4, known),
            "Read it off the insert's code (04 is 0.4 mm, 1 is 1/64 in) or the grinding gauge; 0.2 to 0.8 mm "
            "(10 to 30 thou) are common.",
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


def _holder(known: Known) -> str:
    """Return what a tool sticks out of."""
    return {"b": "holder"}.get(known["kind"], "post")


def _material(typed: str, known: Known) -> dict[str, str]:
    """Return the material, as it was called and as it is written into the file."""
    word = typed.strip().casefold()
    named = next((one for one in TOOLS if known["kind"] != "b" and one.startswith(word)), None)
    return {"called": typed.strip(), "material": TOOLS[named] if named else answers.bar_material(typed)}


def _shown(length_mm: float, known: Known) -> str:
    """Return a length as one would type it: two digits; inches in eighths, small ones in thou."""
    if known["units"] == "mm":
        return length_text(float(f"{length_mm:.2g}"), "mm").split()[0]
    inches = length_mm / MM_PER_INCH
    tidy = round(8 * inches) / 8 if inches >= _QUARTER else max(round(inches, 3), 0.001)
    return f"{tidy:g}"


def _shown_all(lengths_mm: tuple[float, ...], known: Known) -> str:
    """Return several lengths, such as depth and feed, as one would type them."""
    return " ".join(_shown(one, known) for one in lengths_mm)
