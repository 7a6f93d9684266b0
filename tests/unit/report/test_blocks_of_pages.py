"""Pages of jobs that state everything, or the less usual things, that a project and a day file can state."""

import io
import re
from dataclasses import replace
from decimal import Decimal

import pytest
from PIL import Image

from reportgen.job import Day, Project, SourceFile
from reportgen.job.template import Template
from reportgen.measurements.cleanliness import CleanlinessResult
from reportgen.measurements.cleanliness.codes import NOT_RECORDED
from reportgen.measurements.dust import DustResult
from reportgen.measurements.salts import SaltResult
from reportgen.report.document import render_report
from reportgen.report.verdicts import headline
from reportgen.results import CoatingTime, Place
from reportgen.results.codes.profile import NOT_MEASURED
from reportgen.results.facts import NOTHING
from reportgen.words.catalogue import catalogue
from tests.golden import sample_evaluation as sample
from tests.golden.pages import texts

D = Decimal


def project_of(job, **changes):
    """The sample project with some blocks of its file replaced; ``specification`` is merged."""
    structures = [{"id": "trough", "name": "Trough", "areas": [
        {"id": "TR-1", "name": "north face", "size": "24 m2", "weld_length": "12 m", "drawing": "MM-31-S-09"},
        {"id": "TR-900", "name": "outlet chamber"},
    ]}]  # fmt: skip
    plain = sample.PROJECT | {"structures": structures} | changes
    plain["specification"] = sample.PROJECT["specification"] | changes.get("specification", {})
    return replace(job, project=Project.model_validate(plain))


def page_texts(job, evaluation=None, template=sample.TEMPLATE):
    rendered = render_report(job, evaluation or sample.evaluation(1, 3), sample.ISSUE, template)
    return " ".join(texts(rendered))


def test_every_requirement_is_printed_with_clause_limit_and_rule():
    job = project_of(
        sample.job(1, 3),
        specification={
            "surface_preparation": {"grade": "SSPC-SP 10", "edition": "2015", "maximum_staining": "5 %"},
            "sampling": {"plan": "area-rate", "locations": "3", "first_area": "100 m2", "further_area": "100 m2",
                         "further_locations": "1"},
            "conditions": {"dew_point_margin": "5 delta_degF", "maximum_steel": "50 degC", "minimum_air": "41 degF"},
            "abrasive": {"clause": "7.8", "oil_free": "yes", "maximum_conductivity": "250 uS/cm",
                         "conductivity_method": "ISO 11127-6"},
            "dust": {"maximum_quantity": "2"},
        },
    )  # fmt: skip
    whole = page_texts(job)
    assert "SSPC-SP 10, 2015, stain at most 5 %" in whole
    assert "3 locations for the first 100 m², 1 for each further 100 m² or part of it" in whole
    assert "steel at least 5 °F (2.8 °C) above the dew point" in whole
    assert "Air temperature at least 41 °F (5 °C)" in whole
    assert "conductivity at most 250 µS/cm by ISO 11127-6, no oil in the vial test · 7.8" in whole
    assert "nothing recorded" in whole


def test_a_project_with_the_fewest_requirements():
    plain = {name: sample.PROJECT["specification"][name] for name in ("document", "surface_preparation", "sampling")}
    profile = {
        "comparator_grade": "medium G", "method": "ISO 8503-2", "edition": "2012", "readings_per_location": "1",
        "decision_rule": "simple", "rounding": "none",
    }  # fmt: skip
    job = sample.job(1, 3)
    structures = [{"id": "t", "name": "T", "areas": [{"id": "TR-1", "name": "n"}]}]
    project = Project.model_validate(
        sample.PROJECT | {"specification": plain | {"profile": profile}, "structures": structures, "tape_rolls": {},
                          "instruments": {}}
    )  # fmt: skip
    evaluation = replace(sample.evaluation(1, 3), checks=())
    whole = page_texts(replace(job, project=project), evaluation)
    assert "medium G (60 to below 100 µm)" in whole
    assert "every profile that the grade holds must be allowed; no uncertainty is stated" in whole
    assert "comparisons per location: 1" in whole
    assert "compared unrounded" not in whole
    assert "not recorded TG-4410" not in whole
    assert "profile of each location, mil · limits medium G" in whole
    assert "not inspected, hold limit" not in whole


@pytest.mark.parametrize(
    ("limits", "text"),
    [({"minimum": "50 um"}, "at least 50 µm (2.0 mil)"), ({"maximum": "3.5 mil"}, "at most 3.5 mil (89 µm)")],
)
def test_a_profile_with_one_limit(limits, text):
    stated = {
        key: value
        for key, value in sample.PROJECT["specification"]["profile"].items()
        if key not in {"minimum", "maximum"}
    }
    assert text in page_texts(project_of(sample.job(1, 3), specification={"profile": stated | limits}))


@pytest.mark.parametrize(
    ("limits", "taken"),
    [
        (
            {"minimum": "2 mil", "maximum": "4 mil"},
            "which takes values above 1.5 mil and below 4.5 mil",
        ),
        ({"minimum": "2 mil", "maximum": None}, "which takes values above 1.5 mil"),
        ({"minimum": "2.0 mil", "maximum": "4 mil"}, None),
        ({"minimum": "2 mil", "maximum": "4 mil", "rounding": "none"}, None),
        ({"minimum": "2 mil", "maximum": "4 mil", "decision_rule": "guarded"}, None),
    ],
)
def test_what_rounding_takes_stands_beside_a_limit_without_decimals(limits, taken):
    stated = sample.PROJECT["specification"]["profile"] | {"decision_rule": "simple", "rounding": "half-even"} | limits
    stated = {name: value for name, value in stated.items() if value is not None}
    whole = page_texts(project_of(sample.job(1, 3), specification={"profile": stated}))
    assert ("which takes values" in whole) == (taken is not None)
    assert (taken or "") in whole


def test_the_area_header_states_size_welds_and_drawing():
    whole = page_texts(project_of(sample.job(1, 3)))
    assert "24 m² (258 ft²) · welds 12 m · drawing MM-31-S-09" in whole


def test_contact_accreditation_and_certificates_are_printed():
    whole = page_texts(
        project_of(
            sample.job(1, 3),
            project=sample.PROJECT["project"] | {"client_contact": "A. Sorrel"},
            inspection_body=sample.PROJECT["inspection_body"] | {"accreditation": "MM-TEST 0042"},
            instruments={
                "g1": sample.PROJECT["instruments"]["g1"] | {"uncertainty": "0.05 mil", "coverage_factor": "2"}
            },
        )
    )
    assert "Client, contact Marrowmere Waterworks · A. Sorrel" in whole
    assert "2 Sluice Row, Marrowmere · MM-TEST 0042" in whole
    assert "U 0.05 mil (k = 2)" in whole


def day_of(job, **changes):
    plain = sample._day([area.id for area in sample.evaluation(1, 3).areas], "TR-900", photos=True) | changes
    return replace(job, day=Day.model_validate(plain))


def test_wet_bulb_pressure_and_warmest_steel_stand_with_their_reading():
    reading = {"time": "06:40", "place": "trough", "air": "14.5 degC", "wet_bulb": "12.1 degC", "pressure": "1013 hPa",
               "steel": "13.5 degC", "steel_warmest": "15.0 degC"}  # fmt: skip
    whole = page_texts(day_of(sample.job(1, 3), conditions=[reading]))
    assert "wet bulb 12.1 °C, pressure 1013 hPa" in whole
    assert "warmest steel 15.0 °C" in whole


def test_of_many_places_the_worst_has_a_panel_and_all_have_their_rows():
    read = {"air": "14.5 degC", "humidity": "60 %", "steel": "13.5 degC"}
    areas = ["TR-1", "TR-2"]
    log = [{"time": f"0{n}:40", "place": f"bay {n}", "areas": areas, **read} for n in range(1, 6)]
    first = sample.evaluation(1, 3)
    results = tuple(
        replace(first.conditions[0], time=f"0{n}:40", place=f"bay {n} (TR-1, TR-2)",
                verdict="does not conform" if n == 5 else "conforms")
        for n in range(1, 6)
    )  # fmt: skip
    whole = page_texts(day_of(sample.job(1, 3), conditions=log), replace(first, conditions=results))
    named = [whole.count(f"bay {n} (TR-1, TR-2)") for n in range(1, 6)]
    assert named[4] > 2
    assert named[1:4] == [1, 1, 1]


def test_a_shift_past_midnight_places_its_readings_on_the_next_day():
    evaluation = sample.evaluation(1, 3)
    late = replace(evaluation.conditions[0], time="2026-06-04 00:20", during=("blasting TR-1", "blasting TR-2"))
    whole = page_texts(sample.job(1, 3), replace(evaluation, conditions=(*evaluation.conditions, late)))
    assert "2026-06-04" in whole
    assert "00:20" in whole
    assert "blasting TR-1, TR-2" in whole


def test_remarks_process_changes_nozzle_and_pressure_of_an_area():
    surface = sample._surface("TR-1", 0, photos=False) | {
        "remarks": "Bay swept twice.",
        "process_changes": [{"time": "07:40", "change": "new nozzle", "before": "1", "after": "2"}],
        "blasted": {
            "start": "07:00",
            "end": "08:40",
            "abrasive": "steel grit",
            "nozzle": "no. 6",
            "pressure": "700 kPa",
        },
    }
    whole = page_texts(day_of(sample.job(1, 3), surfaces=[surface]))
    assert "07:40 new nozzle: location 1 before, 2 after" in whole
    assert "Bay swept twice." in whole
    assert "nozzle no. 6 · 700 kPa" in whole


def test_camera_time_and_position_are_printed_where_the_template_asks_for_them():
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = "2026:06:03 11:20:05"
    exif.get_ifd(0x8825).update({1: "N", 2: (59.0, 54.0, 36.2), 3: "E", 4: (10.0, 44.0, 0.0)})
    target = io.BytesIO()
    Image.new("RGB", (300, 200), "grey").save(target, "JPEG", exif=exif)
    job = sample.job(1, 3)
    job = replace(job, photos={name: sample.original(name, target.getvalue()) for name in job.photos})
    shown = page_texts(job, template=Template.model_validate({"photos": {"position": "yes"}}))
    assert "camera clock 2026-06-03 11:20" in shown
    assert "59° 54′ 36.2″ N" in shown
    plain = page_texts(job, template=Template.model_validate({"photos": {"time": "no"}}))
    assert "camera clock" not in plain
    assert "59°" not in plain


def test_the_logo_is_printed_where_project_and_template_ask_for_it():
    job = project_of(
        sample.job(1, 3, photos=False), inspection_body=sample.PROJECT["inspection_body"] | {"logo": "logo.png"}
    )
    target = io.BytesIO()
    Image.new("RGB", (120, 40), "black").save(target, "PNG")
    logo = SourceFile("logo.png", "logo", sample.original("logo.png", target.getvalue()))
    with_logo = replace(job, files=(*job.files, logo))
    images = [
        render_report(one, sample.evaluation(1, 3), sample.ISSUE, template).pdf.count(b"/Subtype/Image")
        + render_report(one, sample.evaluation(1, 3), sample.ISSUE, template).pdf.count(b"/Subtype /Image")
        for one, template in (
            (with_logo, Template()),
            (with_logo, Template.model_validate({"logo": "no"})),
            (job, Template()),
        )
    ]
    assert images[0] > 0
    assert images[1:] == [0, 0]


def test_other_measurements_in_all_their_forms():
    evaluation = replace(
        sample.evaluation(1, 3),
        cleanliness=(CleanlinessResult("TR-1", "Sa 2½", None, None, None, "not evaluated", NOT_RECORDED),),
        salts=(SaltResult("TR-1", "2", D("61.0"), "does not conform", "chloride"),),
        dust=(DustResult("TR-1", "1", 3, 4, "does not conform"),),
        coating_times=(
            CoatingTime("TR-1", None, D(6), "not evaluated", "18:40"),
            CoatingTime("TR-1", None, None, "not evaluated"),
        ),
    )
    whole = page_texts(sample.job(1, 3), evaluation)
    for text in (
        "not recorded",
        "61.0 mg/m², chloride",
        "quantity 3, size class 4",
        "coat by 18:40",
        "not yet coated",
    ):
        assert text in whole


def test_measurements_whose_limit_is_no_longer_in_the_project_show_a_dash():
    job = sample.job(1, 3)
    bare = {
        name: sample.PROJECT["specification"][name]
        for name in ("document", "surface_preparation", "profile", "sampling")
    }
    plain = sample.PROJECT | {
        "specification": bare,
        "structures": [{"id": "t", "name": "T", "areas": [{"id": "TR-900", "name": "n"}]}],
    }
    whole = page_texts(replace(job, project=Project.model_validate(plain)))
    assert "quantity 1, size class 2 · location 1" in whole  # and the area, unknown to this project file, by its id


def test_a_depth_micrometer_has_no_roll():
    evaluation = sample.evaluation(1, 2)
    [area] = evaluation.areas

    def by_depth(spot):
        return replace(spot, readings=tuple(replace(one, roll=None, grade=None) for one in spot.readings[:1]))

    locations = tuple(replace(each, spots=tuple(map(by_depth, each.spots))) for each in area.locations)
    job = sample.job(1, 2)
    readings = tuple(tuple(replace(each, roll=None, time="08:10") for each in one) for one in job.readings)
    whole = page_texts(
        replace(job, readings=readings),
        replace(evaluation, areas=(replace(area, locations=locations),)),
        Template(sections=[*Template().sections[:-1], "readings", "integrity"]),
    )
    assert "spot a spot b location depth value depth value" in whole
    assert "08:10" in whole
    assert "Replica record" not in whole


def test_a_location_without_spots_and_an_area_without_statistics():
    evaluation = sample.evaluation(1, 2)
    [area] = evaluation.areas
    first = replace(area.locations[0], spots=(), profile=None, expanded_uncertainty=None, verdict="inconclusive")
    area = replace(
        area, locations=(first, area.locations[1]), minimum=None, coverage_factor=None,
        effective_degrees_of_freedom=None, verdict="inconclusive", decision="hold",
        not_evaluated=(NOT_MEASURED.at(NOTHING, Place("A")),),
    )  # fmt: skip
    whole = page_texts(sample.job(1, 2), replace(evaluation, areas=(area,), verdict="inconclusive", findings=()))
    assert "Inconclusive: of 1 area inspected, hold 1." in whole
    assert re.search(r" 1 – \S+ – – no value", whole)
    assert "Not evaluated: profile of area A: not measured" in whole


def test_a_closed_nonconformance_shows_its_evidence():
    evaluation = sample.evaluation(2, 3)
    closed = replace(evaluation.nonconformances[0], status="closed", evidence="Inspected again on 4 June.", area=None)
    areas = tuple(replace(area, reasons=()) for area in evaluation.areas)
    whole = page_texts(sample.job(2, 3), replace(evaluation, areas=areas, nonconformances=(closed,), findings=()))
    assert "closed · Inspected again on 4 June." in whole
    assert "NCRs opened: 1 (NCR-004) · closed: 1 (NCR-004)" in whole


class Told:
    """Just enough of a context for the sentence at the top of page 1."""

    def __init__(self, verdict, decisions, missed=()):
        areas = sample.evaluation(len(decisions), 1).areas
        judged = tuple(replace(area, decision=each) for area, each in zip(areas, decisions, strict=True))
        self.evaluation = replace(sample.evaluation(0), verdict=verdict, areas=judged)
        day = sample.job(1, 1).day
        self.job = replace(sample.job(1, 1), day=day.model_copy(update={"not_inspected": [
            day.not_inspected[0].model_copy(update={"area": each}) for each in missed
        ]}))  # fmt: skip
        self.words = catalogue("en")
        self.unseen = dict.fromkeys(missed, "no scaffold")


@pytest.mark.parametrize(
    ("verdict", "decisions", "sentence"),
    [
        ("conforms", ["release"] * 3, "Conforms: all 3 areas inspected are recommended for release."),
        ("conforms", ["release"], "Conforms: the one area inspected is recommended for release."),
        ("conforms", ["release", "hold", "release"], "Conforms: of 3 areas inspected, release 2, hold 1."),
        ("conforms", ["hold"], "Conforms: of 1 area inspected, hold 1. See what was required and found."),
        ("does not conform", ["rework"] * 13, "Does not conform: of 13 areas inspected, rework 13."),
        ("does not conform", ["rework"], "Does not conform: of 1 area inspected, rework 1."),
        (
            "does not conform",
            ["release"],
            "Does not conform: of 1 area inspected, release 1. See what was required and found.",
        ),
        ("inconclusive", ["hold", "release"], "Inconclusive: of 2 areas inspected, release 1, hold 1."),
        ("not evaluated", ["hold"], "Not evaluated: no area was inspected."),
    ],
)
def test_the_verdict_is_one_plain_sentence(verdict, decisions, sentence):
    found = headline(Told(verdict, decisions))
    assert found.replace("\u00a0", " ") == sentence
    assert not re.search(r"(release|rework|hold) \d", found), "a line ends before a number"


def test_areas_that_were_not_inspected_do_not_count():
    assert headline(Told("conforms", ["release", "hold"], missed=["TR-2"])).startswith(
        "Conforms: the one area inspected"
    )


@pytest.mark.parametrize(
    ("verdict", "side", "band", "word"),
    [("does not conform", "below", "conditional fail", "below 2.0"), ("does not conform", "above", "fail", "above 3.5"),
     ("inconclusive", "below", "conditional pass", "too near 2.0"),
     ("inconclusive", "above", "conditional pass", "too near 3.5"),
     ("inconclusive", None, "pass", "inconclusive"), ("inconclusive", "below", "fail", "inconclusive"),
     ("does not conform", None, None, "does not conform"), ("conforms", None, "pass", "conforms")],
)  # fmt: skip
def test_the_word_beside_a_location_says_what_the_limit_has_to_do_with_it(verdict, side, band, word):
    from reportgen.report.verdicts import location_word

    told = Told("does not conform", ["rework"])
    location = replace(told.evaluation.areas[0].locations[0], verdict=verdict, side=side, band=band)
    assert location_word(told, location) == word
