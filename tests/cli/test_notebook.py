"""Answers in a notebook, and the three notebooks of the examples run from beginning to end."""

from __future__ import annotations

import html
import json
import re
from pathlib import Path

import pytest
from answers import EXAMPLES

from stickout.cli.notebook import cut_html, load_ipython_extension, result_html
from stickout.fem import Bar, Cut, RigidGrip, Setup, cut_answer, run_study
from stickout.fem.setup.parts import Solve

NOTEBOOKS = sorted(EXAMPLES.glob("*.ipynb"))
CUT = Cut(
    operation="boring", work_material="mild steel", depth_mm=0.2, feed_mm=0.05, nose_radius_mm=0.4,
    edge_angle_deg=93, work_diameter_mm=24,
)  # fmt: skip
SETUP = Setup(
    bar=Bar(40, diameter_mm=16), grip=RigidGrip(), cut=CUT, solve=Solve(3, 0.02), title="A <bar> & more"
)


def test_a_result_is_a_table_and_the_viewer() -> None:
    """Principle: a row for each mode with its own note, and a whole page in a frame that cannot break out."""
    result = run_study(SETUP)
    text = result_html(result)
    assert text.count("<tr>") == 1 + result.n_modes
    assert f"{result.frequency_hz[0] / 1000:.3g} kHz" in text
    assert "A &lt;bar&gt; &amp; more" in text
    (inside,) = re.findall(r'srcdoc="([^"]*)"', text)
    assert html.unescape(inside).startswith("<!DOCTYPE html>")


def test_a_cut_is_what_the_command_prints() -> None:
    """Principle: the same words as in the terminal, with nothing that a page would take for its own."""
    text = cut_html(cut_answer(run_study(SETUP)))
    assert text.startswith("<pre>A &lt;bar&gt; &amp; more")
    assert "quiet in 10" in text


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda one: one.stem)
def test_a_notebook_runs(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every code cell, in order, without an error; answers come as HTML."""
    interactive = pytest.importorskip("IPython.core.interactiveshell")
    monkeypatch.chdir(EXAMPLES)
    shell = interactive.InteractiveShell()
    shell.history_manager.enabled = False
    cells = [one for one in json.loads(path.read_text("utf-8"))["cells"] if one["cell_type"] == "code"]
    assert cells
    assert all(one["outputs"] == [] and one["execution_count"] is None for one in cells)
    for cell in cells:
        done = shell.run_cell("".join(cell["source"]), store_history=False)
        assert done.success, done.error_in_exec or done.error_before_exec
    if "load_ext" in "".join("".join(one["source"]) for one in cells):
        load_ipython_extension(shell)
        shown, _ = shell.display_formatter.format(shell.user_ns.get("result", shell.user_ns.get("long")))
        assert shown["text/html"].startswith(("<table>", "<pre>"))


def test_there_are_three() -> None:
    """A glob that finds nothing would pass every test above."""
    assert len(NOTEBOOKS) == 3
