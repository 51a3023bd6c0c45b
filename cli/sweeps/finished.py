"""A finished sweep leaves a small mark beside its table: resumed, it has nothing to do."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from typing import Any

from stickout.cli.outputs import writing
from stickout.fem.errors import InputError


def mark_path(out: Path) -> Path:
    """Return where the mark of a table lies: beside it, hidden."""
    return out.with_name(f".{out.name}.finished")


def mark_finished(header: Mapping[str, Any], outs: Sequence[Path]) -> None:
    """Note that these tables hold the whole plan of a header; a mark that cannot be written is left out."""
    with suppress(InputError), writing(mark_path(outs[0]), key="--out") as part:
        part.write_text(json.dumps(_mark(header, outs)) + "\n", encoding="utf-8")


def is_finished(header: Mapping[str, Any], outs: Sequence[Path]) -> bool:
    """Return whether these tables are there, as they were written, and hold the whole plan of a header."""
    try:
        noted = json.loads(mark_path(outs[0]).read_text(encoding="utf-8"))
        return bool(noted == _mark(header, outs))
    except (OSError, ValueError, RecursionError):  # no mark, or none that we wrote; a table that is gone
        return False


def _mark(header: Mapping[str, Any], outs: Sequence[Path]) -> dict[str, Any]:
    """Return what a mark holds: fingerprints of the plan with the code that solved it, and of each table."""
    plan = json.dumps(header, sort_keys=True, ensure_ascii=False).encode()
    return {
        "plan": sha256(plan).hexdigest(),
        "tables": {out.name: sha256(out.read_bytes()).hexdigest() for out in outs},
    }
