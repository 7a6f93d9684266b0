"""A day on which nearly everything is wrong: every finding, step, check and result of it, with all its fields."""

from decimal import Decimal

import pytest

from reportgen.measurements.abrasive import AbrasiveResult
from reportgen.measurements.air import AirResult
from reportgen.measurements.cleanliness import CleanlinessResult
from reportgen.measurements.cleanliness.codes import NOT_RECORDED
from reportgen.measurements.conditions import ConditionResult
from reportgen.measurements.dust import DustResult
from reportgen.measurements.salts import SaltResult
from reportgen.references import citation
from reportgen.results import Amount, CoatingTime, Place, Task
from reportgen.results.codes.coating import ToCoat
from reportgen.results.codes.follow_up import Uncovered
from reportgen.words.sentences import sentences
from tests.unit.rules.factory import evaluated, surface

SAID = sentences()
FAIL = "does not conform"
AIR = "no oil or water on the blotter in 1 min or more, before blasting and every 2 h"
ABRASIVE = "conductivity at most 250 µS/cm, no oil in the vial test, before blasting and every 12 h"
GOOD = "anvils clean, pre-set -2.0 mil, shim 3.0 mil read as 3.0 mil"
OFF = "anvils clean, pre-set -2.0 mil, shim 3.0 mil read as 3.3 mil"
OVERDUE = "used 2026-05-14, calibration due 2026-05-13"
SHIM = "pre-set (minus the film of 2.0 mil) and shim as they should be, within 0.2 mil"
TAPE = "rule for two tape grades: average"
SECOND = "a reading in the window needs a second, on coarse tape"
DUST = "quantity rating at most 2, size class at most 3"
LOG = "a reading before work begins and every 4 h"
MARGIN = "steel above the dew point by at least 3 °C"
VALID = "a calibration that is valid on the date of use"
UNUSED = "unused extra coarse tape 5 mil to 6 mil, film subtracted"
AGAIN = "the two grades disagree about the height: measure the spot again"
MIDDLE = "begin with extra coarse tape: its mid-range is nearest to the middle of the specified range, 2.8 mil"

LACKING = (
    "conditions: not every value has its uncertainty; not on record: accuracy for the air temperature, "
    "accuracy for the {}, accuracy for the steel temperature"
)

SPEC = {
    "specification.conditions": {
        "clause": "1.4", "dew_point_margin": "3 delta_degC", "maximum_humidity": "85 %", "interval": "4 h",
    },
    "specification.soluble_salts": {
        "clause": "1.5", "maximum": "50 mg/m2", "expressed_as": "mixed salts by conductivity", "tests": "2",
    },
    "specification.dust": {"clause": "1.6", "maximum_quantity": "2", "maximum_size": "3"},
    "specification.time_to_coat": {"clause": "1.7", "maximum": "6 h"},
    "specification.compressed_air": {"clause": "1.8", "minimum_duration": "1 min", "interval": "2 h"},
    "specification.abrasive": {
        "clause": "1.9", "maximum_conductivity": "250 uS/cm", "oil_free": "yes", "interval": "12 h",
    },
    "specification.sampling": {"clause": "1.3", "plan": "fixed", "locations": "3"},
    "instruments.g1.calibration_due": "2026-05-13",
    "tape_rolls.x1.expires": "2026-05-13",
}  # fmt: skip
DAY = {
    "conditions": [{"time": "06:45", "place": "span", "air": "20 degC", "humidity": "90 %", "steel": "12 degC"}],
    "air_checks": [{"time": "06:55", "apparatus": "pot 1", "duration": "2 min", "result": "oil"}],
    "abrasive_checks": [{"time": "06:50", "abrasive": "grit 1", "oil": "film"}],
    "tape_checks.0.thickness": "4.9 mil",
    "gauge_checks.1.shim_reading": "3.3 mil",
}
SALT = {"location": "1", "area": "12.5 cm2", "volume": "3 ml", "blank": "2.1 uS/cm", "sample": "80 uS/cm"}
SURFACES = [
    surface(
        cleanliness={"observed": "SSPC-SP 6", "staining": "6 %"}, coated="16:00", salts=[SALT],
        dust=[{"location": "1", "quantity": "3", "size": "1"}],
    ),
    surface(area="B", cleanliness=None, blasted={"start": "10:00", "end": "11:00", "abrasive": "grit 1"}),
]  # fmt: skip
READINGS = (
    "1 a x1 1.6; 1 b x1 1.6; 2 a x1 3.8; 2 b x1 3.7; 3 a x1 2.2; 3 b x1 3.0; 4 a x1 3.0",
    "1 a c1 2.8; 1 b x1 2.6; 1 b c1 1.4",
)

# code, area, location, clause, observed, requirement
FINDINGS = [
    ("second-reading-missing", "A", "1", "1.2", f"spot a: extra coarse 1.6 mil; {SECOND}", TAPE),
    ("second-reading-missing", "A", "1", "1.2", f"spot b: extra coarse 1.6 mil; {SECOND}", TAPE),
    ("second-reading-missing", "A", "3", "1.2", f"spot a: extra coarse 2.2 mil; {SECOND}", TAPE),
    ("spots-missing", "A", "4", "1.2", "1 spot", "2 spots per location"),
    ("outside-grade-range", "B", "1", "1.2", "spot a: coarse 2.8 mil; the coarse tape cannot show this height", TAPE),
    ("contradictory-readings", "B", "1", "1.2", f"spot b: extra coarse 2.6 mil, coarse 1.4 mil; {AGAIN}", TAPE),
    ("locations-missing", "B", None, "1.3", "1 location", "3: 3 locations per area"),
    ("dew-point-margin", "A", None, "1.4",
     "06:45, span: steel below the dew point by 6.3 °C while blasting and coating", MARGIN),
    ("dew-point-margin", "B", None, "1.4", "06:45, span: steel below the dew point by 6.3 °C while blasting", MARGIN),
    ("humidity-above-maximum", "A", None, "1.4", "06:45, span: relative humidity 90 % while blasting and coating",
     "relative humidity at most 85 %"),
    ("humidity-above-maximum", "B", None, "1.4", "06:45, span: relative humidity 90 % while blasting",
     "relative humidity at most 85 %"),
    ("conditions-interval", "B", None, "1.4", "blasting: no reading between 06:45 and 11:00", LOG),
    ("conditions-interval", "A", None, "1.4", "coating: no reading between 06:45 and 16:00", LOG),
    ("grade-not-met", "A", None, "1.1", "grade SSPC-SP 6", "grade SSPC-SP 10"),
    ("stain-above-limit", "A", None, "1.1", "staining 6 %", "staining of each unit area at most 5 %"),
    ("cleanliness-missing", "B", None, "1.1", "not recorded", "grade SSPC-SP 10"),
    ("salts-above-maximum", "A", "1", "1.5", "93.5 mg/m² ± 9.6 mg/m² mixed salts by conductivity",
     "at most 50 mg/m² mixed salts by conductivity"),
    ("salts-missing", "A", None, "1.5", "1 test", "2 tests of mixed salts by conductivity"),
    ("salts-missing", "B", None, "1.5", "no test", "2 tests of mixed salts by conductivity"),
    ("dust-above-maximum", "A", "1", "1.6", "quantity 3, size class 1", DUST),
    ("dust-missing", "B", None, "1.6", "no test", DUST),
    ("time-to-coat-exceeded", "A", None, "1.7", "7.00 h, coated 16:00", "at most 6 h"),
    ("coating-overdue", "B", None, "1.7", "not primed by 17:00", "at most 6 h from the end of blasting"),
    ("gauge-drift", None, None, None, "g1 moved by 0.30 mil between 06:30 and 17:00",
     "at most 0.2 mil between two checks"),
    ("gauge-check-failed", "A", None, None, f"g1 at 17:00: {OFF}; in doubt: location 1, 2, 3, 4", SHIM),
    ("gauge-check-failed", "B", None, None, f"g1 at 17:00: {OFF}; in doubt: location 1", SHIM),
    ("tape-expired", "A", None, None, "roll x1, lot 2: used 2026-05-14, expired 2026-05-13",
     "tape that is valid on the date of the reading"),
    ("tape-expired", "B", None, None, "roll x1, lot 2: used 2026-05-14, expired 2026-05-13",
     "tape that is valid on the date of the reading"),
    ("tape-check-outside-range", "A", None, None, "roll x1 at 06:35: 4.9 mil", UNUSED),
    ("tape-check-outside-range", "B", None, None, "roll x1 at 06:35: 4.9 mil", UNUSED),
    ("air-not-clean", "A", None, "1.8", "pot 1 at 06:55: oil", AIR),
    ("air-check-missing", "A", None, "1.8", "pot 1: no check between 06:55 and 09:00", AIR),
    ("air-not-clean", "B", None, "1.8", "pot 1 at 06:55: oil", AIR),
    ("air-check-missing", "B", None, "1.8", "pot 1: no check between 06:55 and 11:00", AIR),
    ("abrasive-not-clean", "A", None, "1.9", "06:50: oil: film", ABRASIVE),
    ("abrasive-check-missing", "A", None, "1.9", "conductivity of grit 1: no check before 07:00", ABRASIVE),
    ("abrasive-not-clean", "B", None, "1.9", "06:50: oil: film", ABRASIVE),
    ("abrasive-check-missing", "B", None, "1.9", "conductivity of grit 1: no check before 10:00", ABRASIVE),
    ("calibration-overdue", "A", None, None, f"g1 (thickness gauge 1): {OVERDUE}", VALID),
    ("calibration-overdue", "B", None, None, f"g1 (thickness gauge 1): {OVERDUE}", VALID),
    ("coated-without-release", "A", None, None, "coated 16:00", "release before the primer"),
]  # fmt: skip

# area, what, reason, number of locations or tests
STEPS = [
    ("A", "a reading on coarse tape at location 1, spot a", SECOND, None),
    ("A", "a reading on coarse tape at location 1, spot b", SECOND, None),
    ("A", "a reading on coarse tape at location 3, spot a", SECOND, None),
    ("A", "1 more spot at location 4", "the method requires them", None),
    ("B", "a reading on extra coarse tape at location 1, spot a", "the coarse tape cannot show this height", None),
    ("B", "location 1, spot b again", AGAIN, None),
    ("B", "2 more locations", f"3 locations per area; {MIDDLE}", 2),
    ("B", "the grade of cleanliness", "not recorded", None),
    ("A", "1 salt test", "2 tests of mixed salts by conductivity", 1),
    ("B", "2 salt tests", "2 tests of mixed salts by conductivity", 2),
    ("B", "a dust-tape test", DUST, 1),
    ("B", "prepare the surface again and inspect it", "not primed by 17:00", None),
    ("A", "blotter test of pot 1", AIR, None),
    ("B", "blotter test of pot 1", AIR, None),
    ("A", "abrasive: conductivity of grit 1: no check before 07:00", ABRASIVE, None),
    ("B", "abrasive: conductivity of grit 1: no check before 10:00", ABRASIVE, None),
]

AVERAGE = (
    "average: a reading in the overlap of the two grades calls for a second on the other grade; both in it: their mean "
    "counts; one outside: that one counts"
)
SIMPLE = "simple: a value within the limits conforms; a value at the limit has a risk of up to 50 %"
TO_EVEN = "rounded to the last digit of the limit, an exact half to the even digit"

# topic, rule, the contract's clause, key of the published source (None: the contract itself)
BUDGET = (
    "gauge, calibration, resolution and film are common to all readings; one spot is never surer than two: where each "
    "location has one, the scatter of the locations stands for that of spots"
)
FLAT = (
    "t distribution about the measured value, within the limits as stated, which no rounding extends; every profile is"
    " held to be as likely as any other beforehand (a flat prior)"
)

RULES = [
    ("profile", "2.0 to 3.5 mil, ASTM D4417 Method C, edition 2021", "1.2", None),
    ("location-value", "mean of 2 spots per location", "1.2", "astm-d4417-c"),
    ("method", "mean of 2 in edition 2021; the contract governs", "1.2", "astm-d4417-c"),
    ("two-tape-grades", AVERAGE, "1.2", "tape-overlap-rule"),
    ("ranges-of-the-tape-grades", "used in the unit of the gauge", None, "tape-grades"),
    ("film", "2.0 mil or 50 µm, taken off in the unit of the gauge", None, "replica-film"),
    ("decision-rule", SIMPLE, "1.2", "ilac-g8"),
    ("rounding", TO_EVEN, "1.2", "astm-e29"),
    ("area", "every location must conform; the mean does not decide", None, "sspc-pa-17-decision"),
    ("cleanliness", "grade SSPC-SP 10, staining at most 5 %", "1.1", None),
    ("sampling", "fixed", "1.3", None),
    ("salts", "at most 50 mg/m², mixed salts by conductivity", "1.5", None),
    ("dust", DUST, "1.6", None),
    ("time-to-coat", "at most 6 h", "1.7", None),
    ("dew-point", "Magnus form over water", None, "wmo-8-annex-4b"),
    ("dew-point-margin", "steel at least 3 °C above the dew point, judged in this unit", "1.4", "dew-point-margin"),
    (
        "salt-density",
        (
            "5 kg/(m²·S), 4.7 for sodium chloride, or the contract's factor, times volume times rise of conductivity"
            " over area"
        ),
        None,
        "iso-8502-9",
    ),
    ("uncertainty", "root sum of squares, effective degrees of freedom, factor from t", None, "jcgm-100"),
    ("budget", BUDGET, None, "gauge-budget"),
    ("probability-of-conformity", FLAT, None, "jcgm-106"),
    ("outliers", "two-sided at 5 %, from 6 locations on, beyond the gauge's resolution; never removed", None, "grubbs"),
]

# kind, what was checked, time, verdict, observed, required
CHECKS = [
    ("gauge", "g1", "06:30", "conforms", GOOD, SHIM),
    ("gauge", "g1", "17:00", FAIL, OFF, SHIM),
    ("tape", "x1", "06:35", FAIL, "4.9 mil", UNUSED),
    ("calibration", "g1 (thickness gauge 1)", None, FAIL, OVERDUE, VALID),
]  # fmt: skip


def _checks(evaluation):
    return [
        (one.kind, SAID.check_of(one), one.time, one.verdict, SAID.checked(one), SAID.check_required(one))
        for one in evaluation.checks
    ]


@pytest.fixture
def evaluation():
    return evaluated(*READINGS, spec=SPEC, day=DAY, surfaces=SURFACES)


def test_every_finding_says_where_what_and_by_which_clause(evaluation):
    found = [
        (one.code, one.area, one.location, one.clause, SAID.observed(one), SAID.required(one))
        for one in evaluation.findings
        if one.code != "nonconformance-missing"
    ]
    assert found == FINDINGS


def test_every_deviation_asks_for_a_nonconformance_once_an_area(evaluation):
    deviations = [one for one in evaluation.findings if one.severity == "nonconformance"]
    asked = [(one.area, one.facts) for one in evaluation.findings if one.code == "nonconformance-missing"]
    assert asked == [(one.area, Uncovered(one.code)) for one in deviations]
    assert len(asked) == 21


def test_everything_to_do_says_where_and_why(evaluation):
    found = [(one.area, SAID.task(one), SAID.because(one), one.count) for one in evaluation.measure_next]
    assert found == STEPS


def test_every_rule_is_named_with_clause_and_source(evaluation):
    assert [(one.topic, SAID.text(one.rule), one.clause) for one in evaluation.rules] == [rule[:3] for rule in RULES]
    for one, (_, _, _, key) in zip(evaluation.rules, RULES, strict=True):
        assert one.source.startswith("T-1 Part 1" if key is None else citation(key).title)
        assert one.confidence == (None if key is None else citation(key).remark or None)


@pytest.mark.parametrize(
    ("field", "value", "rule"),
    [
        ("decision_rule", "guarded",
         "guarded: a value inside the limits by at least U conforms; within them but nearer, it is measured again"),
        ("decision_rule", "banded",
         "banded: within the expanded uncertainty U of a limit, on either side, the verdict is inconclusive"),
        ("rounding", "half-up", "rounded to the last digit of the limit, an exact half up"),
        ("rounding", "none", "none: the unrounded value is compared (absolute method)"),
        ("overlap_rule", "non-averaging",
         "non-averaging: one grade alone counts: coarse below the changeover, extra coarse from there on"),
        ("overlap_rule", "single-grade", "single-grade: one grade is enough wherever its range holds the reading"),
        ("location_value", "maximum", "maximum of 2 spots per location"),
    ],
)  # fmt: skip
def test_the_contracts_choice_is_said_in_words(field, value, rule):
    assert rule in [SAID.text(one.rule) for one in evaluated(spec={f"specification.profile.{field}": value}).rules]


def test_every_check_is_shown_whole(evaluation):
    assert _checks(evaluation) == CHECKS
    assert evaluation.air == (AirResult("pot 1", "06:55", "oil", Decimal(2), "min", FAIL),)
    assert evaluation.abrasive == (AbrasiveResult("grit 1", "06:50", "film", None, None, None, FAIL),)


def test_every_result_is_shown_whole(evaluation):
    """12.0 mg/m² are 10 µS/cm here, so 77.9 µS/cm are 93.48; the dew point at 20 °C and 90 % is 18.3 °C."""
    expected = SaltResult(
        "A", "1", Decimal("93.5"), FAIL, "mixed salts by conductivity", expanded_uncertainty=Decimal("9.6"),
        coverage_factor=Decimal("1.96"), probability_of_conformity=Decimal("0.0000"),
        budgets=evaluation.salts[0].budgets,
    )  # fmt: skip
    assert evaluation.salts == (expected,)
    assert [budget.quantity.key for budget in evaluation.salts[0].budgets] == ["salt-density"]
    assert evaluation.dust == (DustResult("A", "1", 3, 1, FAIL),)
    assert evaluation.cleanliness == (
        CleanlinessResult("A", "SSPC-SP 10", "SSPC-SP 6", Decimal(6), Decimal(5), FAIL, None),
        CleanlinessResult("B", "SSPC-SP 10", None, None, Decimal(5), "inconclusive", NOT_RECORDED),
    )
    assert evaluation.coating_times == (
        CoatingTime("A", Decimal("7.00"), Decimal("6.00"), FAIL),
        CoatingTime("B", None, Decimal("6.00"), "inconclusive"),
    )
    assert evaluation.conditions == (
        ConditionResult(
            time="06:45", place="span", humidity=Decimal(90), dew_point=Decimal("18.3"), margin=Decimal("-6.3"),
            verdict=FAIL, air=Decimal("20.0"), steel=Decimal("12.0"), margin_unit="delta_degC",
            during=("blasting A", "blasting B", "coating A"),
        ),
    )  # fmt: skip


def test_a_day_of_omissions():
    """No check of the tape, a certificate that has expired, a wet bulb that cannot be, two logs at one time."""
    dry = {"time": "06:40", "air": "20 degC", "humidity": "60 %", "steel": "18 degC"}
    wet = {"time": "06:45", "air": "20 degC", "wet_bulb": "1 degC", "pressure": "1013 hPa", "steel": "18 degC"}
    log = [dry | {"place": "span"}, dry | {"place": "shed"}, wet | {"place": "span"}]
    spec = {
        "specification.conditions": {"clause": "1.4", "maximum_humidity": "85 %", "psychrometer": "ams"},
        "people.ann.certificate": "L2", "people.ann.certificate_expires": "2026-05-13",
    }  # fmt: skip
    seen = surface(profile__comparator=[{"location": "1", "grade": "medium"}])
    day = evaluated(spec=spec, day={"conditions": log, "tape_checks": []}, surfaces=[seen])
    impossible = "no air of 20 °C at 1013 hPa can have a wet bulb of 1 °C"
    missing = "unused tape of x1 measured in the shift"
    found = [
        (one.code, one.area, one.location, one.clause, SAID.observed(one), SAID.required(one)) for one in day.findings
    ]
    assert found[:-1] == [
        (
            "comparator-grade-noted",
            "A",
            "1",
            None,
            "comparator shows medium",
            "readings of a gauge; the contract asks for no comparator",
        ),
        ("conditions-outside-range", "A", None, None, f"06:45, span: {impossible}", "range of the formula"),
        ("tape-check-missing", "A", None, None, "x1 not checked", missing),
        ("certificate-expired", None, None, None, "A. Inspector: L2, expires 2026-05-13", "valid on 2026-05-14"),
    ]
    assert [(one.area, SAID.task(one), SAID.because(one), one.count) for one in day.measure_next] == [
        ("A", "unused tape of roll x1", "good practice", None),
    ]
    assert _checks(day)[2:] == [
        ("calibration", "g1 (thickness gauge 1)", None, "conforms", "used 2026-05-14, calibration due 2027-01-01",
         VALID),
        ("certificate", "A. Inspector", None, FAIL, "L2, expires 2026-05-13", "valid on 2026-05-14"),
    ]  # fmt: skip
    assert tuple(map(SAID.left_out, day.not_evaluated)) == (
        f"conditions at 06:45: {impossible}", LACKING.format("relative humidity"),
        "soluble salts: the contract states no limit",
        "dust: the contract states no limit", "time to coat: the contract states no limit", SHIM,
        "compressed air: the contract states no test", "abrasive: the contract states no limits",
    )  # fmt: skip
    (rule,) = [one for one in day.rules if one.topic == "humidity-from-wet-bulb"]
    assert (SAID.text(rule.rule), rule.source) == ("AMS psychrometer coefficient", citation("ams-psychrometer").title)


SHIM = "U of the profile read with g1 is without the error of the shim it was checked on, of which nothing is on record"
WITHOUT = (
    "U of the salt tests of A is without the error of the conductivity meter and the volume of water and the area"
    " of the patch, of which nothing is known"
)


def test_the_report_is_named_and_only_what_the_contract_leaves_open_is_left_out(evaluation):
    assert (evaluation.report.number, evaluation.report.revision, evaluation.report.date) == ("R-1", 0, "2026-05-14")
    assert [SAID.left_out(one) for one in evaluation.not_evaluated] == [
        LACKING.format("relative humidity"),
        WITHOUT,
        SHIM,
        "certificate of A. Inspector: none is stated",
    ]  # fmt: skip


def test_an_area_that_may_be_coated_says_until_when_and_why():
    (step,) = evaluated(spec={"specification.time_to_coat": {"maximum": "10 h"}}).measure_next
    assert step == Task("coat-by", Place("A"), ToCoat("19:00", Amount(Decimal(10), "h")))
