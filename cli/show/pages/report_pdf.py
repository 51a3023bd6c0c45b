"""A page as PDF: printed by a Chromium browser that is installed already, without a window."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Final

from stickout.fem.errors import InputError, SolveError

_PROGRAMS: Final = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "msedge",
)
_PATIENCE_S: Final = 120.0


def browser() -> str | None:
    """Return the path of a browser that can print without a window; None where none is found."""
    return next((found for name in _PROGRAMS if (found := shutil.which(name))), None)


def check_browser(out: Path) -> str:
    """Return the path of the browser that prints.

    Raises
    ------
    InputError
        None is found.
    """
    found = browser()
    if found is None:
        raise InputError(
            key="--out",
            given=str(out),
            allowed="a .html as long as no Chromium browser is found to print with",
            mend="Ask for a .html, open it in any browser and print it to a PDF there.",
        )
    return found


def print_pdf(page: Path, out: Path, *, program: str) -> None:
    """Print an HTML file to a PDF; the browser can reach no other host.

    Parameters
    ----------
    page
        The HTML file.
    out
        The PDF to be.
    program
        Path of the browser.

    Raises
    ------
    SolveError
        The browser failed, wrote nothing or took too long.
    """
    with tempfile.TemporaryDirectory(prefix="stickout-print-", ignore_cleanup_errors=True) as profile:
        command = [
            program,
            "--headless",
            "--disable-gpu",
            "--no-first-run",
            "--no-pdf-header-footer",
            "--host-resolver-rules=MAP * ~NOTFOUND",
            f"--user-data-dir={profile}",
            f"--print-to-pdf={out.resolve()}",
            page.resolve().as_uri(),
        ]
        if hasattr(os, "geteuid") and os.geteuid() == 0:
            # The browser will not start for root inside its own sandbox; the page is ours and runs no script.
            command.insert(1, "--no-sandbox")
        try:
            done = subprocess.run(command, capture_output=True, text=True, timeout=_PATIENCE_S, check=False)
        except (OSError, subprocess.TimeoutExpired) as trouble:
            raise SolveError(
                f"The browser did not print: {trouble}. Ask for a .html and print that."
            ) from trouble
    if done.returncode != 0 or not out.is_file() or not out.read_bytes().startswith(b"%PDF"):
        last = (done.stderr.strip().splitlines() or ["no message"])[-1]
        raise SolveError(f"The browser printed nothing ({last}). Ask for a .html and print that.")
