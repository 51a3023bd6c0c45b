"""Answers in a notebook, and the three notebooks of the examples run from beginning to end."""

from __future__ import annotations

import html
import json
import re
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from answers import EXAMPLES

from stickout.cli.notebook import cut_html, load_ipython_extension, result_html, rows_html
from stickout.fem import Bar, Cut, RigidGrip, Setup, cut_answer, run_study
from stickout.fem.errors import InputError
from stickout.fem.setup.parts import Solve
from stickout.fem.sweep.rows import Rows
from stickout.fem.sweep.sweep import sweep

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


def test_the_rows_of_a_sweep_are_a_table() -> None:
    """A row a case with what was varied, and the numbers of its dictionary, rounded."""
    rows = sweep(SETUP, {"bar.overhang_mm": (40, 50)})
    text = rows_html(rows)
    assert text.count("<tr>") == 3
    assert "<th>bar.overhang_mm</th>" in text
    assert "spring under 10 N, µm" in text
    for row in rows:
        found = [float(one) for one in re.findall(r"<td>([\d.]+)</td>", text.split("<tr>")[1 + row["case"]])]
        assert found[2] == pytest.approx(row["note_hz"], rel=6e-3)
        assert found[3] == pytest.approx(row["spring_um_per_10n"], rel=6e-3)


def test_the_rows_become_a_data_frame(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where pandas is there it is given the rows, indexed by case; where it is not that is said."""
    rows = Rows([{"case": 1, "x": 2.0}], varied=("x",))

    class Frame(list[Any]):
        def set_index(self, name: str) -> tuple[str, list[Any]]:
            return name, list(self)

    monkeypatch.setitem(sys.modules, "pandas", SimpleNamespace(DataFrame=Frame))
    assert rows.frame() == ("case", [{"case": 1, "x": 2.0}])
    monkeypatch.setitem(sys.modules, "pandas", None)
    with pytest.raises(InputError, match="pip install pandas"):
        rows.frame()


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
