"""The command ``completion``: words for a shell's Tab key, written by the command-line library."""

from __future__ import annotations

import sys
from typing import Annotated, Literal

from cyclopts import Parameter

from stickout.cli.version import TOOL

Shell = Literal["bash", "zsh", "fish", "powershell"]


def completion(shell: Annotated[Shell, Parameter(help="Your shell.")], /) -> None:
    """Print what makes a shell complete commands, options and files with the Tab key.

    Parameters
    ----------
    shell
        Your shell. The guide says where what is printed goes.
    """
    from stickout.cli.__main__ import make_app  # here, since it registers this command itself

    sys.stdout.write(make_app().generate_completion(prog_name=TOOL, shell=shell))
