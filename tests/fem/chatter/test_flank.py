"""The flank's rubbing in the stability of a cut, against the records of tests/data/check_values_3.json."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from chatter_references import modes_only
from force_references import cut_matrix

from stickout.fem.chatter.depth import depth_scan
from stickout.fem.chatter.modal import FloatArray, ModalModel
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.force.nose import engaged_edge

RECORDS = {
    one["id"]: one
    for one in json.loads((Path(__file__).parents[2] / "data" / "check_values_3.json").read_text("utf-8"))
}
NOSES = [name for name in RECORDS if name.split(".")[1] in ("round", "flat", "turning", "mu")]
ONES = [name for name in RECORDS if name.startswith("v3.one.")]
DEPTHS = [name for name in RECORDS if name.startswith("v3.depth.")]


def nose_matrices(given: Mapping[str, Any]) -> tuple[FloatArray, FloatArray]:
    """Return A and the flank's damping, axes (p, c, f), from the record's integrals."""
    n, kt, kr, mu = given["nose"], given["Kt_pa"], given["Kr_pa"], given["mu"]
    rub = given["lam_star_m"] * kr / (2 * np.pi) / given["v_m_s"]
    rows = [[n["Bpp"], 0, n["Bpf"]], [n["Ip"], 0, n["If"]], [n["Bpf"], 0, n["Bff"]]]
    cut = np.array([[kr], [kt], [kr]]) * rows
    flank = rub * np.array([[1.0], [mu], [1.0]]) * rows
    return cut, flank


def viscous(frequency: FloatArray, phi: FloatArray, zeta: float) -> ModalModel:
    """Return the modes with viscous damping."""
    omega = 2 * np.pi * frequency
    return modes_only(omega, phi, eta=np.full(len(omega), 2 * zeta), viscous=True)


@pytest.mark.parametrize("name", NOSES)
def test_a_nose_with_rubbing_meets_scan_and_time_simulation(name: str) -> None:
    """Scan and time simulation of the delayed equation, both from outside (check_values_3.json)."""
    record = RECORDS[name]
    given = record["inputs"]
    modes = given["modes"]
    model = viscous(
        np.array([m["f_hz"] for m in modes]), np.array([m["phi_pcf"] for m in modes]), modes[0]["zeta"]
    )
    cut, flank = nose_matrices(given)
    found = float(absolute_limit(model, cut, flank=flank).margin)
    for route in ("frequency scan", "time simulation, worst phase"):
        assert found == pytest.approx(record["routes"][route], rel=record["tolerance"]["rel"])


@pytest.mark.parametrize("name", ONES)
def test_one_mode_with_rubbing_meets_the_closed_form(name: str) -> None:
    """2k z(1+z)/KrB with z = zeta + cB w/2k; Wu 1989 (recalled, not opened), values from outside."""
    record = RECORDS[name]
    given = record["inputs"]
    omega = 2 * np.pi * given["f_hz"]
    phi = np.array([[1.0, 0.0, 0.0]]) * omega / np.sqrt(given["k_n_per_m"])
    model = viscous(np.array([given["f_hz"]]), phi, given["zeta"])
    along = np.diag([1.0, 0.0, 0.0])
    flank = given["flank_damping_n_s_per_m"] * along
    found = float(absolute_limit(model, given["KrB_n_per_m"] * along, flank=flank).margin)
    assert found == pytest.approx(record["expected"], rel=record["tolerance"]["rel"])


@pytest.mark.parametrize("name", DEPTHS)
def test_the_depth_that_limits_with_rubbing(name: str) -> None:
    """Closed form in Kr Bff from outside; null where no depth sings."""
    record = RECORDS[name]
    given = record["inputs"]
    omega = 2 * np.pi * given["f_hz"]
    model = viscous(
        np.array([given["f_hz"]]), np.array([[0.0, 0.0, omega / np.sqrt(given["k"])]]), given["zeta"]
    )
    speed = given["wavelength_m"] * given["f_hz"]
    c = given["lam_star_m"] * given["Kr"] / (2 * np.pi) / speed

    def of_depth(tangential: float, thrust: float, depth: FloatArray) -> FloatArray:
        edge = engaged_edge(
            depth, given["feed_mm"] * 1e-3, nose_radius=given["nose_mm"] * 1e-3, edge_angle_deg=given["kappa"]
        )
        return cut_matrix(edge, tangential=tangential, thrust=thrust)

    scan = depth_scan(
        model,
        lambda depth: of_depth(given["Kt"], given["Kr"], depth),
        depths=np.geomspace(1e-6, 3e-3, 20),
        flank_of_depth=lambda depth: of_depth(0.3 * c, c, depth),
    )
    found = float(scan.limit[0])
    if record["expected"] is None:
        assert found == np.inf
    else:
        assert found == pytest.approx(record["expected"] * 1e-3, rel=record["tolerance"]["rel"])


def test_poles_and_the_rule_that_fails() -> None:
    """Adding wave* / wave to the dry margin gives 1.17 on this leaning bar; the truth is 0.179."""
    given = RECORDS["v3.flat.30.0.4"]["inputs"]
    modes = given["modes"]
    model = viscous(
        np.array([m["f_hz"] for m in modes]), np.array([m["phi_pcf"] for m in modes]), modes[0]["zeta"]
    )
    cut, flank = nose_matrices(given)
    assert float(absolute_limit(model, cut).margin) == pytest.approx(0.0745, rel=0.01)
    assert float(absolute_limit(model, cut, flank=flank).margin) == pytest.approx(0.1788, rel=0.01)
