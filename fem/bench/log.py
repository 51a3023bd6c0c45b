"""The log of a bar: taps, pulls and cuts as they were made, read from TOML; every mistake one message."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np

from stickout.fem.bench.pull import BASES, WAYS, Pull
from stickout.fem.bench.springing import MOST_PASSES, READING, SpringPass
from stickout.fem.errors import InputError
from stickout.fem.nearest import MISSING, Plain, hint
from stickout.fem.setup.file import read_tables
from stickout.fem.setup.keys import Kind
from stickout.fem.setup.parts import HeardCut
from stickout.fem.setup.values import convert, in_mm
from stickout.fem.units import MM, UNITS

_KEYS: Final[Mapping[str, Mapping[str, Kind]]] = {
    "tap": {
        "recording": Kind.TEXT,
        "ring_hz": Kind.NUMBER,
        "damping_ratio": Kind.NUMBER,
        "direction": Kind.TEXT,
        "overhang": Kind.LENGTH,
        "mass_g": Kind.NUMBER,
        "at": Kind.LENGTH,
        "note": Kind.TEXT,
    },
    "pull": {
        "base": Kind.TEXT,
        "load_at": Kind.LENGTH,
        "dial_at": Kind.LENGTH,
        "direction": Kind.TEXT,
        "loads_n": Kind.NUMBERS,
        "readings_um": Kind.NUMBERS,
        "screw_nm": Kind.NUMBER,
        "note": Kind.TEXT,
    },
    "spring_pass": {
        "came_off_um": Kind.NUMBER,
        "passes": Kind.NUMBER,
        "reading_um": Kind.NUMBER,
        "depth": Kind.LENGTH,
        "feed": Kind.LENGTH,
        "overhang": Kind.LENGTH,
        "note": Kind.TEXT,
    },
    "cut": {
        "rpm": Kind.NUMBER,
        "heard": Kind.TEXT,
        "depth": Kind.LENGTH,
        "feed": Kind.LENGTH,
        "overhang": Kind.LENGTH,
        "pitch_hz": Kind.NUMBER,
        "note": Kind.TEXT,
    },
}
_NEEDED: Final[Mapping[str, tuple[str, ...]]] = {
    "tap": (),
    "pull": ("base", "load_at", "dial_at", "loads_n", "readings_um"),
    "spring_pass": ("came_off_um",),
    "cut": ("rpm", "heard"),
}
_CHOICES: Final[Mapping[str, tuple[str, ...]]] = {
    "base": BASES,
    "direction": tuple(WAYS),
    "heard": ("sang", "quiet"),
}
LOWEST_HZ, HIGHEST_HZ = 20.0, 20_000.0  # what people hear
MOST_DAMPING: Final = 0.2  # a tap with more is a thud, without a note


@dataclass(frozen=True)
class LoggedTap:
    """A tap: its recording, or note [Hz] and damping ratio as they were heard; which way, what differed.

    Lengths in m, mass in kg, where they differed from the set-up.
    """

    recording: Path | None
    direction: str | None = None
    overhang: float | None = None
    mass: float = 0.0
    mass_at: float | None = None
    ring_hz: float | None = None
    damping_ratio: float | None = None


@dataclass(frozen=True)
class Log:
    """All that was done to one bar; its bare lengths were in ``units``."""

    taps: tuple[LoggedTap, ...] = ()
    pulls: tuple[Pull, ...] = ()
    cuts: tuple[HeardCut, ...] = ()
    sprung: tuple[SpringPass, ...] = ()
    units: str = "mm"


def read_log(path: Path) -> Log:
    """Return a bar's log.

    Parameters
    ----------
    path
        TOML with ``[[tap]]``, ``[[pull]]``, ``[[spring_pass]]`` and ``[[cut]]``; recordings lie beside it.

    Returns
    -------
    Log

    Raises
    ------
    InputError
        The file cannot be read, or an entry is at fault.
    """
    tables = read_tables(path)
    units = tables.pop("units", "mm")
    if units not in UNITS:
        raise InputError(key="units", given=units, allowed='"mm" or "inch"', mend="Choose one of these.")
    for name in tables:
        if name not in _KEYS:
            mend = hint(name, _KEYS, otherwise="Take it out.")
            raise InputError(
                key=name,
                given=Plain("an unknown section"),
                allowed="[[tap]], [[pull]], [[spring_pass]] or [[cut]]",
                mend=mend,
            )
    entries = {name: _entries(tables, name, units) for name in _KEYS}
    return Log(
        tuple(_tap(one, path.parent, number) for number, one in enumerate(entries["tap"], 1)),
        tuple(_pull(one, number) for number, one in enumerate(entries["pull"], 1)),
        tuple(_cut(one) for one in entries["cut"]),
        tuple(_spring_pass(one, number) for number, one in enumerate(entries["spring_pass"], 1)),
        units,
    )


def _entries(tables: Mapping[str, Any], name: str, units: str) -> list[dict[str, Any]]:
    """Return every ``[[name]]`` of the file, its values converted."""
    raw = tables.get(name, [])
    out = []
    for number, one in enumerate(convert(raw, Kind.TABLES, key=name, units=units), 1):
        at = f"{name} {number}"
        values = {key: _value(at, name, key, given, units) for key, given in one.items()}
        for key in _NEEDED[name]:
            if key not in values:
                allowed = f"given ({_KEYS[name][key].value})"
                raise InputError(
                    key=f"{at}: {key}", given=MISSING, allowed=allowed, mend=f"Add {key} = ... to it."
                )
        out.append(values)
    return out


def _value(at: str, name: str, key: str, given: object, units: str) -> object:
    """Return one value of an entry."""
    kinds = _KEYS[name]
    if key not in kinds:
        mend = hint(key, kinds, otherwise="Take it out.")
        raise InputError(
            key=f"{at}: {key}", given=Plain("an unknown key"), allowed=f"one of {', '.join(kinds)}", mend=mend
        )
    value = convert(given, kinds[key], key=f"{at}: {key}", units=units)
    if key in _CHOICES and value not in _CHOICES[key]:
        allowed = " or ".join(_CHOICES[key])
        mend = hint(value, _CHOICES[key], otherwise="Choose one of these.")
        raise InputError(key=f"{at}: {key}", given=given, allowed=allowed, mend=mend)
    if isinstance(value, float) and value < 0.0:
        raise InputError(key=f"{at}: {key}", given=given, allowed="0 or more", mend="Check the sign.")
    return value


def _tap(values: Mapping[str, Any], folder: Path, number: int) -> LoggedTap:
    """Return a recording of taps, or a tap as it was heard."""
    overhang, at = values.get("overhang"), values.get("at")
    recording, ring, damping = (values.get(key) for key in ("recording", "ring_hz", "damping_ratio"))
    if (recording is None) == (ring is None):
        given = MISSING if ring is None else Plain("given beside recording")
        mend = 'Name the recording, recording = "taps.wav", or the note you know, ring_hz = 1170.'
        raise InputError(key=f"tap {number}: ring_hz", given=given, allowed="given, or recording", mend=mend)
    if ring is not None and not LOWEST_HZ <= ring <= HIGHEST_HZ:
        allowed = f"from {LOWEST_HZ:g} to {HIGHEST_HZ:g} Hz"
        raise InputError(key=f"tap {number}: ring_hz", given=ring, allowed=allowed, mend="Check the note.")
    if damping is not None and (recording is not None or not 0.0 < damping <= MOST_DAMPING):
        mend = "It is a ratio: 1.4 % is 0.014. A recording brings its own."
        allowed = f"above 0 and at most {MOST_DAMPING:g}, beside ring_hz"
        raise InputError(key=f"tap {number}: damping_ratio", given=damping, allowed=allowed, mend=mend)
    return LoggedTap(
        None if recording is None else folder / recording,
        values.get("direction"),
        None if overhang is None else overhang * MM,
        values.get("mass_g", 0.0) * 1e-3,
        None if at is None else at * MM,
        ring,
        damping,
    )


def _cut(values: Mapping[str, Any]) -> HeardCut:
    """Return a cut that was heard; what was noted beside it is for people."""
    return HeardCut(**in_mm({key: value for key, value in values.items() if key != "note"}))


def _spring_pass(values: Mapping[str, Any], number: int) -> SpringPass:
    """Return a pass with its spring passes."""
    came_off, passes = values["came_off_um"], values.get("passes", 1.0)
    reading = values.get("reading_um", 1e6 * READING)
    for key, given, good, allowed in (
        ("came_off_um", came_off, came_off > 0.0, "above 0"),
        ("passes", passes, passes in range(1, MOST_PASSES + 1), f"1 to {MOST_PASSES}, a whole number"),
        ("reading_um", reading, reading > 0.0, "above 0"),
        ("depth", values.get("depth", 1.0), values.get("depth", 1.0) > 0.0, "above 0"),
        ("feed", values.get("feed", 1.0), values.get("feed", 1.0) > 0.0, "above 0"),
        ("overhang", values.get("overhang", 1.0), values.get("overhang", 1.0) > 0.0, "above 0"),
    ):
        if not good:
            mend = "Write what the spring passes took off the diameter, and how many there were."
            raise InputError(key=f"spring_pass {number}: {key}", given=given, allowed=allowed, mend=mend)
    sizes = in_mm({key: values[key] for key in ("depth", "feed", "overhang") if key in values})
    return SpringPass(1e-6 * came_off, int(passes), 1e-6 * reading, **sizes)


def _pull(values: Mapping[str, Any], number: int) -> Pull:
    """Return a pull."""
    loads, readings = (np.array(values[key], dtype=float) for key in ("loads_n", "readings_um"))
    if len(loads) != len(readings):
        raise InputError(
            key=f"pull {number}: readings_um",
            given=Plain(f"{len(readings)} readings for {len(loads)} loads"),
            allowed="one reading for each load",
            mend="Write both lists in the order they were taken.",
        )
    if values.get("screw_nm") == 0.0:
        mend = "Leave it out where you do not know how tight the screws are."
        raise InputError(key=f"pull {number}: screw_nm", given=0.0, allowed="above 0", mend=mend)
    return Pull(
        values["base"],
        values["load_at"] * MM,
        values["dial_at"] * MM,
        loads,
        1e-6 * readings,
        values.get("direction"),
        values.get("screw_nm"),
    )
