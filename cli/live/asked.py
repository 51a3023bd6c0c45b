"""What is asked of the live page with a recording or a pull, checked, and written as a log."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import tomlkit

from stickout.cli.live.question import checked_changes, checked_source, checked_tab, is_number
from stickout.cli.live.sent import not_sent, sent_object
from stickout.fem.bench.pull import BASES, WAYS

_LONGEST_NAME: Final = 40
_ODD: Final = re.compile(r"[^\w .()+-]")
_MOST_READINGS: Final = 40
_MOST_PULLS: Final = 6


@dataclass(frozen=True)
class Asked:
    """What is asked with a recording, checked.

    Attributes
    ----------
    source, changes, tab
        As of every question of the page.
    name
        Name of the recording as the user's file has it, fit for a file system; empty where only pulls come.
    direction
        Which way the bar was tapped: ``up``, ``sideways`` or nothing.
    pulls
        Entries ``[[pull]]`` of a log.
    """

    source: str
    changes: Mapping[str, float]
    tab: str
    name: str
    direction: str = ""
    pulls: Sequence[Mapping[str, Any]] = ()


def checked_asked(body: bytes, names: list[str]) -> Asked:
    """Return what is asked with a recording, checked: it may come from anything that speaks HTTP here.

    Raises
    ------
    InputError
        It is no JSON, or a part of it is missing or not of its kind.
    """
    sent = sent_object(body)
    name, direction, pulls = sent.get("name"), sent.get("direction", ""), sent.get("pulls", [])
    if not isinstance(name, str):
        raise not_sent("name", str(name)[:40], allowed="a text")
    _way(direction)
    if not isinstance(pulls, list) or len(pulls) > _MOST_PULLS:
        raise not_sent("pulls", str(pulls)[:40], allowed=f"at most {_MOST_PULLS} pulls")
    return Asked(
        checked_source(sent, names),
        checked_changes(sent),
        checked_tab(sent),
        safe_name(name),
        direction,
        [_checked_pull(one) for one in pulls],
    )


def safe_name(name: str) -> str:
    """Return the last part of a file's name, without anything a file system or a reader stumbles over."""
    last = _ODD.sub("_", re.split(r"[/\\]", name)[-1]).strip(" .")
    stem, dot, suffix = last.rpartition(".")
    if not dot:
        return last[:_LONGEST_NAME]
    return f"{stem[:_LONGEST_NAME] or 'recording'}.{suffix[:8]}"


def _way(direction: object) -> dict[str, str]:
    """Return a direction as an entry of a log; nothing where it is not known."""
    if not isinstance(direction, str) or direction not in ("", *WAYS):
        raise not_sent("direction", str(direction)[:40], allowed="up, sideways or nothing")
    return {"direction": direction} if direction else {}


def _checked_pull(sent: object) -> dict[str, Any]:
    """Return one entry [[pull]]: its numbers are read as those of a log later on."""
    if not isinstance(sent, Mapping):
        raise not_sent("pulls", type(sent).__name__, allowed="objects")
    base = sent.get("base")
    if base not in BASES:
        raise not_sent("base", str(base)[:40], allowed=f"one of {', '.join(BASES)}")
    out: dict[str, Any] = {"base": base} | _way(sent.get("direction", ""))
    for key in ("load_at", "dial_at", *(("screw_nm",) if sent.get("screw_nm") is not None else ())):
        if not is_number(sent.get(key)):
            raise not_sent(key, str(sent.get(key))[:40], allowed="a number")
        out[key] = sent[key]
    for key in ("loads_n", "readings_um"):
        row = sent.get(key)
        if not isinstance(row, list) or len(row) > _MOST_READINGS or not all(map(is_number, row)):
            raise not_sent(key, str(row)[:40], allowed=f"at most {_MOST_READINGS} numbers")
        out[key] = row
    return out


def write_log(folder: Path, asked: Asked, *, units: str) -> Path:
    """Write what was brought as a log beside the recording, and return its path: it is read as any log."""
    log: dict[str, Any] = {"units": units}
    if asked.name:
        log["tap"] = [{"recording": asked.name} | _way(asked.direction)]
    if asked.pulls:
        log["pull"] = [dict(one) for one in asked.pulls]
    path = folder / "log.toml"
    path.write_text(tomlkit.dumps(log), encoding="utf-8")
    return path
