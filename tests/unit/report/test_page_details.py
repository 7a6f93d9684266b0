"""What single blocks say: page 1 for a reader of nothing else, checks, intervals, walk-outs, nonconformances."""

import re
from dataclasses import replace
from decimal import Decimal

import pytest

from reportgen.job import Instrument
from reportgen.job.day import WalkOut
from reportgen.job.template import Template
from reportgen.measurements.salts import codes as salts
from reportgen.pdf.pictures import Pictures
from reportgen.pdf.styles import BOLD, DENSE
from reportgen.pdf.tables import GroupedTable
from reportgen.pdf.textlines import text_width
from reportgen.report.area_facts import area_facts, area_meta
from reportgen.report.context import Context
from reportgen.report.document import render_report
from reportgen.report.equipment import equipment_section
from reportgen.report.slip import render_slip
from reportgen.results import Place, Word
from reportgen.results.codes.equipment import CALIBRATION, TAPE_UNCHECKED, Calibration, InstrumentNamed, TapeRollNamed
from reportgen.results.codes.follow_up import MISSING, Uncovered
from reportgen.results.codes.profile import BELOW_MINIMUM, ProfileJudged
from reportgen.results.codes.ranges import AtLeast
from reportgen.results.values import Chance, PlanMisses
from reportgen.units import Quantity
from reportgen.words.catalogue import catalogue
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


def of_day(**fields):
    job = sample.job(2, 3)
    return replace(job, day=job.day.model_copy(update=fields))


def test_remarks_of_the_day_have_a_label():
    assert " Remarks: Waterworks visited at 11:00." in " ".join(pages(of_day(remarks="Waterworks visited at 11:00.")))
    assert " No remarks." in " ".join(pages(of_day(remarks=None)))


def test_readings_of_the_conditions_have_a_column_of_places_only_where_one_says_its_place():
    whole = sample.evaluation(2, 3)
    without = replace(whole, conditions=tuple(replace(one, place=None) for one in whole.conditions))
    heads = [" time place air °C", " time air °C"]
    assert [head in " ".join(pages(evaluation=whole)) for head in heads] == [True, False]
    assert [head in " ".join(pages(evaluation=without)) for head in heads] == [False, True]


@pytest.mark.parametrize(
    ("language", "told"),
    [
        ("en", "before priming: steel at least 3 °C (5.4 °F) above the dew point; humidity at most 85 %; steel temp"),
        (
            "de",
            ": Stahl mindestens 3 °C (5,4 °F) über dem Taupunkt; Feuchte höchstens 85 %; Stahltemperatur mindestens",
        ),
    ],
)
def test_a_slip_says_under_which_conditions_to_prime_in_one_sentence(language, told):
    whole = sample.evaluation(2, 3)
    area = next(one.id for one in whole.areas if one.decision == "release")
    made = render_slip(sample.job(2, 3), whole, sample.ISSUE, Template(language=language), Pictures(), area)
    assert told in " ".join(texts(made))


@pytest.mark.parametrize(("language", "only"), [("en", "do not prime"), ("de", "nicht grundieren")])
@pytest.mark.parametrize("locations", [3, 200])
def test_a_slip_says_when_it_holds_before_its_locations_and_on_its_first_page(language, only, locations):
    whole, words = sample.evaluation(2, locations), catalogue(language)
    area = next(one.id for one in whole.areas if one.decision == "release")
    first, *rest = texts(
        render_slip(sample.job(2, locations), whole, sample.ISSUE, Template(language=language), Pictures(), area)
    )
    assert (locations > 100) == bool(rest)
    told = [only, words("slip.not")[:40], words("safety.first")[:30], words("slip.locations", unit="mil")]
    places = [" ".join([first, *rest]).find(one) for one in told]
    assert places[0] > 0
    assert places == sorted(places)
    assert places[2] < len(first)


def test_a_name_within_a_german_sentence_begins_as_german_writes_it():
    page = pages(template=Template(language="de"))
    assert "Auch beurteilt: Reinheit, Stichprobe, Klima, lösliche Salze, Staub" in page[0]
    assert " Lösliche Salze " in " ".join(page), "as a heading of its own"


def checks(*made):
    return replace(sample.evaluation(2, 3), checks=made)


def calibration(instrument, verdict):
    named = InstrumentNamed(instrument, Word("instrument-kind", "thickness gauge"), "TG-4410")
    return CALIBRATION.of(instrument, Calibration(named, "2026-06-03", "2026-06-02"), verdict)


def test_a_calibration_in_date_stands_beside_its_instrument_and_nowhere_else():
    whole = " ".join(pages(evaluation=checks(calibration("g1", "conforms"))))
    assert re.search(r"g1 thickness gauge not recorded TG-4410 .* 2027-01-20 in date", whole)
    assert "used 2026-06-03" not in whole
    assert "2027-01-20 in date; no check recorded" in whole
    assert "h1 hygrometer not recorded HY-12 ± 3 % 2026-02-02 no check recorded" in whole


@pytest.mark.parametrize(
    ("language", "unchecked", "unused"),
    [("en", "no check recorded", "not used"), ("de", "keine Kontrolle eingetragen", "nicht benutzt")],
)
def test_a_roll_with_readings_and_no_check_is_not_called_unused(language, unchecked, unused):
    job = sample.job(2, 3)
    rolls = job.project.tape_rolls
    spare = next(iter(rolls.values())).model_copy(update={"lot": "SPARE"})
    job = replace(job, project=job.project.model_copy(update={"tape_rolls": {**rolls, "z9": spare}}))
    whole = " ".join(pages(job, checks(), template=Template(language=language)))
    rows = {lot: whole.split(f" {lot} ")[-1][:60] for lot in ("SPARE", next(iter(rolls.values())).lot)}
    assert unused in rows.pop("SPARE")
    assert [row for row in rows.values() if unchecked not in row or unused in row] == []


@pytest.mark.parametrize(
    ("language", "told"),
    [
        ("en", "± (1 µm + 3 % of reading) U 2 % of reading (k = 2)"),
        ("de", "± (1 µm + 3 % vom Messwert) U 2 % vom Messwert (k = 2)"),
    ],
)
def test_an_error_is_printed_as_the_certificate_has_it(language, told):
    job = sample.job(2, 3)
    stated = {"accuracy": "1 um", "accuracy_of_reading": "3 %", "uncertainty_of_reading": "2 %", "coverage_factor": "2"}
    gauge = {"kind": "thickness gauge", "serial": "TG-4410", "unit": "um", **stated}
    tools = job.project.instruments | {"g1": Instrument.model_validate(gauge)}
    job = replace(job, project=job.project.model_copy(update={"instruments": tools}))
    whole = " ".join(pages(job, template=Template(language=language)))
    assert told in " ".join(whole.replace(";", "").split())


def test_a_calibration_out_of_date_or_of_an_unknown_instrument_is_also_a_check():
    made = (calibration("g1", "does not conform"), calibration("g1", "conforms"), calibration("z9", "conforms"))
    whole = " ".join(pages(evaluation=checks(*made)))
    assert whole.count("used 2026-06-03, calibration due") == 1


def test_people_who_were_present_are_listed_once():
    whole = " ".join(pages())
    assert "T. Orme, quality control, Lowfold Blastworks, present" in whole
    people = whole.split(" People, remarks, limits ")[1].split(" What this report")[0]
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
    assert "1 location, 3 required" in whole
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


def test_areas_of_which_the_same_is_found_stand_together():
    evaluation = sample.evaluation(3, 2)
    ids = [area.id for area in evaluation.areas]
    same = tuple(TAPE_UNCHECKED.found(TapeRollNamed("x1"), Place(area)) for area in ids)
    whole = " ".join(pages(sample.job(3, 2), replace(evaluation, findings=same)))
    assert f"{', '.join(ids)} x1 not checked" in whole


@pytest.mark.parametrize(("language", "told"), [("en", "profile below minimum"), ("de", "Rautiefe unter Minimum")])
def test_what_no_nonconformance_covers_is_named_in_words(language, told):
    evaluation = sample.evaluation(2, 3)
    missing = MISSING.found(Uncovered("profile-below-minimum"), Place(evaluation.areas[0].id))
    evaluation = replace(evaluation, findings=(*evaluation.findings, missing))
    whole = " ".join(pages(evaluation=evaluation, template=Template(language=language)))
    assert told in whole
    assert "profile-below-minimum" not in whole


def test_compact_areas_keep_where_and_with_what_they_were_blasted_and_end_without_a_separator():
    job = sample.job(5, 3)
    surface = job.day.surfaces[0]
    blasted = surface.blasted.model_copy(update={"pressure": Quantity(Decimal(690), "kPa"), "angle": None})
    first = job.project.structures[0]
    plan = first.model_copy(update={"place": "gate hall", "drawing": "MM-S-1"})
    job = replace(
        job,
        day=job.day.model_copy(
            update={"surfaces": [surface.model_copy(update={"blasted": blasted}), *job.day.surfaces[1:]]}
        ),
        project=job.project.model_copy(update={"structures": [plan, *job.project.structures[1:]]}),
    )
    context = Context(
        job, sample.evaluation(5, 3), sample.ISSUE, Template(), catalogue("en"), 500.0, 700.0, Pictures(), {}
    )
    area = context.evaluation.areas[0]
    [told] = area_meta(context, area, short=True)
    assert [part for part in ("at gate hall", "drawing MM-S-1", "690 kPa") if part not in told] == []
    assert all(run.text.strip() != "·" for fact in area_facts(context, area) for run in fact.running[-1:])


@pytest.mark.parametrize(("language", "told"), [("en", "see requirements"), ("de", "siehe Anforderungen")])
def test_reasons_that_page_1_has_no_room_for_are_referred_to_without_the_number_of_a_page(language, told):
    assert catalogue(language)("why.more", count=9).endswith(told)


def test_page_1_says_where_areas_and_actions_go_on():
    many = pages(sample.job(30, 3), sample.evaluation(30, 3))
    assert "continued on page 2" in many[0]
    assert "continued on page" not in pages(sample.job(1, 2), sample.evaluation(1, 2))[0]


def test_the_value_of_a_location_is_told_for_a_check_by_hand():
    whole = " ".join(pages(status="issue"))
    assert "take the mean of the spots as the value of the location, round it" in whole


def test_the_legend_of_the_shift_explains_only_letters_that_are_drawn():
    job = sample.job(2, 3)
    bare = [one.model_copy(update={"salts": [], "dust": []}) for one in job.day.surfaces]
    job = replace(job, day=job.day.model_copy(update={"surfaces": bare}))
    evaluation = replace(sample.evaluation(2, 3), salts=(), dust=())
    whole = " ".join(pages(job, evaluation))
    assert "end of the permitted time" in whole
    assert "s: soluble salts" not in whole


def test_the_heads_of_the_equipment_have_room_in_their_columns():
    for language in ("en", "de"):
        job = sample.job(2, 3)
        context = Context(
            job, sample.evaluation(2, 3), sample.ISSUE, Template(language=language), catalogue(language), 493.0, 700.0,
            Pictures(), {},
        )  # fmt: skip
        made = next(one for one in equipment_section(context) if isinstance(one, GroupedTable))
        assert [c.head for c in made.columns if text_width(c.head, BOLD, DENSE) > c.width - c.gap] == []
