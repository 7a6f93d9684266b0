"""What stands on which page, read back from the file."""

import re
from dataclasses import replace

import pytest

from reportgen.errors import UsageError
from reportgen.job.day import Supersedes
from reportgen.job.template import Template
from reportgen.pdf.page import BODY_BOTTOM
from reportgen.pdf.signing import SignerBlock
from reportgen.pipeline import check
from reportgen.report.document import render_report
from reportgen.results.codes.equipment import TAPE_UNCHECKED, TapeRollNamed
from reportgen.units import DISPLAY
from reportgen.words.numbers import digits
from reportgen.words.sentences import sentences
from tests.golden import demo
from tests.golden import sample_evaluation as sample
from tests.golden.pages import reader, report, texts


def test_page_1_answers_first_and_is_signed():
    page = texts(report())[0]
    for text in (
        "Surface preparation inspection",
        "Does not conform: of 3 areas inspected, release 2, rework 1.",
        "Release TR-1, TR-3. Rework TR-2. Not inspected TR-900.",
        "2 of 4 locations low (3, 4)",
        "NCRs opened: 1 (NCR-004) · closed: none · open from earlier reports: none",
        "1 TR-2 Nozzle replaced; blast again on 4 June. Closes NCR-004.",
        "Derived: follows from the rules; the inspector did not write it.",
        "Marrowmere aqueduct, recoating of the trough",
        "2026-06-03, 06:00–17:42 UTC",
        "limits 2.0–3.5 mil (51–89 µm)",
        "R. Hethe",
        "digital signature, issued 2026-06-03 17:42 UTC",
        "demonstration, not valid for issue",
        "it does not replace the contract, standards, local law and codes, or licensed practice.",
    ):
        assert text in page, text


def test_every_page_stands_alone():
    rendered = report()
    for number, page in enumerate(texts(rendered), start=1):
        assert page.count("MM-31-IR-007 · revision 0 · 2026-06-03") >= 1
        assert "Hethe and Pike Inspection" in page
        assert f"{number} of {rendered.pages}" in page
        assert "Results relate only to the areas and times stated. Not to be reproduced except in full." in page


def test_the_report_ends_with_its_end_line_and_only_there():
    pages = texts(report())
    line = "End of report MM-31-IR-007, revision 0"
    assert [line in page for page in pages] == [False] * (len(pages) - 1) + [True]
    assert report().pages == len(pages) == len(reader(report()).pages)


def test_a_draft_says_so_across_every_page_and_is_not_signed():
    for page in texts(report(status="draft")):
        assert "DRAFT" in page
        assert "Draft, not a report." in page
    first = texts(report(status="draft"))[0]
    assert "draft, not signed" in first
    assert "digital signature" not in first
    assert all("DRAFT" not in page for page in texts(report()))


def test_every_number_of_an_area_is_printed_as_it_stands_in_the_evaluation():
    evaluation, whole = sample.evaluation(3, 4), " ".join(texts(report()))
    for area in evaluation.areas:
        for location in area.locations:
            for value in (location.profile, *(spot.profile for spot in location.spots)):
                assert f"{value:f}" in whole
    for each in evaluation.conditions:
        assert f"{each.dew_point:f} {each.margin:f}" in whole


def test_findings_lead_to_the_page_that_shows_them():
    rendered, pages = report(), texts(report())
    evaluation = sample.evaluation(3, 4)
    assert set(rendered.finding_pages) == set(range(len(evaluation.findings)))
    for index, finding in enumerate(evaluation.findings):
        page = pages[rendered.finding_pages[index] - 1]
        assert sentences().observed(finding) in page


def test_the_signature_box_lies_on_page_1_around_the_name():
    rendered = report()
    page, x0, y0, x1, y1 = rendered.signature_box
    assert page == 0
    found = []

    def visit(text, _matrix, at, *_font):
        if "R. Hethe" in text:
            found.append((at[4], at[5]))

    reader(rendered).pages[0].extract_text(visitor_text=visit)
    assert any(x0 <= x <= x1 and y0 <= y <= y1 for x, y in found)
    assert y0 > BODY_BOTTOM


def test_countersigners_have_boxes_on_page_1_and_further_ones_before_the_end():
    people = tuple(SignerBlock(f"Person {n}", "engineer", "Lowfold Blastworks") for n in range(5))
    issue = replace(sample.ISSUE, status="issue", countersigners=people)
    rendered = render_report(sample.job(2, 3), sample.evaluation(2, 3), issue, sample.TEMPLATE)
    assert [box[0] for box in rendered.countersign_boxes] == [0, 0, 0, rendered.pages - 1, rendered.pages - 1]
    boxes = [rendered.signature_box, *rendered.countersign_boxes]
    for index, one in enumerate(boxes):
        for other in boxes[index + 1 :]:
            apart = one[3] <= other[1] or other[3] <= one[1] or one[4] <= other[2] or other[4] <= one[2]
            assert one[0] != other[0] or apart
    pages = texts(rendered)
    assert all(f"Person {n}" in pages[box[0]] for n, box in enumerate(rendered.countersign_boxes))


def test_the_head_of_a_page_names_the_areas_on_it():
    pages = texts(report(8, 6))
    for number, page in enumerate(pages):
        found = re.findall(r"(TR-\d+) Trough, [a-z ]+, bay \d (?:release|rework)", page)
        if number and found:
            assert re.search(rf"Areas? .*{found[-1]}", page), page[:200]
    assert not any("Contents" in page for page in pages)


def test_the_outline_names_sections_and_areas():
    titles = []

    def walk(items):
        for item in items:
            if isinstance(item, list):
                walk(item)
            else:
                titles.append(item.title)

    walk(reader(report()).outline)
    assert titles[0] == "Surface preparation inspection"
    assert {"Requirements and what was found", "The shift", "Cautions", "Annex 2: integrity", "NCR-004"} <= set(titles)
    assert sum(title.startswith("TR-") for title in titles) == 3


def test_a_missing_photo_is_explained_and_the_hash_of_the_others_begun():
    whole = " ".join(texts(report()))
    assert "photo photos/TR-2-2.jpg is not in the job folder" in whole
    for original in sample.job(3, 4).photos.values():
        assert original.sha256[:8] in whole


def test_the_same_report_in_another_language():
    pages = texts(report(language="de"))
    assert "Nicht erfüllt: von 3 geprüften Flächen 2 Freigabe, 1 Nacharbeit." in pages[0]
    assert f"1 von {len(pages)}" in pages[0]
    assert reader(report(language="de")).trailer["/Root"]["/Lang"] == "de"
    with pytest.raises(UsageError):
        render_report(sample.job(1, 1), sample.evaluation(1, 1), sample.ISSUE, Template(language="xx"))


def test_a_template_chooses_page_size_units_order_and_optional_sections():
    sections = list(Template().sections)
    sections.insert(1, sections.pop(sections.index("areas")))
    template = Template.model_validate({"page": "letter", "units": "specification", "sections": sections})
    rendered = render_report(sample.job(3, 4), sample.evaluation(3, 4), sample.ISSUE, template)
    box = reader(rendered).pages[0].mediabox
    assert (float(box.width), float(box.height)) == (612, 792)
    whole = " ".join(texts(rendered))
    assert "µm" not in whole
    assert "Replica record" not in whole
    assert whole.index("TR-1 Trough, north face, bay 1 released") < whole.index("Requirements and what was found")


def test_a_revision_names_what_it_replaces_and_why():
    job = sample.job(1, 2)
    supersedes = Supersedes.model_validate({"revision": "0", "reason": "Wrong lot of tape entered."})
    report_ = job.day.report.model_copy(update={"revision": 1, "supersedes": supersedes})
    job = replace(job, day=job.day.model_copy(update={"report": report_}))
    page = texts(render_report(job, sample.evaluation(1, 2), sample.ISSUE, sample.TEMPLATE))[0]
    assert "This report replaces revision 0. Reason: Wrong lot of tape entered." in page


def test_markup_in_user_text_is_printed_as_text():
    job, evaluation = sample.job(2, 3), sample.evaluation(2, 3)
    nasty = "<b>bold</b> & <img src='/etc/hostname'> a.smith@x <!-- gone? --> &#0; $\\frac$"
    day = job.day.model_copy(update={"remarks": nasty})
    evaluation = replace(
        evaluation,
        findings=tuple(TAPE_UNCHECKED.found(TapeRollNamed(nasty), each.place) for each in evaluation.findings),
    )
    whole = " ".join(texts(render_report(replace(job, day=day), evaluation, sample.ISSUE, sample.TEMPLATE)))
    assert whole.replace(" ", "").count(nasty.replace(" ", "")) >= 2


def test_annex_1_has_of_each_other_quantity_the_budget_with_the_largest_uncertainty():
    evaluation = check(demo.DAY).evaluation
    whole = " ".join(demo.lasting(page.extract_text()) for page in demo.document().pages)
    results = (*evaluation.conditions, *evaluation.salts, *evaluation.abrasive)
    largest = {}
    for budget in (one for result in results for one in result.budgets):
        known = largest.setdefault(budget.quantity, budget)
        largest[budget.quantity] = max(known, budget, key=lambda one: one.expanded_uncertainty)
    assert len(largest) >= 7
    for budget in largest.values():
        freedom = digits(budget.effective_degrees_of_freedom, "∞")
        row = f"{digits(budget.standard_uncertainty)} {freedom} {digits(budget.coverage_factor)} "
        row += f"{digits(budget.expanded_uncertainty)} {DISPLAY.get(budget.unit, budget.unit)}"
        assert row in whole.replace("\xa0", " ").replace("\u202f", " "), row
