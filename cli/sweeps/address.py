"""The address of a scheduler."""

from __future__ import annotations

from stickout.fem.errors import InputError


def check_address(address: str) -> None:
    """Check the form of a scheduler's address.

    Raises
    ------
    InputError
        It is none.
    """
    kind, colons, rest = address.partition("://")
    host, colon, port = rest.rpartition(":")
    if not (kind in ("tcp", "tls") and colons and host and colon and port.isdecimal()):
        mend = "Give what the scheduler prints when it starts, such as tcp://192.168.1.20:8786."
        raise InputError(key="--cluster", given=address, allowed="of the form tcp://host:port", mend=mend)
