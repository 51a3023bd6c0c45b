"""The words and the picture of a sweep: crossings, limits, labels, what is drawn where."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

import pytest
import setups
from matplotlib.figure import Figure
from PIL import Image

from stickout.cli.show.plots import sweep_contour, sweep_plot
from stickout.cli.sweeps.answer import sweep_text
from stickout.cli.sweeps.gathered import Gathered, gathered
from stickout.cli.sweeps.labels import column_label, key_label
from stickout.cli.sweeps.limits import FOUR_TO_ONE, Bound, crossings, limits_of, limits_that_count
from stickout.cli.sweeps.plan import plan_of
from stickout.cli.sweeps.table import columns
from stickout.cli.sweeps.values import axes_of, axis_of
from stickout.fem.errors import InputError
from stickout.fem.setup.file import parse_tables
from stickout.fem.sweep.case_row import Row


def made(*vary: str, text: str = setups.CUTTING, paired: bool = False, fails: Sequence[int] = ()) -> Gathered:
    """Return a sweep of simple laws: spring (L/50)^3, note 5e6/L^2, margin 2500/L^2, bands of a tenth."""
    plan = plan_of(parse_tables(text), axes_of(vary), paired=paired, cases=None, seed=1)
    rows: list[Row] = []
    for number in range(plan.count):
        case = plan.case(number).setup
        assert case is not None
        length, size = case.bar.overhang_mm, case.bar.diameter_mm or math.nan
        values = {
            "spring_um_per_10n": (length / 50) ** 3,
            "note_hz": 5e6 / length**2,
            "margin": 2500 / length**2,
        }
        row: Row = {"status": "done", "accurate": True, "overhang_over_size": length / size}
        for name, value in values.items():
            low, high = (f"{name}_low", f"{name}_high")
            if name != "margin":
                stem, unit = name.split("_", 1)
                low, high = f"{stem}_low_{unit}", f"{stem}_high_{unit}"
            row |= {name: value, low: 0.9 * value, high: 1.1 * value}
        if number in fails:
            row = {"status": "failed", "reason": "it broke"}
        rows.append({**dict(zip(plan.keys, plan.values(number), strict=True)), **row})
    return gathered(plan, rows, columns=columns(plan))


def answer(found: Gathered, *named: Bound) -> str:
    """Return the words of a sweep on one line."""
    text = sweep_text(found, limits_that_count(found, named), out=[Path("bars.csv")], plot=None)
    assert max(map(len, text.splitlines())) <= 100
    return " ".join(text.split())


def test_crossings_follow_a_power_law() -> None:
    """Exact for x^3 from two points; straight where a number is not positive; a gap breaks the curve."""
    assert crossings([40, 80], [40.0**3, 80.0**3], value=60.0**3) == [pytest.approx(60.0)]
    assert crossings([0, 10], [-1.0, 1.0], value=0.0) == [pytest.approx(5.0)]
    assert crossings([1, 2, 3], [1.0, math.nan, 3.0], value=2.0) == []
    assert crossings([3, 1, 2], [3.0, 1.0, 2.0], value=2.0) == [pytest.approx(2.0)]
    # y = x up to the middle, then 2 (x / 2)^p with p = ln(1/2) / ln(3/2).
    down = 2 * 0.75 ** (math.log(1.5) / math.log(0.5))
    assert crossings([1, 2, 3], [1.0, 2.0, 1.0], value=1.5) == pytest.approx([1.5, down])
    assert crossings([1, 2], [1.0, 1.0], value=1.0) == []


def test_the_answer_says_best_limits_and_table() -> None:
    """Margin 2500/L^2 reaches 1 at 50, by its band at 47 and 52; 4 times 16 mm is 64; spring 8 at 100."""
    text = answer(made("bar.overhang=40:120:10"), Bound("spring_um_per_10n", 8.0))
    for part in (
        "9 cases of varied bar overhang: all have an answer.",
        "Stiffest and farthest from chatter: bar overhang 40 mm: springs 0.51 µm (0.46 to 0.56)",
        "margin 1.6 (1.4 to 1.7)",
        "The margin of 1 is reached at bar overhang of about 50 mm (47 to 52 by its band).",
        "An overhang of 4 times the size is reached at bar overhang of about 64 mm.",
        "The spring under 10 N of 8 µm is reached at bar overhang of about 100 mm (97 to 104 by its band).",
        "Written to bars.csv: 9 rows",
        "not a promise",
    ):
        assert part in text, text


def test_what_is_out_of_reach_or_failed_is_said() -> None:
    """All above, all below, and the first case without an answer with its reason."""
    text = answer(made("bar.overhang=70:120:10", fails=[2]), Bound("note_hz", 10.0))
    assert "The margin of 1 is not reached: every case lies below it." in text
    assert "The note along the force of 10 Hz is not reached: every case lies above it." in text
    assert "6 cases of varied bar overhang: 5 have an answer, 1 none." in text
    assert "The first without one is case 3: it broke" in text


def test_curves_that_cross_alike_are_told_together() -> None:
    """One line for both metals; over two keys only how many cases have as much."""
    text = answer(made("bar.overhang=40:120:10", "bar.material=steel,brass"))
    assert text.count("overhang of 4 times the size is reached") == 1
    text = answer(made("bar.overhang=40:100:10", "bar.diameter=10:20:5"))
    assert "The margin of 1: 6 of 21 cases have as much or more." in text


def test_labels_are_words_with_units() -> None:
    """Millimetres and µm, or inches and thou: 25.4 µm are a thou by definition."""
    assert column_label("spring_um_per_10n", "mm").text == "spring under 10 N, µm"
    # Under 10 lbf it springs 4.448 times as far as under 10 N.
    assert column_label("spring_um_per_10n", "inch").value(25.4) == "4.45 thou"
    assert column_label("stiffness_n_per_um", "inch").value(1.0) == "5.71 lbf/thou"
    assert column_label("mode_3_hz", "mm").text == "mode 3, Hz"
    assert key_label(axis_of("grip.bed_n_per_um_mm2=1,2"), "mm").text == "grip bed, N/µm per mm²"
    assert key_label(axis_of("bar.overhang=1,2"), "inch").text == "bar overhang, in"
    assert key_label(axis_of("bar.rotation_deg=1,2"), "inch").value(45.0) == "45°"


@pytest.mark.parametrize(
    ("limit", "words"),
    [
        ("margin", "column=number"),
        ("margin=high", "column=number"),
        ("margin=nan", "column=number"),
        ("margins=1", "Did you mean 'margin'"),
        ("kind=1", "holds no numbers"),
    ],
)
def test_limits_that_are_refused(limit: str, words: str) -> None:
    """One InputError each; the nearest column is offered."""
    with pytest.raises(InputError, match=words):
        limits_of([limit], columns(made("bar.overhang=40,50").plan))


def drawn(found: Gathered, monkeypatch: pytest.MonkeyPatch, shown: Sequence[str], *named: Bound) -> Figure:
    """Return the figure of a sweep, saved and looked at as a file."""
    figures: list[Figure] = []
    for module in (sweep_plot, sweep_contour):
        save = module.save
        monkeypatch.setattr(
            module, "save", lambda one, path, save=save: (figures.append(one), save(one, path))
        )
    path = Path("picture.png")
    sweep_plot.draw_sweep(found, path, columns=shown, limits=limits_that_count(found, named))
    with Image.open(path) as picture:
        assert min(picture.size) > 400
    [figure] = figures
    return figure


def test_curves_have_their_band_the_rule_and_the_limit(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """The line has the numbers, 4 x 16 mm stands at 64, margin 1 lies across, a failed case is marked."""
    monkeypatch.chdir(tmp_path)
    found = made("bar.overhang=40:120:10", fails=[8])
    figure = drawn(found, monkeypatch, ["spring_um_per_10n", "margin"])
    spring, margin = figure.axes
    lines = {tuple(line.get_xdata()): line for line in spring.lines if len(line.get_xdata()) == 9}
    [curve] = lines.values()
    assert curve.get_ydata()[0] == pytest.approx(0.8**3)
    assert any(list(line.get_xdata()) == [64.0, 64.0] for line in spring.lines)
    assert any(list(line.get_ydata()) == [1.0, 1.0] for line in margin.lines)
    assert any(list(line.get_xdata()) == [120.0] and line.get_marker() == "x" for line in spring.lines)
    assert margin.get_xlabel() == "bar overhang, mm"
    assert "overhang 4 x size" in [text.get_text() for text in spring.texts]


def test_two_keys_make_a_field_with_its_lines(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Labels of both keys, the four-to-one rule from corner to corner, the limit named."""
    monkeypatch.chdir(tmp_path)
    found = made("bar.overhang=40:100:10", "bar.diameter=10:22.5:2.5", fails=[3])
    figure = drawn(found, monkeypatch, ["spring_um_per_10n"], Bound("spring_um_per_10n", 2.0))
    field = figure.axes[0]
    assert (field.get_xlabel(), field.get_ylabel()) == ("bar overhang, mm", "bar diameter, mm")
    names = [text.get_text() for text in figure.legends[0].get_texts()]
    assert names == ["no answer", "spring under 10 N 2 µm", "overhang 4 x size", "margin 1"]
    assert FOUR_TO_ONE in limits_that_count(found, [])


def test_words_are_dots(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """No key with numbers: a dot for each case, named below."""
    monkeypatch.chdir(tmp_path)
    figure = drawn(made("bar.material=steel,brass,lead"), monkeypatch, ["note_hz"])
    assert [text.get_text() for text in figure.axes[0].get_xticklabels()] == ["steel", "brass", "lead"]
