"""Read the tables of a set-up file against the known keys, and keep every mistake."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from stickout.fem.errors import InputError
from stickout.fem.nearest import MISSING, Plain, hint, nearest
from stickout.fem.setup.keys import DIAMETER_DEPTHS, KEYS, RADII, REQUIRED, SECTIONS
from stickout.fem.setup.values import STAND_INS, convert
from stickout.fem.units import UNITS

Table = Mapping[str, Any]


class Reading:
    """One pass over a set-up file: the mistakes found so far, and the values as they were written.

    ``units`` is the file's own, or mm as long as the file does not say (which is a mistake already kept).
    ``notes`` are sentences on what was read in another way than it was written.
    ``silent`` holds the keys that a misspelt one stands for, so that they are not called missing as well.
    """

    def __init__(self, tree: Table) -> None:
        self.mistakes: list[InputError] = []
        self.notes: list[str] = []
        self.written: dict[str, Any] = {}
        self.silent: set[str] = set()
        self.tree = tree
        self.units = "mm"
        self.top = self._top_table()

    def add(self, mistakes: Iterable[InputError]) -> None:
        """Keep mistakes of keys that have none yet, told with the value as it was written."""
        for one in mistakes:
            if not self._known_bad(one.key):
                given = one.given if isinstance(one.given, Plain) else self.written.get(one.key, one.given)
                self.mistakes.append(InputError(key=one.key, given=given, allowed=one.allowed, mend=one.mend))

    def section(self, name: str) -> dict[str, Any] | None:
        """Return the converted keys of ``[name]``, or None where the file has no such section."""
        table = self.tree.get(name)
        return self.table(name, table, like=name) if isinstance(table, dict) else None

    def table(self, path: str, table: Table, *, like: str) -> dict[str, Any]:
        """Return the converted keys of one table; ``like`` names its row in ``KEYS``.

        A value that is refused, or a needed one that is missing, is kept as a mistake and has a stand-in.
        """
        kinds = KEYS[like]
        values: dict[str, Any] = {}
        for key, raw in table.items():
            dotted = f"{path}.{key}" if path else key
            self.written[dotted] = raw
            if key not in kinds:
                self.mistakes.append(unknown_key(dotted, key=key, like=like))
                self._stand_in_for_slip(path, key, table, like=like, values=values)
                continue
            try:
                values[key] = convert(raw, kinds[key], key=dotted, units=self.units)
            except InputError as mistake:
                self.mistakes.append(mistake)
                values[key] = STAND_INS[kinds[key]]
        return values | self.need(path, values, needed=REQUIRED.get(like, {}), like=like)

    def need(self, path: str, values: Table, *, needed: Mapping[str, str], like: str) -> dict[str, Any]:
        """Return stand-ins for the needed keys that are missing, and keep a mistake for each."""
        absent = {key: mend for key, mend in needed.items() if key not in values}
        for key, mend in absent.items():
            dotted = f"{path}.{key}" if path else key
            allowed = f"given ({KEYS[like][key].value})"
            self.mistakes.append(InputError(key=dotted, given=MISSING, allowed=allowed, mend=mend))
        return {key: STAND_INS[KEYS[like][key]] for key in absent}

    def _stand_in_for_slip(
        self, path: str, key: str, table: Table, *, like: str, values: dict[str, Any]
    ) -> None:
        """Let a misspelt key count as the one it resembles, so that one slip is one mistake."""
        meant = nearest(key, KEYS[like])
        if meant is not None and meant not in table:
            values[meant] = STAND_INS[KEYS[like][meant]]
            self.silent.add(f"{path}.{meant}" if path else meant)

    def _known_bad(self, key: str) -> bool:
        """Return whether a mistake is kept for this key or for the table it lies in."""
        bad = {mistake.key for mistake in self.mistakes} | self.silent
        return any(key == one or key.startswith(f"{one}.") for one in bad)

    def _top_table(self) -> dict[str, Any]:
        """Return title and units; unknown sections, and sections that are no tables, are mistakes."""
        plain = {key: raw for key, raw in self.tree.items() if key not in SECTIONS}
        top = self.table("", plain, like="")
        if top["units"] in UNITS:
            self.units = top["units"]
        elif top["units"]:
            mend = hint(top["units"], UNITS, otherwise="Choose one of these.")
            self.add([InputError(key="units", given=top["units"], allowed='"mm" or "inch"', mend=mend)])
        for name in SECTIONS:
            if name in self.tree and not isinstance(self.tree[name], dict):
                mend = f"Begin it with a line [{name}]."
                self.add([InputError(key=name, given=self.tree[name], allowed="a section", mend=mend)])
        return top


def unknown_key(dotted: str, *, key: str, like: str) -> InputError:
    """Return the error of a key we do not know: the nearest one, or the section it belongs to."""
    known = (*KEYS[like], *(SECTIONS if not like else ()))
    homes = [f"[{name}]" for name in SECTIONS if key in KEYS[name]]
    mend = hint(key, known, otherwise=f"It belongs in {' or '.join(homes)}." if homes else "Take it out.")
    if like == "cut" and key in DIAMETER_DEPTHS:
        mend = "Write depth instead. Depth is radial: half of what comes off the diameter."
    if key in RADII and "diameter" in KEYS[like]:
        mend = "Double it: write the diameter."
    return InputError(
        key=dotted, given=Plain("an unknown key"), allowed="one of " + ", ".join(known), mend=mend
    )
