"""Valleys of the smallest real part: where they lie, against a search ten times as dense, refined."""

from __future__ import annotations

import numpy as np
import pytest

from stickout.fem.chatter.loop import felt_directions, loop_matrix, lowest_real
from stickout.fem.chatter.modal import FloatArray, ModalModel
from stickout.fem.chatter.receptance import frequency_nodes
from stickout.fem.chatter.stability import absolute_limit, limit_on_grid, margin_from_real
from stickout.fem.chatter.valleys import frequency_grid


def model_of(rng: np.random.Generator, *, modes: int, apart: float) -> ModalModel:
    """Return a random tool whose first two notes lie so far apart, in the logarithm."""
    omega = np.sort(rng.uniform(3e3, 5e4, modes))
    omega[1:2] = omega[0] * np.exp(apart)
    phi = 3.0 * rng.normal(size=(modes, 3))
    stiff = rng.normal(size=(3, 3)) * 1e-5
    static = (phi / omega[:, None]).T @ (phi / omega[:, None]) + stiff @ stiff.T
    return ModalModel(omega, phi, 10 ** rng.uniform(-3.0, -1.0, modes), static, viscous=True)


def dense(model: ModalModel, cut: FloatArray, flank: FloatArray | None) -> float:
    """Return the margin by brute force: ten times the nodes, then six zooms on the lowest."""

    def real(w: FloatArray) -> FloatArray:
        return lowest_real(loop_matrix(model, cut, w=w, flank=flank))

    w = frequency_nodes(model, per_mode=320)
    for _ in range(7):
        at = int(np.clip(np.argmin(real(w)), 1, len(w) - 2))
        w = np.linspace(w[at - 1], w[at + 1], 101)
    return float(margin_from_real(real(w).min()))


@pytest.mark.parametrize("apart", [0.0, 1e-6, 1e-3, 0.3])
@pytest.mark.parametrize("rubs", [False, True])
def test_margins_are_those_of_a_dense_search(apart: float, rubs: bool) -> None:
    """Reference: brute force of this file. Ten random tools each, equal and nearly equal notes among them."""
    rng = np.random.default_rng(5)
    for modes in (1, 2, 3, 4, 5) * 2:
        model = model_of(rng, modes=modes, apart=apart)
        normals = rng.normal(size=(2, 3)) * np.array([1.0, 0.0, 1.0])
        cut = 1e6 * sum(np.outer(rng.normal(size=3), normal) for normal in normals)
        rows = felt_directions(cut)
        flank = rows.T @ rows * 10 ** rng.uniform(0.0, 3.0) if rubs else None
        wanted = dense(model, cut, flank)
        assert float(absolute_limit(model, cut, flank=flank).margin) == pytest.approx(wanted, rel=1e-9)
        rough = limit_on_grid(model, cut, grid=frequency_grid(model, rows), rounds=1, flank=flank)
        assert float(rough.margin) == pytest.approx(wanted, rel=2e-5)


def test_a_batch_finds_what_each_model_finds() -> None:
    """Models with one and with several valleys side by side: none loses its own."""
    rng = np.random.default_rng(6)
    models = [model_of(rng, modes=3, apart=apart) for apart in (0.0, 0.2, 0.5, 1.0)]
    cut = 1e6 * np.outer([1.0, 2.0, 0.5], [0.6, 0.0, 0.8])
    batch = ModalModel(
        *(np.stack([getattr(one, name) for one in models]) for name in ("omega", "phi", "eta", "static")),
        viscous=True,
    )
    together = absolute_limit(batch, cut)
    for number, model in enumerate(models):
        alone = absolute_limit(model, cut)
        assert together.margin[number] == pytest.approx(float(alone.margin), rel=1e-10)
        assert together.omega[number] == pytest.approx(float(alone.omega), rel=1e-5)


def test_equal_modes_share_no_frequency() -> None:
    """Nodes of equal modes lie between one another, from 0.3 to 4 times the note as those of one mode do."""
    both = ModalModel(
        np.array([6e3, 6e3]), np.eye(2, 3), np.array([0.04, 0.04]), np.eye(3) * 1e-6, viscous=True
    )
    nodes = frequency_nodes(both, per_mode=24)
    assert np.all(np.diff(nodes) > 0.0)
    assert nodes[[0, -1]] == pytest.approx([0.3 * 6e3, 4.0 * 6e3], rel=1e-12)


def test_a_valley_between_the_first_two_nodes_is_seen() -> None:
    """A tool whose first note answers below resonance: the lowest node is the first one (computed here)."""
    rng = np.random.default_rng(0)
    omega, eta = np.array([3959.547, 48506.39]), np.array([0.0328, 0.00348])
    seen = 0
    for _ in range(200):
        phi = 3.0 * rng.normal(size=(2, 3))
        static = (phi / omega[:, None]).T @ (phi / omega[:, None])
        model = ModalModel(omega, phi, eta, static, viscous=True)
        normal = rng.normal(size=3) * np.array([1.0, 0.0, 1.0])
        cut = 1e6 * np.outer(rng.normal(size=3), normal)
        flank = felt_directions(cut).T @ felt_directions(cut) * 300.0
        real = lowest_real(loop_matrix(model, cut, w=frequency_nodes(model), flank=flank))
        if np.argmin(real) == 0 and real[0] < 0.0:
            seen += 1
            found = float(absolute_limit(model, cut, flank=flank).margin)
            assert found <= float(margin_from_real(real[0])) * (1 + 1e-12)
    assert seen > 3
