"""What single blocks say: page 1 for a reader of nothing else, checks, intervals, walk-outs, nonconformances."""

import re
from dataclasses import replace
from decimal import Decimal

import pytest

from reportgen.job.day import WalkOut
from reportgen.job.template import Template
from reportgen.measurements.salts import codes as salts
from reportgen.report.document import render_report
from reportgen.results import Place, Word
from reportgen.results.codes.equipment import CALIBRATION, TAPE_UNCHECKED, Calibration, InstrumentNamed, TapeRollNamed
from reportgen.results.codes.profile import BELOW_MINIMUM, ProfileJudged
from reportgen.results.codes.ranges import AtLeast
from reportgen.results.values import Chance, PlanMisses
from reportgen.words.numbers import typeset
from tests.golden import sample_evaluation as sample
from tests.golden.pages import texts


def pages(job=None, evaluation=None, template=None, **issue):
    rendered = render_report(
        job or sample.job(2, 3), evaluation or sample.evaluation(2, 3), replace(sample.ISSUE, **issue),
        template or Template(),
    )  # fmt: skip
    return texts(rendered)


def test_page_1_says_what_was_judged_by_which_rule():
    page = pages()[0]
    assert (
        "Judged by MM-31 Section 7, revision 1, clause 7.3: the profile of every location, 2.0–3.5 mil (51–89 µm), "
        "by ASTM D4417 Method C (2021); simple acceptance, no guard band; rounded to the limit's digit, half to even. "
        "Expanded uncertainty of one location 0.33 mil (about 95 %). Also judged: cleanliness, sampling, conditions, "
        "soluble salts, dust, compressed air, time to primer."
    ) in page


def checks(*made):
    return replace(sample.evaluation(2, 3), checks=made)


def calibration(instrument, verdict):
    named = InstrumentNamed(instrument, Word("instrument-kind", "thickness gauge"), "TG-4410")
    return CALIBRATION.of(instrument, Calibration(named, "2026-06-03", "2026-06-02"), verdict)


def test_a_calibration_in_date_stands_beside_its_instrument_and_nowhere_else():
    whole = " ".join(pages(evaluation=checks(calibration("g1", "conforms"))))
    assert re.search(r"g1 thickness gauge not recorded TG-4410 .* 2027-01-20 in date", whole)
    assert "used 2026-06-03" not in whole
    assert "h1 hygrometer not recorded HY-12 ± 3 % – 2026-02-02 not used, or no date" in whole


def test_a_calibration_out_of_date_or_of_an_unknown_instrument_is_also_a_check():
    made = (calibration("g1", "does not conform"), calibration("g1", "conforms"), calibration("z9", "conforms"))
    whole = " ".join(pages(evaluation=checks(*made)))
    assert whole.count("used 2026-06-03, calibration due") == 1


def test_people_who_were_present_are_listed_once():
    whole = " ".join(pages())
    assert "T. Orme quality control, present Lowfold Blastworks" in whole
    people = whole.split(" People ")[1].split(" Remarks, deviations")[0]
    assert people.count("T. Orme") == 1


def first_area(evaluation, **changes):
    return replace(evaluation, areas=(replace(evaluation.areas[0], **changes), *evaluation.areas[1:]))


def test_one_interval_of_the_mean_and_what_the_plan_can_miss():
    chances = (Chance(10, Decimal("0.73")), Chance(20, Decimal("0.51")), Chance(30, Decimal("0.34")))
    told = {"tolerance_interval": (Decimal("1.3"), Decimal("3.6")), "percent_within_limits": Decimal("94.0")}
    evaluation = first_area(sample.evaluation(2, 3), can_miss=PlanMisses(3, chances, 1066), **told)
    whole = " ".join(pages(evaluation=evaluation))
    assert "0.73 where 10 %, 0.51 where 20 %, 0.34 where 30 % of its locations do not conform." in whole
    assert not [text for text in ("tolerance interval", "confidence interval", "1.3 to 3.6", "94.0") if text in whole]
    assert "What U does not cover" in whole


def test_what_u_does_not_cover_names_a_meter_of_which_nothing_is_known():
    """Beside results with a U and without any of the profile, too."""
    gap = salts.U_WITHOUT.at(salts.ErrorsNotStated(("A-1", "A-2"), (Word("not-in-uncertainty", "meter"),)))
    said = "U of the salt tests of A-1, A-2 is without the error of the conductivity meter, of which nothing is known."
    plain = sample.evaluation(2, 3)
    bare = replace(plain, areas=tuple(replace(one, budget=(), location_budget=()) for one in plain.areas))
    for evaluation, others in ((plain, True), (bare, False)):
        whole = " ".join(pages(evaluation=replace(evaluation, not_evaluated=(gap,))))
        assert said in whole.split("What U does not cover", 1)[1]
        assert ("Another inspector: no figure" in whole) is others
    assert "What U does not cover" not in " ".join(pages(evaluation=bare))


def test_walk_outs_say_from_where_and_in_which_direction():
    job, evaluation = sample.job(2, 3), sample.evaluation(2, 3)
    locations = evaluation.areas[0].locations
    walked = (locations[0], *(replace(one, walk_out="1") for one in locations[1:]))
    evaluation = first_area(evaluation, locations=walked, n_locations=1, required_locations=3)
    walk = WalkOut.model_validate(
        {"failing": "1", "interval": "0.5 m", "directions": [{"towards": "up", "locations": ["2"]}]}
    )
    surface = job.day.surfaces[0]
    record = surface.profile.model_copy(update={"walk_outs": [walk]})
    surfaces = [surface.model_copy(update={"profile": record}), *job.day.surfaces[1:]]
    job = replace(job, day=job.day.model_copy(update={"surfaces": surfaces}))
    whole = " ".join(pages(job, evaluation))
    assert "from location 1, steps of 0.5 m: up 2" in whole
    assert "1 locations, 3 required" in whole
    assert "statistics are those of the locations of the sampling plan." in whole


def test_locations_are_counted_where_no_number_is_required():
    evaluation = first_area(sample.evaluation(2, 3), required_locations=None)
    assert "profile 3 locations ; mean" in " ".join(pages(evaluation=evaluation))


def test_a_nonconformance_names_its_findings_in_words():
    evaluation = sample.evaluation(2, 3)
    state = replace(
        evaluation.nonconformances[0], findings=("profile-below-minimum", "dew-point-margin"),
        original=(
            BELOW_MINIMUM.found(ProfileJudged(sample.mil("1.70"), AtLeast(sample.mil("2.0"))), Place(location="3")),
            TAPE_UNCHECKED.found(TapeRollNamed("c1 (new)")),
        ),
    )  # fmt: skip
    whole = " ".join(pages(evaluation=replace(evaluation, nonconformances=(state,))))
    earlier = replace(state, raised_in="MM-31-IR-006")
    carried = " ".join(pages(evaluation=replace(evaluation, nonconformances=(earlier,))))
    assert "location 3: 1.70 mil (profile below minimum); c1 (new) not checked (tape check missing)" in carried
    assert "raised in MM-31-IR-006" in carried
    assert "covers: profile below minimum, dew point margin" in whole
    assert "profile-below-minimum" not in whole


@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ("at least 3 degC, film 50 um, pre-set -2.0 mil", "at least 3 °C, film 50 µm, pre-set −2.0 mil"),
        ("2026-06-09, ISO 8503-5, CG-14-2, 5 (-1)", "2026-06-09, ISO 8503-5, CG-14-2, 5 (−1)"),
        ("5 degF, umbrella, 3 umpires", "5 °F, umbrella, 3 umpires"),
    ],
)
def test_units_and_signs_as_a_printer_sets_them(text, printed):
    assert typeset(text) == printed


def test_the_appendix_of_a_day_without_areas_says_so():
    template = Template(sections=[*Template().sections[:-1], "derivation", "integrity"])
    assert "No area was inspected." in " ".join(pages(sample.job(0), sample.evaluation(0), template))
