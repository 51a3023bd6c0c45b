"""What was measured of a set-up, in words: when and by what."""

from __future__ import annotations

from stickout.fem.setup.parts import Setup


def measured_words(setup: Setup) -> str:
    """Return "measured on DATE (by what)"; empty where nothing was measured."""
    one = setup.measured
    if one is None:
        return ""
    when = f" on {one.date}" if one.date else ""
    return f"measured{when}" + (f" ({one.origin})" if one.origin else "")
