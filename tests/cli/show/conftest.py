"""What the tests of the viewer share: its file, made once."""

from __future__ import annotations

from pathlib import Path

import pytest
from answers import EXAMPLES

from stickout.cli.show.pages.viewer import write_viewer
from stickout.fem.setup.file import read_setup
from stickout.fem.study.study import run_study


@pytest.fixture(scope="session")
def address(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Return the address of the viewer of the README's bar, four modes: two equal pairs."""
    out = tmp_path_factory.mktemp("viewer") / "bar.html"
    changes = ["solve.modes=4", "solve.accuracy=0.01"]
    result = run_study(read_setup(EXAMPLES / "boring_bar_16mm.toml", changes=changes).setup)
    write_viewer(result, out, title="A bar <b>& its edge</b>")
    return Path(out).as_uri()
