"""The appendix that derives every value of a demo day."""

from reportgen.job.template import Template
from reportgen.pipeline import check
from reportgen.report.document import render_report
from reportgen.rules.explain import explain_area, explain_areas
from tests.golden import sample_evaluation as sample
from tests.golden.demo import DAY
from tests.golden.pages import texts


def test_all_areas_at_once_are_explained_as_each_alone():
    checked = check(DAY)
    together = explain_areas(checked.job, checked.evaluation)
    assert list(together) == [area.id for area in checked.evaluation.areas if area.locations]
    assert all(steps == explain_area(checked.job, checked.evaluation, area) for area, steps in together.items())


def test_the_appendix_derives_every_area_and_names_each_source_once():
    checked = check(DAY)
    template = Template(sections=[*Template().sections[:-1], "derivation", "integrity"])
    derivation = explain_areas(checked.job, checked.evaluation)
    rendered = render_report(checked.job, checked.evaluation, sample.ISSUE, template, derivation=derivation)
    whole = " ".join(texts(rendered))
    appendix = whole.split("How each value came about every step")[1]
    for area in checked.evaluation.areas:
        assert (f"Derivation, {area.id} value" in appendix) == bool(area.locations)
    sources = appendix.split(" Sources [1] ")[1]
    assert sources.count("ILAC-G8") == 1
    assert "half-even" not in appendix
    assert "recorded-as-taken" not in appendix
    assert "dew-point-margin" not in appendix
    assert "dew point margin: 15:40" in appendix
