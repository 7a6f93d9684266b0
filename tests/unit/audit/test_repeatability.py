"""The repeatability that a contract may state, from what its reports showed."""

from fractions import Fraction

import pytest
import yaml

from reportgen.audit.repeatability import HEADS, repeatability


def rows(*groups):
    """Rows of the index: gauge, inspector, degrees of freedom and variance of each report, and the verdict on it."""
    return [
        ("C-1", gauge, inspector, "mil", f"C-1-{n:03d}", "2026-05-14", dof, variance, "0.1", verdict, f"20{30 + n}")
        for n, (gauge, inspector, dof, variance, verdict) in enumerate(groups, 1)
    ]


def told(*groups):
    return repeatability(rows(*groups))


def stated(below):
    """The block, read as the project file is."""
    start = below.index("    repeatability:")
    return yaml.safe_load("\n".join(below[start:]))["repeatability"]


def test_reports_are_pooled_by_gauge_and_inspector_and_over_both():
    """Variances 0.02 and 0.03 over 10 and 30: 0.0275, s = 0.166; with 40 more of 0.0225: 0.025, s = 0.158."""
    found = told(("G1", "Ann", 10, "1/50", "passed"), ("G1", "Ann", 30, "3/100", "passed"),
                 ("G2", "Bo", 40, "9/400", "passed"))  # fmt: skip
    assert found.heads == list(HEADS)
    assert [(*row[1:5], row[6]) for row in found.rows] == [("G1", "Ann", 2, 40, "0.166"), ("G2", "Bo", 1, 40, "0.150")]
    assert [row[-1] for row in found.rows] == ["2031", "2033"], "the first of several"
    assert found.rows[0][7:9] == ("0.136", "0.212")  # 0.1658 over the roots of 59.34/40 and 24.43/40
    assert "nothing speaks against one value" in "\n".join(found.below)
    assert stated(found.below) == {
        "value": "0.158 mil", "degrees_of_freedom": 80,
        "source": "3 verified reports, C-1-001 to C-1-003; 2 pairs of gauge and inspector",
    }  # fmt: skip


def test_where_scatter_differs_the_largest_is_stated():
    """Standard deviations 0.1 and 0.3 of 40 each: no chance."""
    found = told(("G1", "Ann", 40, "1/100", "passed"), ("G2", "Bo's", 40, "9/100", "passed"))
    assert "they differ, and none but the largest scatter can stand for all" in "\n".join(found.below)
    assert stated(found.below)["value"] == "0.300 mil"
    assert stated(found.below)["source"] == "1 verified report, C-1-002; G2, Bo's"


def test_reports_of_one_gauge_and_inspector_that_differ_are_not_pooled():
    """Standard deviations 0.1, 0.3 and 0.1 of 40 each: with 3 d.o.f. too many the pooled value would be 0.191 mil."""
    found = told(("G1", "Ann", 40, "1/100", "passed"), ("G1", "Ann", 40, "9/100", "passed"),
                 ("G1", "Ann", 40, "1/100", "passed"))  # fmt: skip
    ((*_, dof, chance, deviation, low, high, _, _, _),) = found.rows
    assert (dof, chance, deviation, low, high) == (120, "0.000", None, None, None)
    below = "\n".join(found.below)
    assert "C-1: G1, Ann: Bartlett's test of equal scatter: " in below
    assert "differ and are not pooled, from 0.300 mil in C-1-002 down to 0.100 mil in C-1-001" in below
    assert stated(found.below) == {
        "value": "0.300 mil", "degrees_of_freedom": 40, "source": "1 verified report, C-1-002; G1, Ann",
    }  # fmt: skip


def test_where_the_report_of_largest_scatter_is_too_short_nothing_is_stated():
    """Ann's reports differ; her largest has 5 degrees of freedom, and Bo's many do not make up for it."""
    found = told(("G1", "Ann", 40, "1/100", "passed"), ("G1", "Ann", 5, "1/4", "passed"),
                 ("G2", "Bo", 400, "1/100", "passed"))  # fmt: skip
    assert "5 degrees of freedom are too few" in "\n".join(found.below)
    assert "until then none but the largest scatter can stand for all" in found.below[1]
    assert "    repeatability:" not in found.below
    assert [row[6] for row in found.rows] == [None, "0.100"]


def test_a_single_pair_is_named_and_reports_are_counted_as_people_do():
    """Reports 1 to 12 without leading zeros: as text, 9 would be the last of them."""
    found = repeatability(
        [("C-1", "G1", "Ann", "mil", f"C-1-{n}", "2026-05-14", 10, "1/50", "0.1", "passed", None) for n in range(1, 13)]
    )
    assert stated(found.below)["source"] == "12 verified reports, C-1-1 to C-1-12; G1, Ann"
    assert "differ" not in "\n".join(found.below)


def test_locations_of_one_report_are_no_reports_of_their_own():
    """Two locations of 0.1 and 0.5 in one report: what spots of a report show is one scatter."""
    one, other, last = rows(("G1", "Ann", 20, "1/100", "passed"), ("G1", "Ann", 20, "1/4", "passed"),
                            ("G1", "Ann", 40, "13/100", "passed"))  # fmt: skip
    found = repeatability([one, (*other[:4], one[4], *other[5:]), last])
    assert [(row[3], row[5], row[6]) for row in found.rows] == [(2, "1.000", "0.361")]
    assert stated(found.below)["degrees_of_freedom"] == 80


def test_a_few_readings_that_read_alike_do_not_make_reports_differ():
    """To 0.1 mil two spots often read alike: a report without scatter differs from none by that."""
    found = told(("G1", "Ann", 1, "0", "passed"), ("G1", "Ann", 30, "1/100", "passed"))
    assert found.rows[0][6] == "0.098"


@pytest.mark.parametrize(("dof", "verdict", "why"), [
    (19, "passed", "19 degrees of freedom are too few"), (1, "passed", "1 degree of freedom is too few"),
    (400, "indeterminate", "no report passed"),
])  # fmt: skip
def test_too_little_or_unproven_states_nothing(dof, verdict, why):
    found = told(("G1", "Ann", dof, "1/50", verdict))
    assert why in "\n".join(found.below)
    assert "    repeatability:" not in found.below
    assert [row[-2:] for row in found.rows] == [(verdict, "2031")]


def test_gauges_of_two_units_are_pooled_in_that_of_most():
    mil, um = rows(("G1", "Ann", 30, "1/50", "passed"), ("G2", "Ann", 10, str(Fraction(1, 50) * 645), "passed"))
    found = repeatability([mil, (*um[:3], "um", *um[4:])])
    assert stated(found.below)["value"] == "0.141 mil"
