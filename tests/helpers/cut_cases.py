"""Modal models and small helpers that the tests of the cut share."""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np
from chatter_references import modes_only
from force_references import cut_matrix
from numpy.typing import NDArray
from values import check_value, check_values

from stickout.fem.chatter.receptance import ModalModel, modal_static
from stickout.fem.force.directions import cut_directions, matrix_in_bar_frame
from stickout.fem.force.nose import EngagedEdge, engaged_edge

FloatArray = NDArray[np.float64]

MM = 1e-3
N_PER_MM2 = 1e6
N_PER_UM = 1e6
X_AXIS = np.array([1.0, 0.0, 0.0])
"""Along the bar: feed of a boring cut, passive direction in turning."""
Y_AXIS = np.array([0.0, 1.0, 0.0])
"""Passive direction of a front boring cut, the normal n of the text-book cases."""
Z_AXIS = np.array([0.0, 0.0, 1.0])
"""Cutting direction of a front tool."""


def ids(pattern: str) -> list[str]:
    """Return the ids of the check values that match a pattern from their start to their end."""
    found = [name for name in check_values() if re.fullmatch(pattern, name)]
    if not found:
        raise KeyError(f"no check value matches {pattern!r}")
    return found


def edge_of(record_id: str) -> EngagedEdge:
    """Return the engaged edge of a record's inputs."""
    given = check_value(record_id).inputs
    return engaged_edge(
        given["ap_mm"] * MM,
        given["f_mm"] * MM,
        nose_radius=given["r_eps_mm"] * MM,
        edge_angle_deg=given["kappa_r_deg"],
    )


def one_mode(
    stiffness: float, frequency_hz: float, *, zeta: float, axis: FloatArray = Y_AXIS, viscous: bool = True
) -> ModalModel:
    """Return one mode of modal stiffness [N/m] along an axis, viscous unless told otherwise."""
    omega = 2.0 * np.pi * frequency_hz
    phi = omega / np.sqrt(stiffness) * axis
    return modes_only(np.array([omega]), phi[None, :], eta=np.array([2.0 * zeta]), viscous=viscous)


def in_plane(angle_deg: float) -> FloatArray:
    """Return the unit vector at an angle from y (passive) toward z (cutting)."""
    angle = np.radians(angle_deg)
    return np.array([0.0, np.cos(angle), np.sin(angle)])


def flatted_bar(weak_axis_deg: float, *, zeta: float = 0.02) -> ModalModel:
    """Return the first pair of a steel bar of 16 mm with flats 14 mm across, overhang 80 mm.

    Euler-Bernoulli closed form: second moments integrated here, ``k = 3 E I / L^3`` times beta^4 / 12.
    """
    radius, half, modulus, density, length = 8e-3, 7e-3, 210e9, 7850.0, 80e-3
    z = np.linspace(-half, half, 200001)
    width = 2.0 * np.sqrt(radius**2 - z**2)
    area = np.trapezoid(width, z)
    weak, strong = np.trapezoid(width * z**2, z), np.trapezoid(width**3 / 12.0, z)
    beta = 1.8751040687
    omega = beta**2 * np.sqrt(modulus * np.array([weak, strong]) / (density * area * length**4))
    # Modal mass of a uniform cantilever referred to its tip is a quarter of its mass.
    phi = np.stack([in_plane(weak_axis_deg), in_plane(weak_axis_deg + 90.0)])
    phi = phi / np.sqrt(density * area * length / 4.0)
    return modes_only(omega, phi, eta=np.full(2, 2.0 * zeta), viscous=True)


def modal_stiffness(model: ModalModel) -> Iterator[float]:
    """Yield the modal stiffness of each mode along its own motion [N/m]."""
    for omega, phi in zip(model.omega, model.phi, strict=True):
        yield float(omega**2 / (phi @ phi))


def modal_pair() -> ModalModel:
    """Return the worked pair of b.modal, p along y and c along z."""
    given = check_value("b.modal.k1").inputs
    phi = np.array([[0.0, *given["phi1_pc_1/sqrt(kg)"]], [0.0, *given["phi2_pc"]]])
    omega = 2.0 * np.pi * np.array([given["f1_Hz"], given["f2_Hz"]])
    return modes_only(omega, phi, eta=2.0 * np.array([given["zeta1"], given["zeta2"]]), viscous=True)


def sampled_models(count: int) -> ModalModel:
    """Return a batch of unlike models: three close modes and three higher ones, loss varied."""
    rng = np.random.default_rng(7)
    omega = 2.0 * np.pi * np.array([1050.0, 1070.0, 1900.0, 6500.0, 6800.0, 9000.0])
    omega = omega * rng.uniform(0.9, 1.1, (count, 6))
    phi = rng.normal(size=(count, 6, 3)) * 3.0
    eta = rng.uniform(0.002, 0.08, (count, 6))
    return ModalModel(omega=omega, phi=phi, eta=eta, static=modal_static(omega, phi) + 1e-9 * np.eye(3))


def close_models(count: int) -> ModalModel:
    """Return a batch with three modes down to 1e-4 apart, loss from 3e-4 to 0.15, and three higher ones."""
    rng = np.random.default_rng(3)
    apart = rng.normal(size=(count, 6)) * np.array([0.0, 1.0, 1.0, 0.1, 0.1, 0.1])
    apart = apart * 10.0 ** rng.uniform(-4.0, -0.5, (count, 1))
    omega = 2.0 * np.pi * np.array([1000.0, 1000.0, 1000.0, 6000.0, 6200.0, 12000.0]) * np.exp(apart)
    phi = rng.normal(size=(count, 6, 3)) * 3.0
    eta = 10.0 ** rng.uniform(-3.5, -0.8, (count, 6))
    return ModalModel(omega=omega, phi=phi, eta=eta, static=modal_static(omega, phi) + 1e-9 * np.eye(3))


def nose_case(depth_mm: float = 0.2, *, nose_mm: float = 0.4) -> FloatArray:
    """Return A of a boring cut in the bar frame, coefficients of c.vec."""
    edge = engaged_edge(depth_mm * MM, 0.05 * MM, nose_radius=nose_mm * MM, edge_angle_deg=95.0)
    in_cut = cut_matrix(edge, tangential=2000 * N_PER_MM2, thrust=800 * N_PER_MM2)
    return matrix_in_bar_frame(cut_directions("boring", "front"), in_cut)
