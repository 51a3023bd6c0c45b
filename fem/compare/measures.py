"""What a set-up is judged by, likely and sampled: note, spring, loss factor, k zeta along the force."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.chatter.modal import ModalModel
from stickout.fem.compare.inputs import FLANK, FORCE, RUBBING, SEAT, Input, factors
from stickout.fem.compare.reduced import Reduced
from stickout.fem.cut.absorber import attached_by_modes
from stickout.fem.cut.judged import JudgedCut
from stickout.fem.cut.models import joined
from stickout.fem.cut.speed_margins import speed_margins
from stickout.fem.force.case import CutCase
from stickout.fem.solid.carrier import CARRIER
from stickout.fem.study.clamped_loss import mode_loss
from stickout.fem.study.result import Result
from stickout.meshes.tagged import FloatArray

# In reading order. Stiffness is one over the spring; k zeta is what the depth limit follows at high speed,
# and the margin is that of the command ``cut``: at the worst speed, with all modes and the rubbing of the
# flank.
MEASURES: Final = (
    "note_hz",
    "spring_m_per_n",
    "stiffness_n_per_m",
    "loss_factor",
    "k_zeta_n_per_m",
    "cut_margin",
)
_MODES: Final = 6
_RIDES: Final = 6  # ways in which a post can move
_LEAST_LOSS: Final = 1e-9  # a set-up that loses nothing has no limit, but a number
# Where the real part of the receptance is looked at, c in w^2 = omega_r^2 (1 + c eta_r): one mode has its
# least at 1.
_PLACES: Final = np.array([0.5, 0.7, 0.85, 1.0, 1.2, 1.5, 2.0])


@dataclass(frozen=True)
class Samples:
    """Samples of a set-up, the one at the likely inputs first.

    Attributes
    ----------
    values
        Every measure, shape (count + 1,) each.
    drawn
        Every drawn input by key, shape (count + 1,) each.
    tool
        Modal models of the tool, a batch of as many.
    """

    values: Mapping[str, FloatArray]
    drawn: Mapping[str, FloatArray]
    tool: ModalModel


def likely_measures(result: Result, judged: JudgedCut | None) -> dict[str, float]:
    """Return the measures of a solved set-up at its likely inputs.

    Parameters
    ----------
    result
        What the study found.
    judged
        The verdict on its cut; None leaves the cut's margin out.

    Returns
    -------
    dict
        Names of ``MEASURES`` -> values, SI. Losses are those that a cut counts on, clamping included.
    """
    at, spring = result.aligned, result.compliance_along
    eta = np.maximum(mode_loss(result.setup, result.shares), _LEAST_LOSS)
    moved = result.modes.edge @ result.loading.direction
    k_zeta = dynamic_stiffness(result.omega[None], moved[None], eta=eta[None])[0]
    values = [float(result.frequency_hz[at]), spring, 1 / spring, float(eta[at]), float(k_zeta)]
    if judged is not None:
        values.append(judged.margin.likely)
    return dict(zip(MEASURES, values, strict=False))


def dynamic_stiffness(omega: FloatArray, moved: FloatArray, *, eta: FloatArray) -> FloatArray:
    """Return k zeta of the edge along a direction [N/m], all modes together.

    ``-1 / (4 min Re G)`` with the receptance G of all modes; for one mode it is ``k eta / 2``, the modal
    stiffness along the direction times the damping ratio. Equal and close modes are summed as they must be.

    Parameters
    ----------
    omega
        Natural frequencies [rad/s], shape (..., n).
    moved
        Mass-normalised motion of the edge along the direction [kg^-1/2], shape (..., n).
    eta
        Loss factors [-], shape (..., n).

    Returns
    -------
    ndarray
        Shape (...); zero where nothing is lost.

    Source
    ------
    Limit ``-1/(2 Ks min Re G)``: Tlusty & Polacek 1963 (recalled, not opened).
    """
    square = omega**2
    w2 = square[..., :, None] * (1 + _PLACES * np.maximum(eta, _LEAST_LOSS)[..., :, None])
    w2 = w2.reshape(*square.shape[:-1], -1)
    apart = square[..., None, :] - w2[..., :, None]
    lost = (square * np.maximum(eta, _LEAST_LOSS))[..., None, :]
    real = ((moved**2)[..., None, :] * apart / (apart**2 + lost**2)).sum(axis=-1)
    return np.asarray(-0.25 / real.min(axis=-1))


def sampled_measures(
    small: Reduced,
    inputs: Sequence[Input],
    *,
    drawn: Mapping[str, FloatArray],
    force: FloatArray,
) -> Samples:
    """Return the measures of a set-up for every sample of its inputs.

    Parameters
    ----------
    small
        The reduced model.
    inputs
        Its inputs.
    drawn
        Values of the inputs by key, shape (count + 1,) each, the likely one first.
    force
        Direction of the force on the tool, unit vector (3,).

    Returns
    -------
    Samples
        Measures by name, but for the cut's margin, see ``sampled_margins``.
    """
    count = len(next(iter(drawn.values())))
    stiffness = _weights(small.stiffness, inputs, drawn, count, which="stiffness")
    mass = _weights(small.mass, inputs, drawn, count, which="mass")
    K, M = _summed(small.stiffness, stiffness), _summed(small.mass, mass)
    square, shapes = _eigen(K, M, at_most=_MODES + (_RIDES if CARRIER in small.stiffness else 0))
    load = small.edge @ force
    loads = np.broadcast_to(load, K.shape[:2])[..., None]
    spring = np.einsum("n,sn->s", load, np.linalg.solve(K, loads)[..., 0])
    phi = np.einsum("ni,snm->smi", small.edge, shapes)
    moved = phi @ force
    eta = _losses(small, inputs, drawn, stiffness=stiffness, mass=mass, modes=(square, shapes))
    at = np.argmax(moved**2 / square, axis=1)
    pick = (np.arange(count), at)
    k_zeta = dynamic_stiffness(np.sqrt(square), moved, eta=eta)
    values = [np.sqrt(square[pick]) / (2 * np.pi), spring, 1 / spring, eta[pick], k_zeta]
    omega, edge = np.sqrt(square), np.broadcast_to(small.edge, (*K.shape[:2], 3))
    moving = np.einsum("ni,snm->smi", small.place, shapes)
    tool = ModalModel(
        omega=omega,
        phi=phi,
        eta=np.maximum(eta, _LEAST_LOSS),
        static=np.swapaxes(edge, 1, 2) @ np.linalg.solve(K, edge),
        viscous=True,
        attached=attached_by_modes(small.absorber, omega, edge=phi, place=moving),
    )
    return Samples(dict(zip(MEASURES, values, strict=False)), drawn, tool)


def sampled_margins(
    samples: Samples, inputs: Sequence[Input], *, case: CutCase, work: ModalModel | None
) -> Samples:
    """Return samples with the margin of a cut among the measures: at the worst speed, as in ``cut``.

    Parameters
    ----------
    samples
        The samples of its tool.
    inputs
        Its inputs, those of the cut among them.
    case
        The cut.
    work
        Modal model of the work beside the tool; None without one.
    """
    push, rub = (_of_cut(inputs, samples, which=which) for which in (FORCE, FLANK))
    margin = speed_margins(case, joined(samples.tool, work), force=push, rubbing=rub).least
    return replace(samples, values={**samples.values, "cut_margin": margin})


def _of_cut(inputs: Sequence[Input], samples: Samples, *, which: str) -> FloatArray:
    """Return the factor of the cut's force or of its flank in every sample."""
    out = np.ones(len(samples.values["note_hz"]))
    for one in inputs:
        if one.cut == which:
            out = out * factors(one, samples.drawn)
    return out


def _weights(
    parts: Mapping[str, FloatArray],
    inputs: Sequence[Input],
    drawn: Mapping[str, FloatArray],
    count: int,
    *,
    which: str,
) -> dict[str, FloatArray]:
    """Return the factor of every part in every sample."""
    out = {name: np.ones(count) for name in parts}
    for one in inputs:
        for name in getattr(one, which):
            out[name] = out[name] * factors(one, drawn)
    return out


def _summed(parts: Mapping[str, FloatArray], weights: Mapping[str, FloatArray]) -> FloatArray:
    """Return the weighted sum of the parts for every sample, shape (count, n, n)."""
    stacked = np.stack(list(parts.values()))
    factor = np.stack([weights[name] for name in parts])
    return np.asarray(np.tensordot(factor, stacked, axes=(0, 0)))


def _eigen(K: FloatArray, M: FloatArray, *, at_most: int) -> tuple[FloatArray, FloatArray]:
    """Return the lowest squared frequencies (count, m) and mass-normalised shapes (count, n, m)."""
    low = np.linalg.cholesky(M)
    half = np.linalg.solve(low, K)
    turned = np.linalg.solve(low, half.swapaxes(1, 2))
    square, shapes = np.linalg.eigh((turned + turned.swapaxes(1, 2)) / 2)
    n = min(at_most, K.shape[1])
    return square[:, :n], np.linalg.solve(low.swapaxes(1, 2), shapes[:, :, :n])


def _losses(
    small: Reduced,
    inputs: Sequence[Input],
    drawn: Mapping[str, FloatArray],
    *,
    stiffness: Mapping[str, FloatArray],
    mass: Mapping[str, FloatArray],
    modes: tuple[FloatArray, FloatArray],
) -> FloatArray:
    """Return the loss factor of every mode in every sample by energy shares, shape (count, m)."""
    square, shapes = modes
    total = np.zeros_like(square)
    for one in inputs:
        for name in one.loss:
            loss = drawn[one.key][:, None]
            if name == SEAT:
                total += loss * (1.0 - _post_share(small, shapes) / square)
            elif name == RUBBING:
                total += loss * mass[name][:, None] * _share(small.mass[name], shapes)
            else:
                total += loss * stiffness[name][:, None] * _share(small.stiffness[name], shapes) / square
    return total


def _post_share(small: Reduced, shapes: FloatArray) -> FloatArray:
    """Return x^T K x of the springs of a post for every shape, (count, m); zero without one."""
    post = small.stiffness.get(CARRIER)
    return np.zeros(shapes.shape[::2]) if post is None else _share(post, shapes)


def _share(part: FloatArray, shapes: FloatArray) -> FloatArray:
    """Return x^T part x for every shape, (count, m)."""
    return np.asarray(np.einsum("snm,snm->sm", shapes, part @ shapes))
