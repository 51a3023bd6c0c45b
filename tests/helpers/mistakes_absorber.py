"""One mistake each in the absorber."""

from __future__ import annotations

from setups import ROUND, changed

ABSORBER = """
[absorber]
mass_g = 30
frequency_hz = 1100
damping_ratio = 0.2
position = 70
"""
WITH = ROUND + ABSORBER


def _with(line: str, other: str) -> str:
    """Return the set-up with one line of the absorber changed."""
    return changed(WITH, line, other)


# What is wrong -> (set-up, key of the mistake, words that must be in its line).
MISTAKES: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "no mass": (_with("mass_g = 30", ""), "absorber.mass_g", ("missing", "weigh")),
    "mass of nothing": (_with("mass_g = 30", "mass_g = 0"), "absorber.mass_g", ("0", "above 0", "leave")),
    "mass in tonnes": (_with("mass_g = 30", "mass_g = 3e6"), "absorber.mass_g", ("50000 grams",)),
    "mass in words": (_with("mass_g = 30", 'mass_g = "30 g"'), "absorber.mass_g", ("a number",)),
    "no own note": (_with("frequency_hz = 1100", ""), "absorber.frequency_hz", ("missing", "vice")),
    "own note negative": (_with("= 1100", "= -1100"), "absorber.frequency_hz", ("-1100", "above 0")),
    "own note in kHz of a bat": (_with("= 1100", "= 60000"), "absorber.frequency_hz", ("50000 hz",)),
    "no damping told": (_with("damping_ratio = 0.2", ""), "absorber.damping_ratio", ("missing", "tap")),
    "no damping": (_with("= 0.2", "= 0"), "absorber.damping_ratio", ("from 0.001 to 5",)),
    "damping in per cent": (_with("= 0.2", "= 20"), "absorber.damping_ratio", ("share of critical",)),
    "no place": (_with("position = 70", ""), "absorber.position", ("missing", "holder face")),
    "in the holder": (_with("position = 70", "position = -5"), "absorber.position", ("-5", "above 0")),
    "beyond the end": (_with("position = 70", "position = 81"), "absorber.position", ("80 mm",)),
    "place in dm": (_with("position = 70", 'position = "7 dm"'), "absorber.position", ("thou and um",)),
    "no such way": (WITH + 'direction = "down"\n', "absorber.direction", ("both, up, sideways",)),
    "misspelt": (_with("position", "positon"), "absorber.positon", ("'position'",)),
    "absorber that is no section": (
        changed(ROUND, "[bar]", "absorber = 3\n[bar]"),
        "absorber",
        ("[absorber]",),
    ),
}
