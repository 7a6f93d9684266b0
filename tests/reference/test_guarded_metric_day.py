"""A whole metric day under guarded rules: each budget worked out again from what its two files state.

The budgets come from the `uncertainties` package (law of propagation, derivatives by differences), k from
`scipy.stats`, humidity and dew point from the vapour pressures of Buck (1981); a simulation with a fixed seed
(JCGM 101) propagates the same statements as distributions, and asks no derivative. What the files do not state is
named here: the tolerance of the film, 2 µm, and the precision of a salt test, 8.2 mg/m² (`tables.toml`, `nace-sp0508`).
"""

import math

import numpy as np
import pytest
import yaml
from scipy import stats
from uncertainties import ufloat, wrap

from reportgen.loader import job_from_files
from reportgen.rules import evaluate
from tests.conftest import JOBS

FOLDER, DAY = JOBS / "tessowick", "2026-09-15.yaml"
FILM, PRECISION = 2.0, 8.2
TRIALS = 400_000
ABRASIVE = """\
  abrasive: {maximum_conductivity: 250 uS/cm, conductivity_precision: 12 uS/cm, decision_rule: guarded}
"""
CHECKED = """\
abrasive_checks:
  - {time: "07:32", abrasive: "garnet 20/40, lot R-77", conductivity: 241 uS/cm, instrument: k2}
"""
STATED = {
    "project.yaml": [
        ("accuracy: 5 um,", "accuracy: 5 um, uncertainty: 1.6 um, coverage_factor: 2, shim_accuracy: 1 um,"),
        ("interval: 4 h\n", "interval: 4 h\n    minimum_steel: 10 degC\n    decision_rule: guarded\n"),
        ("mixed salts by conductivity\n", "mixed salts by conductivity\n    decision_rule: guarded\n"),
        ("  dust:\n", f"{ABRASIVE}  dust:\n"),
    ],
    DAY: [
        ("wet_bulb: 12.5 degC", "wet_bulb: 12.8 degC"),
        ("sample: 11.0 uS/cm, ", "sample: 38.9 uS/cm, volume_error: 0.1 ml, area_error: 0.3 cm2, "),
        ("surfaces:\n", f"{CHECKED}\nsurfaces:\n"),
    ],
}  # fmt: skip
"""What the demonstration day states more here: a certificate, a shim, guarded rules, an abrasive near its limit."""


def _files():
    found = {}
    for name, changes in STATED.items():
        text = (FOLDER / name).read_text("utf-8")
        for old, new in changes:
            assert text.count(old) == 1, old
            text = text.replace(old, new)
        found[name] = text.encode()
    return found


@pytest.fixture(scope="module")
def evaluation():
    return evaluate(job_from_files(_files(), DAY))


@pytest.fixture(scope="module")
def told():
    """The files as plain values: project and day."""
    return [yaml.safe_load(text) for text in _files().values()]


def number(text):
    """Return the number of ``12.5 cm2``."""
    return float(str(text).split()[0])


def rectangular(half):
    return ufloat(0, half / math.sqrt(3))


def factor(freedom):
    """Coverage factor for 95 % by Student's t, of whole degrees of freedom."""
    return stats.t.ppf(0.975, math.inf if freedom is None else freedom)


def effective(standard, type_a, dof):
    """Welch-Satterthwaite with one component of finite degrees of freedom, rounded down."""
    return math.floor(standard**4 / (type_a**4 / dof))


def agrees(printed, expected, share=0.003):
    """Printed digits round; 3 in a thousand besides, for another formula of the vapour pressure."""
    digit = 10.0 ** printed.as_tuple().exponent
    assert float(printed) == pytest.approx(expected, abs=0.51 * digit + share * abs(expected))


def budget(results, quantity):
    (found,) = [one for result in results for one in result.budgets if one.quantity.key == quantity]
    return found


# Conditions, by psychrometer


def buck(celsius, exp=np.exp):
    return 6.1121 * exp((18.678 - celsius / 234.5) * celsius / (257.14 + celsius))


def dew(vapour):
    """Invert by bisection."""
    low, high = -40.0, 60.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if buck(middle, math.exp) < vapour else (low, middle)
    return low


def vapour(air, wet, pressure, exp=math.exp):
    """Psychrometer over water, WMO: 6.53e-4 (1 + 0.000944 t_w) for each kelvin apart."""
    return 1.0045 * buck(wet, exp) - 6.53e-4 * (1 + 0.000944 * wet) * pressure * (air - wet)


def read(told):
    """The reading with the least margin during work, and the errors of its instruments."""
    project, day = told
    one = day["conditions"][0]
    errors = {name: number(project["instruments"][name]["accuracy"]) for name in one["instruments"]}
    values = [number(one[name]) for name in ("air", "wet_bulb", "pressure", "steel")]
    return values, [errors["w1"], errors["w1"], errors["b2"], errors["t2"]]


CONDITIONS = {
    "dew-point-margin": lambda air, wet, pressure, steel: steel - dew(vapour(air, wet, pressure) / 1.0045),
    "dew-point": lambda air, wet, pressure, _: dew(vapour(air, wet, pressure) / 1.0045),
    "humidity": lambda air, wet, pressure, _: 100 * vapour(air, wet, pressure) / 1.0045 / buck(air, math.exp),
    "air-temperature": lambda air, *_: air,
    "steel-temperature": lambda *values: values[-1],
}


@pytest.mark.parametrize("quantity", CONDITIONS)
def test_conditions(told, evaluation, quantity):
    values, halves = read(told)
    inputs = [value + rectangular(half) for value, half in zip(values, halves, strict=True)]
    expected = wrap(CONDITIONS[quantity])(*inputs)
    found = budget(evaluation.conditions, quantity)
    agrees(found.standard_uncertainty, expected.std_dev)
    agrees(found.coverage_factor, factor(None))
    agrees(found.expanded_uncertainty, factor(None) * expected.std_dev)
    assert found.effective_degrees_of_freedom is None
    random = np.random.default_rng(13)
    drawn = [random.uniform(value - half, value + half, 40_000) for value, half in zip(values, halves, strict=True)]
    simulated = np.array([CONDITIONS[quantity](*one) for one in zip(*drawn, strict=True)])
    agrees(found.standard_uncertainty, simulated.std(), share=0.015)
    if quantity == "dew-point-margin":
        low, high = np.quantile(simulated, [0.025, 0.975])
        assert (high - low) / 2 < float(found.expanded_uncertainty) < 1.15 * (high - low) / 2
        (result, *_) = evaluation.conditions
        agrees(result.margin, expected.nominal_value, share=0.02)
        assert (result.margin > 3, result.verdict) == (True, "inconclusive"), "by less than U"


# Soluble salts and abrasive, by one meter


def meter(told, reading):
    """A share of what it shows."""
    return number(told[0]["instruments"]["k2"]["accuracy"]) / 100 * reading


def test_salts(told, evaluation):
    test = told[1]["surfaces"][0]["salts"][1]
    sample, blank, volume, area, of_volume, of_area = (
        number(test[name]) for name in ("sample", "blank", "volume", "area", "volume_error", "area_error")
    )
    halves = [meter(told, sample), meter(told, blank), of_volume, of_area]
    middles = [sample, blank, volume, area]
    at_sample, at_blank, water, patch = (
        value + rectangular(half) for value, half in zip(middles, halves, strict=True)
    )  # fmt: skip
    expected = 5 * water * (at_sample - at_blank) / patch + ufloat(0, PRECISION / factor(None))
    result = next(one for one in evaluation.salts if (one.area, one.location) == ("S-1", "4"))
    found = budget([result], "salt-density")
    agrees(result.density, expected.nominal_value)
    agrees(found.standard_uncertainty, expected.std_dev)
    agrees(found.expanded_uncertainty, factor(None) * expected.std_dev)
    assert found.effective_degrees_of_freedom is None
    assert result.verdict == "inconclusive"
    random = np.random.default_rng(13)
    drawn = [random.uniform(value - half, value + half, TRIALS) for value, half in zip(middles, halves, strict=True)]
    simulated = 5 * drawn[2] * (drawn[0] - drawn[1]) / drawn[3] + random.normal(0, PRECISION / 1.96, TRIALS)
    agrees(found.standard_uncertainty, simulated.std(), share=0.01)
    low, high = np.quantile(simulated, [0.025, 0.975])
    agrees(found.expanded_uncertainty, (high - low) / 2, share=0.01)


def test_abrasive(told, evaluation):
    shown = number(told[1]["abrasive_checks"][0]["conductivity"])
    precision = number(told[0]["specification"]["abrasive"]["conductivity_precision"])
    expected = shown + rectangular(meter(told, shown)) + ufloat(0, precision / factor(None))
    found = budget(evaluation.abrasive, "leachate-conductivity")
    agrees(found.standard_uncertainty, expected.std_dev)
    agrees(found.expanded_uncertainty, factor(None) * expected.std_dev)
    assert evaluation.abrasive[0].verdict == "inconclusive"


# Profile


def gauge(told):
    """What is common to all readings: limits of error, certificate, resolution, film, shim, and what that showed."""
    record = told[0]["instruments"]["g2"]
    shifted = max(abs(number(one["shim_reading"]) - number(one["shim"])) for one in told[1]["gauge_checks"])
    halves = [
        number(record["accuracy"]), number(record["resolution"]) / 2, FILM, shifted, number(record["shim_accuracy"]),
    ]  # fmt: skip
    certified = number(record["uncertainty"]) / number(record["coverage_factor"])
    return sum(map(rectangular, halves), ufloat(0, certified))


def spots(told):
    """Net profile of the spots by location."""
    found = {}
    for row in told[1]["surfaces"][0]["profile"]["readings"]:
        found.setdefault(str(row["location"]), []).append(row["xcoarse-4"] - 50)
    return found


def test_a_location(told, evaluation):
    net = spots(told)
    dof = sum(len(one) - 1 for one in net.values())
    scatter = math.sqrt(sum(np.var(one, ddof=1) * (len(one) - 1) for one in net.values()) / dof)
    standard = (gauge(told) + ufloat(0, scatter / math.sqrt(2))).std_dev
    freedom = effective(standard, scatter / math.sqrt(2), dof)
    area = evaluation.areas[0]
    agrees(area.locations[0].expanded_uncertainty, factor(freedom) * standard)
    agrees(area.locations[0].coverage_factor, factor(freedom))
    lines = area.location_budget
    agrees(lines[-1].value, scatter)
    assert lines[-1].degrees_of_freedom == dof
    assert math.sqrt(sum(float(line.standard_uncertainty) ** 2 for line in lines)) == pytest.approx(standard, rel=0.003)
    random = np.random.default_rng(13)
    halves = [5, 0.5, FILM, 1, 1]
    simulated = sum(random.uniform(-half, half, TRIALS) for half in halves) + random.normal(0, 0.8, TRIALS)
    simulated += scatter / math.sqrt(2) * random.standard_t(dof, TRIALS)
    low, high = np.quantile(simulated, [0.025, 0.975])
    expanded = float(area.locations[0].expanded_uncertainty)
    assert (high - low) / 2 * 0.97 < expanded < 1.1 * (high - low) / 2


def test_the_mean_of_an_area(told, evaluation):
    values = [sum(one) / len(one) for one in spots(told).values()]
    scatter = np.std(values, ddof=1)
    share = scatter / math.sqrt(len(values))
    standard = (gauge(told) + ufloat(0, share)).std_dev
    freedom = effective(standard, share, len(values) - 1)
    area = evaluation.areas[0]
    agrees(area.mean, np.mean(values))
    agrees(area.standard_deviation, scatter)
    agrees(area.coverage_factor, factor(freedom))
    assert area.effective_degrees_of_freedom == freedom
    agrees(area.expanded_uncertainty, factor(freedom) * standard)
