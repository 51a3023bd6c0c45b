"""Set-up files by the grammar of the format, with what people and accidents put into them.

``setup_texts`` mutates sound set-ups key by key; ``told_of`` feeds a text to the reader and to the force
model, and returns what was told. Anything but a set-up or a told mistake is an error of the program.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator, Sequence
from contextlib import suppress
from typing import Final

import setups

from stickout.fem.errors import InputError
from stickout.fem.force.case import cut_case
from stickout.fem.records.setup import setup_record
from stickout.fem.setup.file import SetupError, parse_setup
from stickout.fem.setup.keys import KEYS
from stickout.fem.setup.writing import setup_toml

BASES: Final = (
    *(setups.ROUND, setups.SQUARE, setups.SLOT, setups.SLEEVE, setups.STEPPED, setups.TUBE, setups.FLATTED),
    *(setups.WRAPPED, setups.CUTTING, setups.WORKING, setups.SQUARE + setups.SHIM),
    *(setups.BARE_POST, setups.BARE_SLEEVE),
)
VALUES: Final = (
    *("0", "-1", "1e300", "1e-300", "-1e308", "5e-324", "inf", "-inf", "nan", "1" * 310, "9" * 5000, "true"),
    *("0x" + "f" * 6000, "1e400", "16", "0.5", "250000", "-0.0", "1_0", "1979-05-27", "07:32:00", "[]", "{}"),
    *("[1, 2, 3]", "[1e308, 1e308, 1e308]", "[[[[1]]]]", "[" * 5000 + "]" * 5000, "{a = {b = 1}}", "[nan]"),
    *('""', '"16"', '"16 mm"', '"1/2"', '"3/0 in"', '"1/2 in"', '"0,5"', '"- 5 mm"', '"9e9 mm"', '"\\u0000"'),
    *(
        '"a\\nb"',
        '"\\u001b[2J"',
        '"\\u202Ebar"',
        '"$x^{$"',
        '"\\U0001F529"',
        '"steel"',
        '"carbide"',
        '"slot"',
    ),
    *('"' + "x" * 9000 + '"', '"' + "9" * 9000 + ' mm"', "'" * 3, '"unclosed', "80 mm", "0,5", "=", "\x00"),
    *('"four-way post"', '"split sleeve"', '"V-block"', '"EN 8"', '"AISI "', '"clamp"', '"parting"', '"iso"'),
    *('"\u0663 mm"', '"1/' + "0" * 50 + '1 mm"', '"mild steel"', '"boring"', '"chuck"', "[5, 6]", "[true]"),
)
LINES: Final = (
    *("[", "[[bar]]", "[bar]", "]", "\x00", "\x1b[31m", "[materials.x]", '[materials."a\\nb"]', "[nowhere]"),
    *("a." * 3000 + "b = 1", "[" + "a." * 3000 + "b]", "#", "\ufeff", "title = 'x'", "bar.x.y.z = 1"),
    *("[[bar.steps]]", "bar = 3", "[bar.steps]", "[absorber]", "[work]", "[solve]", "modes = 99999999999"),
)


def setup_texts(count: int, *, seed: int) -> Iterator[str]:
    """Yield so many set-up files, each a sound one with one to four changes; a seed gives the same ones."""
    draw = random.Random(seed)
    for _ in range(count):
        lines = draw.choice(BASES).splitlines()
        for _ in range(draw.choice((1, 1, 1, 2, 3, 4))):
            lines = _changed(lines, draw)
        yield "\n".join(lines) + "\n"


def _changed(lines: Sequence[str], draw: random.Random) -> list[str]:
    """Return the lines with one change: a value, a key, a line more, less or twice, or a letter."""
    out = list(lines)
    at = draw.randrange(len(out)) if out else 0
    match draw.randrange(9):
        case 0 | 1 | 2:
            settable = [n for n, line in enumerate(out) if "=" in line]
            if settable:
                at = draw.choice(settable)
                out[at] = f"{out[at].partition('=')[0]}= {draw.choice(VALUES)}"
        case 7 | 8:
            out = [*out[:at], *(_renumbered(one, draw) for one in out[at : at + 1]), *out[at + 1 :]]
        case 3:
            section = draw.choice(list(KEYS))
            out.insert(at, f"{draw.choice(list(KEYS[section]))} = {draw.choice(VALUES)}")
        case 4:
            out.insert(at, draw.choice(LINES))
        case 5:
            out[at : at + 1] = draw.choice(([], [], out[at : at + 1] * 2))
        case 6:
            if out and out[at]:
                where = draw.randrange(len(out[at]))
                out[at] = out[at][:where] + draw.choice('"[]=.# \t\\0-') + out[at][where + 1 :]
    return out


def _renumbered(line: str, draw: random.Random) -> str:
    """Return the line with another number of the size that such files hold."""
    return re.sub(r"= [\d.]+$", f"= {draw.uniform(0.2, 100):.3g}", line)


def told_of(text: str) -> list[str]:
    """Return the mistakes told of a text, none where it is a set-up and its force could be worked out.

    A set-up that is read is also told back as a record, and written where the writer takes it.
    """
    try:
        setup = parse_setup(text).setup
    except SetupError as error:
        return [str(one) for one in error.mistakes]
    setup_record(setup)
    with suppress(InputError):  # a grip or a part that this writer does not write
        setup_toml(setup, title=setup.title)
    try:
        if setup.cut is not None:
            cut_case(setup)
    except InputError as error:
        return [str(error)]
    return []
