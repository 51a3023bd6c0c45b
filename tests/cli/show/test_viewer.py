"""The viewer file without a browser: the skin, the packed numbers, the words, the file and its faults."""

from __future__ import annotations

import base64
import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import show_bars
from answers import EXAMPLES, told
from setups import SLEEVE

from stickout.cli.show.pages.packing import Skin, packed_16, skin_of
from stickout.cli.show.pages.viewer import script_json, viewer_html, write_viewer
from stickout.cli.show.pages.viewer_model import opened, viewer_model
from stickout.cli.show.scene.surface import outer_surface
from stickout.fem.errors import InputError
from stickout.fem.setup.file import parse_setup, read_setup
from stickout.fem.study.result import Result
from stickout.fem.study.study import run_study
from stickout.meshes.tagged import FloatArray, TaggedMesh

BAR = EXAMPLES / "boring_bar_16mm.toml"


@pytest.fixture(scope="module")
def result() -> Result:
    """Return the study of the README's bar as it stands."""
    return run_study(read_setup(BAR).setup)


@pytest.fixture(scope="module")
def model(result: Result) -> dict[str, Any]:
    """Return its model for the viewer."""
    return viewer_model(result)


@pytest.fixture(scope="module")
def text(result: Result) -> str:
    """Return its viewer file."""
    return viewer_html(result, title="Bar </title><script>alert(1)</script>")


def skin(mesh: TaggedMesh, most: int = 10**6) -> Skin:
    """Return the skin of a mesh."""
    return skin_of(outer_surface(mesh, subdivision=1), mesh.points, most=most)


def volume(mesh: TaggedMesh, one: Skin) -> float:
    """Return the volume inside the triangles by the divergence theorem [m^3]."""
    a, b, c = (mesh.points[one.node[one.triangles[:, at]]] for at in range(3))
    return float(np.einsum("ik,ik->", a, np.cross(b, c)) / 6)


def test_a_square_bar_keeps_its_volume_whatever_is_melted() -> None:
    """Closed form: 16 x 16 x 80 mm; thinning moves no corner by more than a box, 8 % of the volume."""
    mesh = show_bars.bar()
    assert volume(mesh, skin(mesh)) == pytest.approx(0.016**2 * 0.08, rel=1e-12)
    thin = skin(mesh, most=120)
    assert len(np.unique(thin.node)) <= 120
    assert volume(mesh, thin) == pytest.approx(0.016**2 * 0.08, rel=0.08)


def test_a_square_bar_has_flat_faces_and_split_corners() -> None:
    """Principle: six normals along the axes, and as many vertices as the faces have nodes of their own."""
    one = skin(show_bars.bar())
    assert len(np.unique(np.round(one.normal, 9), axis=0)) == 6
    # 4 x 4 cells across, 12 along: 5 x 5 corners on each end, 13 x 5 on each of four sides.
    assert len(one.node) == 2 * 25 + 4 * 65


def test_a_round_bar_is_drawn_through_its_curved_sides() -> None:
    """Closed form: the mesh has 16 sides to a circle, the skin 32: the outline of a 32-gon, 0.6 % short."""
    mesh = read_setup(BAR).setup
    held = run_study_mesh(mesh)
    one = skin(held)
    length = float(np.ptp(held.points[:, 0]))
    assert volume(held, one) == pytest.approx(np.pi * 0.008**2 * length, rel=0.008)
    radial = held.points[one.node][:, 1:]
    side = (np.linalg.norm(radial, axis=1) > 0.00799) & (np.abs(one.normal[:, 0]) < 0.5)
    outward = np.einsum("ik,ik->i", one.normal[side][:, 1:], radial[side]) / 0.008
    # Mean normals of a 32-gon lean by at most half a side, 5.6 degrees.
    assert outward.min() > np.cos(np.radians(5.7))


def run_study_mesh(setup: Any) -> TaggedMesh:
    """Return the finer of the two meshes of a set-up."""
    from stickout.fem.study.study import levels_of, solve_level

    return solve_level(setup, levels_of(setup).fineness[1]).model.mesh


def unpacked(packed: str, full: float) -> FloatArray:
    """Return packed 16-bit numbers."""
    return np.frombuffer(base64.b64decode(packed), dtype="<i2").astype(float) * full / 32767


def test_packing_keeps_fifteen_bits() -> None:
    """Principle: rounding to 1 in 32767 of full scale is wrong by half a step at most."""
    values = np.linspace(-2.0, 2.0, 1001)
    assert np.abs(unpacked(packed_16(values, 2.0), 2.0) - values).max() <= 0.5 * 2.0 / 32767 + 1e-15


def test_shapes_are_the_results_own(result: Result, model: dict[str, Any]) -> None:
    """Principle: the packed shape is the mode's shape on the same nodes, one factor for all."""
    mesh = result.model.mesh
    points = unpacked(model["position"], model["half"]).reshape(-1, 3) + model["middle"]
    gaps = np.linalg.norm(mesh.points[None] - points[:, None], axis=2)
    node = gaps.argmin(axis=1)
    # Positions are packed to 1 in 32767 of half the bar, 0.07 m: 2 um; nodes lie a millimetre apart.
    assert gaps.min(axis=1).max() < 4e-6
    for at, mode in enumerate(model["modes"]):
        shown = unpacked(mode["shape"], mode["full"])
        whole = result.modes.shapes[at][node].ravel()
        factor = float(shown @ whole / (whole @ whole))
        assert np.abs(shown - factor * whole).max() < 2 * mode["full"] / 32767
        assert mode["hertz"] == result.frequency_hz[at]


def test_the_magnification_is_drawn_over_real(result: Result, model: dict[str, Any]) -> None:
    """Principle: largest movement as drawn = magnification x the swing that is stated."""
    for mode in model["modes"]:
        largest = np.linalg.norm(unpacked(mode["shape"], mode["full"]).reshape(-1, 3), axis=1).max()
        # The largest node may lie inside the solid or be one that the skin leaves out.
        assert largest == pytest.approx(mode["magnification"] * mode["swing"], rel=0.02)
    first, second = model["modes"][:2]
    assert (first["twin"], second["twin"]) == (1, 0)
    assert result.pairs[0] == (0, 1)


def test_energy_is_least_at_the_free_end(model: dict[str, Any]) -> None:
    """Principle: a cantilever's free end carries no bending moment, its root the greatest."""
    energy = np.frombuffer(base64.b64decode(model["modes"][0]["energy"]), dtype="u1")
    x = unpacked(model["position"], model["half"]).reshape(-1, 3)[:, 0] + model["middle"][0]
    assert energy[x > 0.9 * x.max()].max() < 10
    assert energy[np.abs(x) < 0.05 * x.max()].max() == 255


def test_one_file_that_asks_for_nothing(text: str) -> None:
    """Below 300 kB, no address but the namespace of SVG, and a policy that forbids every request."""
    assert len(text.encode()) < 300_000
    assert set(re.findall(r"https?://[^\"'`\s]+", text)) == {"http://www.w3.org/2000/svg"}
    assert "default-src 'none'" in text
    assert "{{" not in text
    assert " include " not in text


def test_a_title_cannot_break_out(text: str) -> None:
    """Titles come from files of others: no tag of theirs may come to life."""
    assert "<script>alert(1)" not in text
    assert "&lt;/title&gt;" in text
    held = re.search(r'id="model">(.*?)</script>', text, re.DOTALL)
    assert held is not None
    assert json.loads(held[1])["title"] == "Bar </title><script>alert(1)</script>"
    assert "<" not in script_json({"a": "</script><!--"})


def test_the_same_result_gives_the_same_file(result: Result, text: str) -> None:
    """Principle: nothing of a page hangs on the hour or the machine."""
    assert viewer_html(result, title="Bar </title><script>alert(1)</script>") == text


@pytest.mark.slow
def test_a_meshed_block_is_cut_open() -> None:
    """Principle: of a block round the bar the half toward the viewer is left out, whichever side that is."""
    mesh = run_study_mesh(parse_setup(SLEEVE).setup)
    for side in (-1.0, 1.0):
        seen = opened(mesh, side=side)
        block = seen.points[seen.cells[seen.regions["holder"]]].mean(axis=1)
        assert (side * block[:, 1]).max() < 0
        assert 2 * len(seen.regions["holder"]) == len(mesh.regions["holder"])
        assert set(seen.regions) == set(mesh.regions)


def test_no_band_is_beyond_the_table(result: Result) -> None:
    """Whatever moves most has the last colour: the picture is told how many bands there are."""
    model = viewer_model(result, energy=False)
    assert len(model["table"]) <= 16  # room for them in the shader
    assert len(set(model["table"])) == len(model["table"])
    text = viewer_html(result)
    assert "uniform vec3 table[16]" in text
    assert "moved * float(bands)" in text


def test_targets_that_cannot_be(result: Result, tmp_path: Path) -> None:
    """Wrong ending, a folder that is not there: told, and nothing is left behind."""
    with pytest.raises(InputError, match=r"must be a file that ends in \.html"):
        write_viewer(result, tmp_path / "bar.pdf")
    with pytest.raises(InputError, match="folder does not exist"):
        write_viewer(result, tmp_path / "no" / "bar.html")
    assert list(tmp_path.iterdir()) == []


def test_the_command(tmp_path: Path) -> None:
    """Exit 0 and one sentence with file and size; exit 2 for a wrong ending, before anything is solved."""
    out = tmp_path / "bar.html"
    few = ("--set", "solve.modes=2", "--set", "solve.accuracy=0.01")
    code, said, err = told("show", BAR, "--out", out, "--title", "For the club", *few)
    assert (code, err) == (0, "")
    assert said.startswith("2 modes, to be opened in a browser")
    assert f"({out.stat().st_size / 1000:.0f} kB)" in said
    assert "<h1>For the club</h1>" in out.read_text(encoding="utf-8")
    code, said, err = told("show", BAR, "--out", tmp_path / "bar.txt")
    assert (code, said) == (2, "")
    assert "ends in .html" in err
