"""The version that the command and the result files state; a test holds it to pyproject.toml."""

from __future__ import annotations

from typing import Final

TOOL: Final = "stickout"
VERSION: Final = "0.1.0"
