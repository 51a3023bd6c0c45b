"""Mesh files: what is written comes back whole, and other readers see the same solid."""

from __future__ import annotations

import re
from pathlib import Path

import meshio
import numpy as np
import pytest
import pyvista
import skfem
from measured import volume
from read_back import read_mesh
from skfem.models.elasticity import lame_parameters, linear_elasticity
from solids import STEEL, assembled

from stickout.fem.solid.elasticity import cell_matrices
from stickout.fem.solid.model import Support, held_model
from stickout.fem.solid.modes import solve_modes
from stickout.meshes.errors import InputError
from stickout.meshes.exchange import curved_skfem_mesh
from stickout.meshes.faces import HEX_FACES
from stickout.meshes.files import write_mesh
from stickout.meshes.parts import Bar, Block, Edge, Hold, Shim, Wrap
from stickout.meshes.pieces import Fineness
from stickout.meshes.tagged import TaggedMesh
from stickout.meshes.tool import bar_mesh

COARSE = Fineness(first=0.4, longest=0.8)
SHANK = Bar(40, section="square", width_mm=12, gripped_mm=30)
ROUND = Bar(40, diameter_mm=16, gripped_mm=30)
MESHES = {
    "rigid": bar_mesh(ROUND, edge=Edge(offset_y_mm=3, offset_z_mm=1), fineness=COARSE),
    "shim": bar_mesh(SHANK, hold=Hold("held", (5, 25)), shim=Shim(1), fineness=COARSE),
    "wrap": bar_mesh(ROUND, hold=Hold("bed"), wrap=Wrap(2, 10, 30), fineness=COARSE),
    "sleeve": bar_mesh(ROUND, hold=Hold("sleeve", block=Block(40, 40, 8)), fineness=COARSE),
}


def same(one: TaggedMesh, other: TaggedMesh) -> None:
    """Fail unless two meshes are alike to the last bit, names in the same order."""
    for key in ("points", "cells", "edge", "family"):
        assert np.array_equal(getattr(one, key), getattr(other, key)), key
        assert getattr(one, key).dtype == getattr(other, key).dtype, key
    for key in ("regions", "patches", "joints"):
        mine, theirs = getattr(one, key), getattr(other, key)
        assert list(mine) == list(theirs), key
        assert all(np.array_equal(mine[name], theirs[name]) for name in mine), key


@pytest.mark.parametrize("suffix", [".vtu", ".msh"])
@pytest.mark.parametrize("name", MESHES)
def test_round_trip(name: str, suffix: str, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    """Regions, patches, joints, edge and families come back to the last bit; the input stays as it was."""
    mesh = MESHES[name]
    points, cells = mesh.points.copy(), mesh.cells.copy()
    write_mesh(mesh, tmp_path / f"bar{suffix}")
    back = read_mesh(tmp_path / f"bar{suffix}")
    same(mesh, back)
    assert np.array_equal(mesh.points, points)
    assert np.array_equal(mesh.cells, cells)
    # Nothing beside the file, and nothing said on either channel.
    assert [p.name for p in tmp_path.iterdir()] == [f"bar{suffix}"]
    assert capfd.readouterr() == ("", "")


def test_sleeve_has_a_joint() -> None:
    """The round trip above has joints to keep."""
    assert MESHES["sleeve"].joints


def test_viewer_sees_the_same_solid(tmp_path: Path) -> None:
    """VTK's own reader: positions, middle nodes between their corners, volume of the curved cells."""
    mesh = MESHES["rigid"]
    write_mesh(mesh, tmp_path / "bar.vtu")
    grid = pyvista.read(tmp_path / "bar.vtu")
    solids = np.asarray(grid.cells_dict[pyvista.CellType.QUADRATIC_HEXAHEDRON])
    assert np.array_equal(np.asarray(grid.points)[: len(mesh.points)], mesh.points)
    assert np.asarray(grid.points)[-1] == pytest.approx(mesh.edge, abs=0)
    # One region, so the cells stand in their order; a slip in the order of middles would show here.
    assert np.array_equal(solids, mesh.cells)
    names = {"region", "region bar", "patch end", "patch root", "edge", "number", "family"}
    assert set(grid.cell_data.keys()) == names
    assert np.array_equal(grid.cell_data["region"], grid.cell_data["region bar"])  # one region: number 1
    # VTK integrates a quadratic cell as 40 or so straight tetrahedra: the bow of 8 edges round a bar
    # between straight lines of half their length is 2.5 % of the area at most.
    boxes = (
        grid.extract_cells(np.asarray(grid.cell_data["region bar"]) == 1).compute_cell_sizes()["Volume"].sum()
    )
    assert boxes == pytest.approx(volume(mesh), rel=0.03)


def test_gmsh_keeps_its_own_order_of_middles(tmp_path: Path) -> None:
    """Gmsh's manual, node ordering (recalled, not opened): edges 01 03 04 12 15 23 26 37 45 47 56 67."""
    mesh = MESHES["rigid"]
    write_mesh(mesh, tmp_path / "bar.msh")
    raw = (tmp_path / "bar.msh").read_bytes()
    assert raw.startswith(b"$MeshFormat\n4.1 1 8\n")
    assert b'"region bar"' in raw
    assert b'"patch end"' in raw
    at = raw.index(b"$Elements\n") + len(b"$Elements\n") + 4 * 8
    dimension, _, kind = np.frombuffer(raw, np.int32, 3, at)
    assert (dimension, kind) == (3, 17)
    first = np.frombuffer(raw, np.uint64, 21, at + 12 + 8)[1:].astype(np.int64)
    at = raw.index(b"$Nodes\n") + len(b"$Nodes\n")
    points = nodes_of(raw, at)
    corner, middle = points[first[:8]], points[first[8:]]
    pairs = np.array(
        [(0, 1), (0, 3), (0, 4), (1, 2), (1, 5), (2, 3), (2, 6), (3, 7), (4, 5), (4, 7), (5, 6), (6, 7)]
    )
    # Bowed edges leave the straight middle by less than a tenth of their length.
    length = np.linalg.norm(corner[pairs[:, 1]] - corner[pairs[:, 0]], axis=1)
    off = np.linalg.norm(corner[pairs].mean(axis=1) - middle, axis=1)
    assert np.all(off < 0.1 * length)


def nodes_of(raw: bytes, at: int) -> np.ndarray:
    """Return the node positions of a binary Gmsh 4.1 file by their tag, read byte by byte."""
    blocks, total = np.frombuffer(raw, np.uint64, 2, at).astype(int)
    points = np.empty((total + 1, 3))
    at += 32
    for _ in range(blocks):
        count = int(np.frombuffer(raw, np.uint64, 1, at + 12)[0])
        tags = np.frombuffer(raw, np.uint64, count, at + 20).astype(np.int64)
        points[tags] = np.frombuffer(raw, np.float64, 3 * count, at + 20 + 8 * count).reshape(-1, 3)
        at += 20 + 32 * count
    return points


@pytest.mark.parametrize("suffix", [".vtu", ".msh"])
def test_modes_are_point_data(suffix: str, tmp_path: Path) -> None:
    """Shapes of every mode under a name without figures, the edge's own motion at the last point."""
    mesh = MESHES["rigid"]
    modes = solve_modes(held_model(mesh, {"bar": STEEL}, support=Support(held=("root",))), 2)
    write_mesh(mesh, tmp_path / f"bar{suffix}", modes=modes)
    read = (
        meshio.vtu.read(tmp_path / "bar.vtu") if suffix == ".vtu" else meshio.gmsh.read(tmp_path / "bar.msh")
    )
    names = [name for name in read.point_data if name.endswith("motion")]
    assert names == [f"mode_{n}_motion" for n in range(1, len(modes.shapes) + 1)]
    if suffix == ".vtu":
        for n, hertz in enumerate(modes.frequency_hz, 1):
            assert set(read.point_data[f"mode_{n}_frequency_hz"]) == {hertz}
    # Gmsh files sort nodes by entity; ours carry their own number along.
    place = read.point_data["node"].astype(int) if suffix == ".msh" else np.arange(len(read.points))
    for name, shape, edge in zip(names, modes.shapes, modes.edge, strict=True):
        back = np.empty_like(read.point_data[name])
        back[place] = read.point_data[name]
        assert np.array_equal(back[:-1], shape)
        assert np.array_equal(back[-1], edge)
    same(mesh, read_mesh(tmp_path / f"bar{suffix}"))


def test_nothing_is_half_written(tmp_path: Path) -> None:
    """A name that cannot be kept, an unknown suffix or a missing folder leaves what was there."""
    mesh = MESHES["rigid"]
    path = tmp_path / "bar.vtu"
    write_mesh(mesh, path)
    before = path.read_bytes()
    named = TaggedMesh(**{**vars(mesh), "patches": {**mesh.patches, "end, far": mesh.patches["root"]}})
    with pytest.raises(InputError, match="letters, digits"):
        write_mesh(named, path)
    with pytest.raises(InputError, match=re.escape(".vtu or .msh")):
        write_mesh(mesh, tmp_path / "bar.step")
    with pytest.raises(InputError, match="file that can be written"):
        write_mesh(mesh, tmp_path / "no such folder" / "bar.vtu")
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def test_our_stiffness_is_that_of_scikit_fem() -> None:
    """Independent assembly: scikit-fem's stock elasticity on its own 20-node element, straight cells."""
    mesh = bar_mesh(Bar(30, section="square", width_mm=12), fineness=Fineness(skin=0.3, first=0.3))
    other = curved_skfem_mesh(mesh)
    basis = skfem.Basis(other, skfem.ElementVector(skfem.ElementHexS2()), intorder=5)
    lame = lame_parameters(STEEL.youngs_modulus, STEEL.poisson_ratio)
    theirs = skfem.asm(linear_elasticity(*lame), basis).tocsr()
    ours = assembled(mesh, STEEL)[0]
    place = unknowns_by_position(mesh, basis)
    difference = abs(ours - theirs[place][:, place]).max()
    # Rounding of sums over 27 points and up to 8 cells.
    assert difference < 1e-12 * abs(ours).max()


def unknowns_by_position(mesh: TaggedMesh, basis: skfem.Basis) -> np.ndarray:
    """Return scikit-fem's unknown of each of ours, by position and component."""
    rounded = {tuple(p): n for n, p in enumerate(np.round(mesh.points, 9).tolist())}
    place = np.full(3 * len(mesh.points), -1)
    seen = np.zeros(len(mesh.points), dtype=int)
    # Unknowns of one node are numbered x, y, z one after another.
    for unknown, at in enumerate(np.round(basis.doflocs.T, 9).tolist()):
        node = rounded[tuple(at)]
        place[3 * node + seen[node]] = unknown
        seen[node] += 1
    assert np.all(seen == 3)
    return place


def test_faces_and_matrices_share_one_order() -> None:
    """Principle: the stiffness of one cell resists no rigid turn, so nodes and functions agree in order."""
    mesh = MESHES["rigid"]
    stiffness = cell_matrices(mesh, {"bar": STEEL}).stiffness(np.array([0]))[0]
    corner = mesh.points[mesh.cells[0]]
    turn = np.cross(np.array([0.3, -1.0, 0.7]), corner).ravel()
    # Rounding of sums of entries whose scale is that of the matrix times the turn.
    assert np.abs(stiffness @ turn).max() < 1e-11 * np.abs(stiffness).max() * np.abs(turn).max()
    assert sorted(set(HEX_FACES.ravel())) == list(range(20))
