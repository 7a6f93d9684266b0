"""Nothing that a valid job can hold makes the pages fail: laid out right, or explained in the report."""

import re
from dataclasses import replace
from decimal import Decimal

import pytest

from reportgen.job.template import Template
from reportgen.report import photos
from reportgen.report.document import render_report
from reportgen.results import Amount, Evaluation, Place
from reportgen.results.codes.equipment import EXPIRY_NOT_STATED, TAPE_EXPIRED, TapeExpired, TapeRollNamed
from reportgen.results.values import Bounded, Extent, Towards
from reportgen.words.catalogue import catalogue
from tests.golden import sample_evaluation as sample
from tests.golden.pages import texts

LONG = "word " * 790  # just under the 4,000 characters a text may have


def rendered(job, evaluation, template=None, **changes):
    return render_report(job, evaluation, replace(sample.ISSUE, **changes), template or Template())


def test_no_area():
    pages = texts(rendered(sample.job(0), sample.evaluation(0)))
    assert "Not evaluated: no area was inspected." in pages[0]
    assert "TR-900 Trough, outlet chamber no profile measured – – not inspected scaffold not handed over" in pages[0]
    assert len([page for page in pages if page.count(" ") < 25]) == 0  # no page with the end line alone


def test_an_area_without_a_location():
    whole = " ".join(texts(rendered(sample.job(2, 0), sample.evaluation(2, 0))))
    assert "No profile was measured on this area." in whole
    assert "no profile measured" in whole


def test_an_area_reported_as_not_inspected_says_why_once():
    job, evaluation = sample.job(2, 3), sample.evaluation(2, 3)
    missed = evaluation.areas[1]
    unseen = replace(missed, verdict="not evaluated", decision="hold", locations=(), n_locations=0, n_spots=0)
    day = job.day.model_copy(
        update={"not_inspected": [job.day.not_inspected[0].model_copy(update={"area": missed.id})]}
    )
    evaluation = replace(evaluation, areas=(evaluation.areas[0], unseen), verdict="conforms", findings=())
    pages = texts(rendered(replace(job, day=day), evaluation))
    assert "Conforms: the one area inspected is recommended for release." in pages[0]
    assert "not inspected" in pages[0]
    assert "Not inspected: scaffold not handed over." in " ".join(pages)


def test_one_area_with_one_location():
    rendered(sample.job(1, 1), sample.evaluation(1, 1))


def test_ids_of_forty_characters_are_never_cut_where_they_matter():
    prefix = "A" * 35 + "-B-"
    result = rendered(sample.job(2, 3, prefix=prefix[:36]), sample.evaluation(2, 3, prefix=prefix[:36]))
    whole = "".join(texts(result)).replace(" ", "")
    assert whole.count(f"{prefix[:36]}1") >= 3


def test_an_evaluation_with_nothing_but_areas():
    full = sample.evaluation(1, 2)
    bare = Evaluation(full.report, full.verdict, full.areas)
    pages = texts(rendered(sample.job(1, 2), bare, files=(), register_head=None, signer=None))
    whole = " ".join(pages)
    for sentence in (
        "No conditions were recorded.",
        "1 TR-900 Inspect; not inspected today: scaffold not handed over · derived not stated before primer",
        "No files are recorded with this report.",
        "no earlier entry, or not registered", "No rules were recorded with this evaluation.",
    ):  # fmt: skip
        assert sentence in whole, sentence
    assert "Not signed" in pages[0]


def test_texts_of_full_length_are_printed_whole():
    job, evaluation = sample.job(2, 3), sample.evaluation(2, 3)
    evaluation = replace(
        evaluation,
        findings=tuple(
            TAPE_EXPIRED.found(TapeExpired(LONG, "x" * 60, "2026-06-03", "2026-06-02"), each.place)
            for each in evaluation.findings
        ),
        measure_next=tuple(replace(each, place=Place(each.area, LONG)) for each in evaluation.measure_next),
        nonconformances=tuple(
            replace(each, description=LONG, corrective_action=LONG, evidence=LONG)
            for each in evaluation.nonconformances
        ),
        rules=tuple(replace(each, source=LONG) for each in evaluation.rules),
        not_evaluated=(EXPIRY_NOT_STATED.at(TapeRollNamed(LONG)),),
    )
    day = job.day.model_copy(update={"remarks": LONG})
    result = rendered(replace(job, day=day), evaluation)
    words = sum(page.lower().split().count("word") for page in texts(result))
    observed = len({each.area for each in evaluation.findings})  # what is said twice of an area stands once
    assert words >= 790 * (observed + 2 + 2 + 1 + 1 + 1 + 1)


def test_the_decision_rules_and_their_bands_have_words():
    evaluation = sample.evaluation(1, 4)
    bands = ("pass", "conditional pass", "conditional fail", "fail")
    locations = tuple(
        replace(each, band=band, outlier=index == 0, walk_out="1" if index else None)
        for index, (each, band) in enumerate(zip(evaluation.areas[0].locations, bands, strict=True))
    )
    two = Extent(Towards("north"), Amount(Decimal(2), "m"))
    area = replace(evaluation.areas[0], locations=locations, bounded_area=(Bounded("1", (two,)),))
    evaluation = replace(evaluation, areas=(area,))

    def whole(rule):
        job = sample.job(1, 4)
        specification = job.project.specification
        profile = specification.profile.model_copy(update={"decision_rule": rule})
        specification = specification.model_copy(update={"profile": profile})
        job = replace(job, project=job.project.model_copy(update={"specification": specification}))
        return " ".join(texts(rendered(job, evaluation)))

    banded = whole("banded")
    for word in (
        "conforms, conditionally",
        "fails, conditionally",
        "outlier flag",
        "from 1",
        "around location 1: north 2 m",
    ):
        assert word in banded
    assert "conditionally" not in whole("guarded")  # the bands do not decide there


def test_a_film_that_was_not_subtracted_shows_gross_and_net():
    from decimal import Decimal

    evaluation = sample.evaluation(1, 1)
    [area] = evaluation.areas
    [location] = area.locations
    spots = tuple(
        replace(spot, readings=tuple(replace(one, gross=one.net + Decimal("2.0")) for one in spot.readings))
        for spot in location.spots
    )
    area = replace(area, locations=(replace(location, spots=spots),))
    net = spots[0].readings[0].net
    assert f"{net + 2} → {net}" in " ".join(texts(rendered(sample.job(1, 1), replace(evaluation, areas=(area,)))))


def test_a_character_without_a_glyph_is_printed_as_its_code_point():
    job = sample.job(1, 1)
    day = job.day.model_copy(update={"remarks": "漆"})
    assert "[U+6F06]" in " ".join(texts(rendered(replace(job, day=day), sample.evaluation(1, 1))))


def test_a_large_report_grows_with_its_areas_and_keeps_its_order():
    small = rendered(sample.job(10, 4, photos=False), sample.evaluation(10, 4))
    large = rendered(sample.job(60, 4, photos=False), sample.evaluation(60, 4))
    assert large.pages < 6.5 * small.pages
    pages = texts(large)
    heads = [
        next(n for n, page in enumerate(pages) if f"TR-{area} Trough" in page and "initial" in page)
        for area in (1, 30, 60)
    ]
    assert heads == sorted(heads)
    assert "Release the other 59" in pages[0]


@pytest.mark.parametrize("conditions", [True, False])
def test_lanes_of_more_areas_on_hold_than_a_page_has_room_for_go_on_on_the_next(conditions):
    """Areas that are not released have lanes of their own: eighty of them were a document that could not be made."""
    evaluation = sample.evaluation(80, 1)
    held = tuple(replace(area, decision="hold") for area in evaluation.areas)
    evaluation = replace(evaluation, areas=held, conditions=evaluation.conditions if conditions else ())
    pages = texts(rendered(sample.job(80, 1, photos=False), evaluation))
    first = next(number for number, page in enumerate(pages) if "from the end of blasting" in page)
    lanes = [re.findall(r"TR-(\d+) (?:not )?primed", page) for page in pages[first : first + 3]]
    assert [int(one) for some in lanes for one in some] == list(range(1, 81))
    assert len(list(filter(None, lanes))) > 1
    assert ("No conditions were recorded" in " ".join(pages)) is not conditions


def test_names_of_120_letters_leave_all_areas_and_the_signature_on_page_1():
    """Each stands whole above the rest of its row; the structure's is left to the page of the area."""
    long = "Outer wall of the northern sedimentation basin, bays one to seven, with brackets, ladders and pipe supports"
    job, evaluation = sample.job(6, 4), sample.evaluation(6, 4)
    structures = [
        one.model_copy(update={"areas": [area.model_copy(update={"name": long}) for area in one.areas]})
        for one in job.project.structures
    ]
    project = job.project.model_copy(update={"structures": type(job.project.structures)(structures)})
    first = texts(rendered(replace(job, project=project), evaluation))[0].replace("\u00a0", " ")
    assert first.count(long) == 7
    assert "R. Hethe" in first


@pytest.mark.parametrize(("count", "expected"), [(1, [1]), (2, [2]), (3, [3]), (4, [2, 2]), (5, [3, 2])])
def test_four_photos_stand_in_two_rows_of_two(count, expected, monkeypatch):
    beside, rows = photos.SideBySide, []
    monkeypatch.setattr(photos, "SideBySide", lambda cells, **how: rows.append(len(cells)) or beside(cells, **how))
    job = sample.job(2, 3)
    one = next(photo for surface in job.day.surfaces for photo in surface.photos)
    surfaces = [
        surface.model_copy(update={"photos": [one] * count if number == 0 else []})
        for number, surface in enumerate(job.day.surfaces)
    ]
    rendered(replace(job, day=job.day.model_copy(update={"surfaces": surfaces})), sample.evaluation(2, 3))
    assert rows[: len(expected)] == expected  # and so again where less space is tried
    assert set(rows) == set(expected)


@pytest.mark.parametrize(("language", "title", "areas"), [("en", "Photos", "Area"), ("de", "Fotos", "Fläche")])
def test_each_sheet_of_photos_says_that_it_goes_on_and_of_which_areas(language, title, areas):
    job = sample.job(2, 3)
    one = next(photo for surface in job.day.surfaces for photo in surface.photos)
    surfaces = [surface.model_copy(update={"photos": [one] * 25}) for surface in job.day.surfaces]
    many = replace(job, day=job.day.model_copy(update={"surfaces": surfaces}))
    again = catalogue(language)("continued", what=title)
    pages = texts(rendered(many, sample.evaluation(2, 3), Template(language=language)))
    first, *sheets = [page for page in pages if re.search(r"\b\d+ \S+ .{0,60}· [0-9a-f]{8} ", page)]
    assert len(sheets) > 2
    assert again not in first
    assert all(page.count(again) == 1 and areas in page[:200] for page in sheets)
