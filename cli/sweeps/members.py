"""Who takes part in a cluster: whether each of its workers has this very program."""

from __future__ import annotations

import pkgutil
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from stickout.cli.fingerprint import Code, code
from stickout.cli.sweeps.remote import told_code
from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain

if TYPE_CHECKING:
    from distributed import Client


@dataclass(frozen=True)
class _Answer:
    """What a worker said when it was asked: something, or an error."""

    worker: str
    said: Any


def check_workers(client: Client, address: str, *, patience_s: float) -> None:
    """Check that there are workers and that each has this very code.

    Raises
    ------
    InputError
        There is none in time, or a worker lacks this program or has another version of it.
    """
    try:
        client.wait_for_workers(1, timeout=patience_s)
    except TimeoutError as error:
        given = Plain(f"{address}, which has no worker after {patience_s:g} s")
        mend = f"Start some: dask worker {address} --nthreads 1."
        raise InputError(
            key="--cluster", given=given, allowed="a scheduler with workers", mend=mend
        ) from error
    ours = pkgutil.get_data("stickout.cli", "fingerprint.py")
    for one in _ask(client, pkgutil.get_data, "stickout.cli", "fingerprint.py"):
        if not isinstance(one.said, bytes) or ours is None:
            given = Plain(f"{address}, whose worker {one.worker} lacks this program or has an older one")
            mend = "Install it there, in the environment of that worker: pip install '.[sweep]'."
            raise InputError(key="--cluster", given=given, allowed="workers with this program", mend=mend)
    for one in _ask(client, told_code):
        if one.said != code():
            raise other_code(one.worker, one.said)


def _ask(client: Client, what: Any, *words: Any) -> list[_Answer]:  # noqa: ANN401 - any function
    """Return what each worker says to a call, in the order of their names; an error is an answer."""
    said = client.run(what, *words, on_error="return")
    return [_Answer(worker, said[worker]) for worker in sorted(said)]


def other_code(worker: str, theirs: object) -> InputError:
    """Return the error of a worker with another version; ``theirs`` is what it says it has."""
    ours = code()
    if not isinstance(theirs, Code):
        words = f"{theirs}"
    elif theirs.version != ours.version:
        words = f"stickout {theirs.version}, here {ours.version}"
    elif theirs.source != ours.source:
        words = f"stickout {theirs.version} with other source ({theirs.source}), here {ours.source}"
    else:
        words = f"Python {theirs.python} and NumPy {theirs.numpy}, here {ours.python} and {ours.numpy}"
    given = Plain(f"a cluster whose worker {worker} has {words}")
    mend = "Install the same version on both sides and start the worker again."
    return InputError(key="--cluster", given=given, allowed="workers with this very version", mend=mend)
