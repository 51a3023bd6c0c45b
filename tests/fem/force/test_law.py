"""Force law, corrections, work materials, and the force on a nose."""

from __future__ import annotations

import re

import numpy as np
import pytest
from cut_cases import MM, N_PER_MM2, edge_of, ids
from force_references import apparent_coefficient, edge_form_force
from values import assert_close, check_value

from stickout.fem.force.edge_load import chord_force, local_chip, local_force
from stickout.fem.force.law import (
    CutForce,
    EdgeForm,
    ForceLaw,
    edge_form,
    force_law,
    minimum_chip,
    rake_factor,
    specific_force,
    tangent_coefficient,
)
from stickout.fem.force.nose import engaged_edge
from stickout.fem.setup.work_materials import WORK_MATERIALS, work_material
from stickout.meshes.errors import InputError

P2 = force_law(work_material("medium carbon steel"))


def law_of(kc11: float, mc: float) -> ForceLaw:
    """Return a law without corrections from N/mm^2."""
    return ForceLaw(kc11=kc11 * N_PER_MM2, mc=mc, thrust_ratio=0.4)


@pytest.mark.parametrize("record_id", ids(r"a\.kc\..*"))
def test_specific_force_of_the_table(record_id: str) -> None:
    """Published pairs [a.kc]: each stands in our table, and gives kc at the thickness of the record."""
    given = check_value(record_id).inputs
    pair = (given["kc1.1_N_mm2"], given["mc"])
    pairs = {(m.kc11_n_per_mm2, m.mc) for m in WORK_MATERIALS} | {m.second for m in WORK_MATERIALS}
    assert pair in pairs
    assert_close(record_id, float(specific_force(law_of(*pair), given["h_mm"] * MM)) / N_PER_MM2)


def test_table_covers_the_groups() -> None:
    """Issue 3 asks for 16 materials by ISO 513 group, each with band and source."""
    assert len(WORK_MATERIALS) >= 16
    assert {"P", "M", "K", "N", "S", "H"} == {m.group for m in WORK_MATERIALS} - {"-"}
    assert all(m.low < 1.0 < m.high and m.source for m in WORK_MATERIALS)
    names = [name.casefold() for m in WORK_MATERIALS for name in (m.name, *m.other_names)]
    assert len(names) == len(set(names))


def test_second_pair_lies_inside_the_band() -> None:
    """Two tables disagree [a.compare]: at a thin chip of 0.05 mm the band holds the other one."""
    for material in WORK_MATERIALS:
        if material.second is not None:
            ours = specific_force(law_of(material.kc11_n_per_mm2, material.mc), 0.05 * MM)
            other = specific_force(law_of(*material.second), 0.05 * MM)
            # The band is told to two digits, so its ends may miss by half of the last one.
            assert material.low - 0.005 <= float(other / ours) <= material.high + 0.005, material.name


@pytest.mark.parametrize(
    ("asked", "found"), [("c45", "medium carbon steel"), ("  Mild  STEEL ", "low carbon steel")]
)
def test_work_material_by_name(asked: str, found: str) -> None:
    """Capitals and spaces do not matter, other names lead to the entry."""
    assert work_material(asked).name == found


@pytest.mark.parametrize(
    ("asked", "offered"), [("mild stel", "low carbon steel"), ("alumnium", "wrought aluminium hardened")]
)
def test_unknown_work_material_offers_the_nearest(asked: str, offered: str) -> None:
    """The error names what was meant."""
    with pytest.raises(InputError) as caught:
        work_material(asked)
    assert caught.value.key == "work_material"
    assert caught.value.given == asked
    assert offered in caught.value.mend


def test_unknown_work_material_without_a_neighbour() -> None:
    """A name like no other offers no guess."""
    with pytest.raises(InputError, match="must be a name of the work material table"):
        work_material("xqzw")


def test_two_tables_for_one_steel() -> None:
    """Published pairs for C45 at 0.1 mm [a.compare]."""
    material = work_material("C45")
    assert material.second is not None
    assert_close("a.compare.C45.h0.1.VDI", float(specific_force(P2, 0.1 * MM)) / N_PER_MM2)
    assert_close(
        "a.compare.C45.h0.1.HB", float(specific_force(law_of(*material.second), 0.1 * MM)) / N_PER_MM2
    )


def test_straight_edge_example() -> None:
    """Worked example of a straight edge [a.straight]: thickness, coefficient, force, tangent, power."""
    given = check_value("a.straight.Fc").inputs
    edge = engaged_edge(
        given["ap_mm"] * MM, given["f_mm"] * MM, nose_radius=0.0, edge_angle_deg=given["kappa_r_deg"]
    )
    force = local_force(P2, edge)
    assert_close("a.straight.h", float(edge.mean_chip) / MM)
    assert_close("a.straight.kc", float(specific_force(P2, edge.mean_chip)) / N_PER_MM2)
    assert_close("a.straight.tangent", float(tangent_coefficient(P2, edge.mean_chip)) / N_PER_MM2)
    assert_close("a.straight.Fc", chord_force(P2, edge).c)
    # At 95 degrees the local thickness is that of the record along the whole edge.
    assert_close("a.straight.Fc", force.c)
    assert_close("a.straight.Pc", force.c * check_value("a.straight.Pc").inputs["vc_m_min"] / 60.0)


@pytest.mark.parametrize("record_id", ids(r"a\.rake\..*"))
def test_rake_factor(record_id: str) -> None:
    """Published rules for rake [a.rake]."""
    given = check_value(record_id).inputs
    assert_close(record_id, rake_factor(given["gamma_deg"], reference_deg=given["gamma0_deg"]))


def test_rake_and_wear_multiply() -> None:
    """12 degrees and a worn edge: 0.88 times 1.3 on the cutting force (rules of [a.rake], j.Kwear)."""
    corrected = force_law(work_material("C45"), rake_deg=12.0, wear=1.3)
    assert corrected.kc11 == pytest.approx(1500e6 * 0.88 * 1.3, rel=1e-12)  # exact products
    # The thrust falls several times as fast as the cutting force (Klocke, from memory): 4.5 % a degree.
    thrust = corrected.thrust_ratio * corrected.kc11 / (0.4 * 1500e6 * 1.3)
    assert thrust == pytest.approx(0.955**12, rel=1e-12)


@pytest.mark.parametrize(("key", "changes"), [("rake_deg", {"rake_deg": 50.0}), ("wear", {"wear": 0.0})])
def test_impossible_correction(key: str, changes: dict[str, float]) -> None:
    """A rake past 45 degrees and a factor of zero are refused."""
    with pytest.raises(InputError) as caught:
        force_law(work_material("C45"), **changes)
    assert caught.value.key == key


@pytest.mark.parametrize("record_id", ids(r"a\.tangent\.kienzle\..*"))
def test_tangent_of_the_power_law(record_id: str) -> None:
    """Closed form [a.tangent], and the slope of the force by differences."""
    h = check_value(record_id).inputs["h_mm"] * MM
    tangent = float(tangent_coefficient(P2, h))
    assert_close(record_id, tangent / N_PER_MM2)
    step = 1e-4 * h
    slope = float(specific_force(P2, h + step) * (h + step) - specific_force(P2, h - step) * (h - step))
    assert tangent == pytest.approx(slope / (2.0 * step), rel=1e-7)  # second-order difference over 1e-4


def test_passive_tangent_coefficient() -> None:
    """Thrust tangent at the mean chip of the nose case [c.nose.Kr_tan]."""
    given = check_value("c.nose.Kr_tan").inputs
    value = P2.thrust_ratio * float(tangent_coefficient(P2, given["hm_mm"] * MM))
    assert_close("c.nose.Kr_tan", value / N_PER_MM2)


@pytest.mark.parametrize("record_id", ids(r"a\.edge\.keff\..*"))
def test_apparent_coefficient(record_id: str) -> None:
    """Edge-force form [a.edge]."""
    given = check_value(record_id).inputs
    form = EdgeForm(cutting=given["Ktc_N_mm2"] * N_PER_MM2, edge=given["Kte_N_mm"] / MM)
    assert_close(record_id, apparent_coefficient(form, given["h_mm"] * MM) / N_PER_MM2)


def test_edge_form_meets_the_power_law() -> None:
    """Two-point line over 0.02 to 0.15 mm: 2081.54 N/mm^2 and 29.31 N/mm (computed apart)."""
    form = edge_form(P2)
    assert form.cutting / N_PER_MM2 == pytest.approx(2081.54, abs=0.005)  # half of the last printed digit
    assert_close("a.kienzle2linear.Kte", form.edge * MM)


@pytest.mark.parametrize("record_id", ids(r"a\.hmin\..*"))
def test_minimum_chip(record_id: str) -> None:
    """Published formula [a.hmin], and within the published spread [j.hmin_re]."""
    ratio = minimum_chip(1.0, friction=check_value(record_id).inputs["mu"])
    assert_close(record_id, ratio)
    assert_close("j.hmin_re", ratio)


@pytest.mark.parametrize("record_id", ids(r"a\.nose\.r.*\.(Fc\.hm|Fc\.local|FpFf|FpFf\.chord)"))
def test_force_on_a_nose(record_id: str) -> None:
    """Force of a nose cut by mean thickness, by local thickness, and both splits [a.nose]."""
    edge = edge_of(record_id)
    local, chord = local_force(P2, edge), chord_force(P2, edge)
    results = {
        "Fc.hm": chord.c,
        "Fc.local": local.c,
        "FpFf": local.p / local.f,
        "FpFf.chord": chord.p / chord.f,
    }
    match = re.fullmatch(r"a\.nose\.r[\d.]+\.ap[\d.]*\d\.(.*)", record_id)
    assert match is not None
    assert_close(record_id, results[match[1]])


@pytest.mark.parametrize("angle", [30.0, 75.0, 90.0])
@pytest.mark.parametrize("depth", [0.03, 0.1, 0.5, 1.5])
def test_local_thickness_fills_the_chip(angle: float, depth: float) -> None:
    """Principle: rays along the normal sweep the whole chip where the edge angle is 90 degrees or less.

    On an arc a ray of thickness h sweeps ``h - h^2 / 2r`` for each metre of edge.
    """
    edge = engaged_edge(depth * MM, 0.1 * MM, nose_radius=0.4 * MM, edge_angle_deg=angle)
    _, chip, length = local_chip(edge)
    arc = np.arange(chip.size) < 240
    swept = np.where(arc, chip - chip**2 / (2.0 * edge.nose_radius), chip)
    # At a kink between arc and line of the previous pass the Gauss rule is good to about 1e-4.
    assert float((swept * length).sum()) == pytest.approx(float(edge.area), rel=3e-4)


def test_share_of_the_components() -> None:
    """Trade ranges for sharp tools [j.Ff_Fc at 75 to 95 degrees, j.Fp_Fc.light below the nose radius]."""
    for angle in (75.0, 95.0):
        force = local_force(P2, engaged_edge(1.0 * MM, 0.15 * MM, nose_radius=0.0, edge_angle_deg=angle))
        assert_close("j.Ff_Fc", force.f / force.c)
    light = local_force(P2, engaged_edge(0.05 * MM, 0.05 * MM, nose_radius=0.4 * MM, edge_angle_deg=95.0))
    assert_close("j.Fp_Fc.light", light.p / light.c)


def test_passive_force_turns_round_past_90_degrees() -> None:
    """Principle: a straight edge past 90 degrees pulls the tool into the work."""
    force = local_force(P2, engaged_edge(1.0 * MM, 0.1 * MM, nose_radius=0.0, edge_angle_deg=100.0))
    assert force.p < 0.0 < force.f


def test_edge_form_on_a_nose() -> None:
    """Principle: total is area and length times their coefficients; thrust by the mean normal."""
    edge = engaged_edge(0.02 * MM, 0.05 * MM, nose_radius=0.8 * MM, edge_angle_deg=95.0)
    form = edge_form(P2)
    force = edge_form_force(form, edge=edge, thrust_ratio=0.4)
    assert force.c == pytest.approx(
        form.cutting * edge.area + form.edge * edge.length, rel=1e-12
    )  # definition
    phi = np.linspace(-float(edge.trailing_angle), float(edge.leading_angle), 20001)
    # Trapezium rule with 20000 steps: 1e-9.
    assert force.p / force.c == pytest.approx(0.4 * np.trapezoid(np.cos(phi), phi) / np.ptp(phi), rel=1e-8)
    assert force.f / force.c == pytest.approx(0.4 * np.trapezoid(np.sin(phi), phi) / np.ptp(phi), rel=1e-8)
    # The light cut's force per area by this form is above that of the thicker chip it was fitted to.
    assert isinstance(force, CutForce)
    assert force.c / float(edge.area) > form.cutting
