"""The plan of a sweep: values, ranges, how they combine, and what is refused before anything is solved."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import pytest
import setups

from stickout.cli.sweeps.plan import Plan, plan_of
from stickout.cli.sweeps.values import axes_of, axis_of, kind_of
from stickout.fem.errors import InputError
from stickout.fem.setup.file import parse_tables
from stickout.fem.setup.keys import Kind
from stickout.fem.setup.setup_error import SetupError


def plan(*vary: str, text: str = setups.ROUND, paired: bool = False, cases: int | None = None) -> Plan:
    """Return the plan of some varied keys."""
    return plan_of(parse_tables(text), axes_of(vary), paired=paired, cases=cases, seed=1)


def texts(vary: str) -> list[str]:
    """Return the values of one varied key."""
    axis = axis_of(vary)
    return [axis.at(n) for n in range(axis.count)]


@pytest.mark.parametrize(
    ("vary", "expected"),
    [
        ("bar.overhang=40:60:10", ["40", "50", "60"]),
        ("bar.overhang=40:65:10", ["40", "50", "60"]),  # the step does not land on the end
        ("bar.overhang=60:40:-10", ["60", "50", "40"]),
        ("bar.overhang=40:40:5", ["40"]),
        ("bar.overhang=0.1:0.4:0.1", ["0.1", "0.2", "0.3", "0.4"]),  # 3 * 0.1 is not 0.3 in binary
        ("bar.overhang=-1:1:1", ["-1", "0", "1"]),
        ("bar.overhang=40 mm:50 mm:5 mm", ['"40 mm"', '"45 mm"', '"50 mm"']),
        ("bar.overhang=1 in:1 1/4 in:1/8 in", ['"25.4 mm"', '"28.575 mm"', '"31.75 mm"']),
        ('bar.overhang="40 mm:50 mm:10 mm"', ['"40 mm"', '"50 mm"']),
        ("bar.overhang=30,40:50:5,3/4 in", ["30", "40", "45", "50", "3/4 in"]),
        ("bar.material=steel,heavy tungsten", ["steel", "heavy tungsten"]),
        ('bar.material="a, b",steel', ['"a, b"', "steel"]),
        ("cut.speeds_rpm=[100,200],[300]", ["[100,200]", "[300]"]),
        ("grip.split=true,false", ["true", "false"]),
        ("grip.screws=1:3:1", ["1", "2", "3"]),
        ('materials."my tin".loss_factor=1e-3:2e-3:1e-3', ["0.001", "0.002"]),
    ],
)
def test_values_of_a_key(vary: str, expected: list[str]) -> None:
    """Both ends included, exact decimals, lists split where neither quotes nor brackets hold them."""
    assert texts(vary) == expected


def test_a_long_range_is_counted_and_not_made() -> None:
    """A thousand million values: the count is arithmetic, any of them is there at once."""
    axis = axis_of("bar.overhang=0:1000:0.000001")
    assert axis.count == 1_000_000_001
    assert axis.at(123_456_789) == "123.456789"


@pytest.mark.parametrize(
    ("key", "kind"),
    [
        ("bar.overhang", Kind.LENGTH),
        ("bar.steps.2.diameter", Kind.LENGTH),
        ("grip.pressed.1", Kind.LENGTH),
        ("cut.speeds_rpm", Kind.NUMBERS),
        ("cut.force_direction.3", Kind.NUMBER),
        ("grip.screws", Kind.COUNT),
        ('materials."my tin".density_kg_m3', Kind.NUMBER),
    ],
)
def test_what_a_key_takes(key: str, kind: Kind) -> None:
    """The table of keys in fem/setup/keys.py is the only word on it."""
    assert kind_of(key, key) is kind


def test_a_grid_has_every_pair_once_the_last_key_fastest() -> None:
    """Principle: the grid is the product of its lists, as itertools has it."""
    made = plan("bar.overhang=40:60:10", "bar.material=steel,carbide")
    pairs = list(product(["40", "50", "60"], ["steel", "carbide"]))
    assert [made.texts(n) for n in range(made.count)] == pairs
    setup = made.case(3).setup
    assert setup is not None
    assert (setup.bar.overhang_mm, setup.bar_material.name) == (50.0, "cemented carbide")
    assert made.values(3) == (50.0, "carbide")


def test_paired_goes_through_all_lists_at_once() -> None:
    """First with first, second with second."""
    made = plan("bar.overhang=40,50", "bar.gripped=30,20", paired=True)
    assert [made.values(n) for n in range(made.count)] == [(40.0, 30.0), (50.0, 20.0)]


def test_every_part_of_every_range_holds_one_case_of_a_hypercube() -> None:
    """Definition of the Latin hypercube (McKay et al. 1979; recalled): one case in each n-th part."""
    made = plan("bar.overhang=40:120", "bar.diameter=10 mm:20 mm", "bar.material=steel,brass", cases=20)
    columns = list(zip(*(made.values(n) for n in range(20)), strict=True))
    for column, low, high in ((columns[0], 40.0, 120.0), (columns[1], 10.0, 20.0)):
        parts = [int(20 * (float(one or 0) - low) / (high - low)) for one in column]
        assert sorted(parts) == list(range(20))
    assert sorted(columns[2]) == ["brass"] * 10 + ["steel"] * 10
    again = plan("bar.overhang=40:120", "bar.diameter=10 mm:20 mm", "bar.material=steel,brass", cases=20)
    assert [made.texts(n) for n in range(20)] == [again.texts(n) for n in range(20)]


def test_lengths_are_shown_in_the_units_of_the_set_up() -> None:
    """A length with a unit of its own is a number in the table; an inch has 25.4 mm by definition."""
    text = setups.ROUND.replace('"mm"', '"inch"').replace("16", "0.625").replace("80", "3").replace("60", "2")
    made = plan("bar.overhang=3,3 1/4 in,76.2 mm", text=text)
    assert [made.values(n)[0] for n in range(3)] == [3.0, 3.25, float(Fraction(762, 254))]


def test_steps_of_a_bar_are_counted_from_one() -> None:
    """``bar.steps.1.diameter`` is the first step's."""
    made = plan("bar.steps.1.diameter=10,11", text=setups.STEPPED)
    setups_made = [made.case(n).setup for n in range(2)]
    assert [one.bar.steps[0].diameter_mm for one in setups_made if one is not None] == [10.0, 11.0]


def test_a_case_at_fault_keeps_its_reason() -> None:
    """The others go on; the reason is what every command would say."""
    made = plan("bar.overhang=-5,80")
    assert made.case(0).setup is None
    assert "bar.overhang is -5" in (made.case(0).reason or "")
    assert made.case(1).setup is not None


def test_a_missing_key_may_be_given_by_the_values() -> None:
    """The file alone is at fault, the cases are not."""
    made = plan("bar.overhang=70,80", text=setups.changed(setups.ROUND, "overhang = 80\n", ""))
    assert [one.reason for one in made.cases(0, 2)] == [None, None]


def test_a_set_up_at_fault_whatever_is_varied_is_refused() -> None:
    """One message about the file, not a table of failed rows."""
    with pytest.raises(SetupError, match=r"bar\.diameter is -16"):
        plan("bar.overhang=70,80", text=setups.changed(setups.ROUND, "= 16", "= -16"))


@pytest.mark.parametrize(
    ("vary", "words"),
    [
        ((), ("missing", "bar.overhang=40:120:5")),
        (("bar.overhang",), ("form key=from:to:step",)),
        (("=1,2",), ("form",)),
        (("bar.overhang=",), ("value is missing",)),
        (("bar.overhang=1,,2",), ("value is missing",)),
        (("bar.overhang=1::2",), ("three numbers",)),
        (("bar.overhang=1:2:3:4",), ("three numbers",)),
        (("bar.overhang=40:120:0",), ("other than 0",)),
        (("bar.overhang=40:120:-5",), ("not empty", "turn its sign")),
        (("bar.overhang=120:40:5",), ("not empty", "40:120")),
        (("bar.overhang=40:inf:5",), ("two ends",)),
        (("bar.overhang=40 mm:120:5",), ("with its unit",)),
        (("bar.rotation_deg=a:b:c",), ("plain numbers",)),
        (("bar.overhang=40:120",), ("step", "--cases")),
        (("bar.overhang=40:60,80",), ("step in a list", "--cases")),
        (("bar.overhang=30,40:60",), ("step in a list",)),
        (("bar.overhand=40,50",), ("bar.overhand", "Did you mean 'bar.overhang'?")),
        (("title=a,b",), ("title",)),
        (("bar.steps.1.diameter=10,12",), ("list that has 0",)),
        (("bar.overhang=40,50", "bar.overhang=60"), ("another key",)),
    ],
)
def test_what_is_refused(vary: tuple[str, ...], words: tuple[str, ...]) -> None:
    """One InputError each, with what is allowed and how to mend it."""
    with pytest.raises(InputError) as caught:
        plan(*vary)
    assert [word for word in words if word not in str(caught.value)] == [], str(caught.value)


@pytest.mark.parametrize(
    ("vary", "paired", "cases", "words"),
    [
        (("bar.overhang=1,2", "bar.gripped=1,2,3"), True, None, "bar.overhang 2, bar.gripped 3"),
        (("bar.overhang=1:2",), True, 5, "without --cases"),
        (("bar.overhang=1:2",), False, 0, "from 1 on"),
        (("grip.screws=1:4",), False, 5, "1:4:1|with a step"),
    ],
)
def test_combinations_that_are_refused(
    vary: tuple[str, ...], paired: bool, cases: int | None, words: str
) -> None:
    """Lists that do not match, two ways at once, no cases, a whole number drawn from a range."""
    with pytest.raises(InputError, match=words):
        plan(*vary, paired=paired, cases=cases)


def test_what_tells_two_plans_apart() -> None:
    """The fingerprint changes with set-up, values and combination, and with nothing else."""
    base = plan("bar.overhang=40,50", "bar.gripped=30,20")
    same = plan("bar.overhang=40,50", "bar.gripped=30,20")
    others = [
        plan("bar.overhang=40,50", "bar.gripped=30,20", text=setups.changed(setups.ROUND, "= 16", "= 17")),
        plan("bar.overhang=40,50", "bar.gripped=30,21"),
        plan("bar.overhang=40,50", "bar.gripped=30,20", paired=True),
    ]
    assert base.record() == same.record()
    changed = [[key for key in base.record() if base.record()[key] != o.record()[key]] for o in others]
    assert changed == [["set-up"], ["--vary"], ["the way they combine"]]
