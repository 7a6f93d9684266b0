from pathlib import Path

import pytest

from reportgen.errors import InputError, UsageError
from reportgen.job import validated
from reportgen.job.template import REQUIRED, Template
from reportgen.loader.template import load_template


def problems(**fields):
    outcome = validated(Template, fields)
    assert isinstance(outcome, tuple)
    return [(each.code, each.message) for each in outcome]


ALL = list(Template().sections)


@pytest.mark.parametrize("section", sorted(REQUIRED))
def test_no_template_can_leave_out_what_is_required_and_it_says_why(section):
    [(code, message)] = problems(sections=[name for name in ALL if name != section])
    assert code == "JOB180"
    assert message == f"section `{section}` cannot be left out: it carries {REQUIRED[section]}"


def test_what_is_optional_may_be_added_and_the_rest_reordered():
    moved = ["summary", "areas", *[name for name in ALL[1:-1] if name != "areas"], "replicas", "readings", ALL[-1]]
    assert Template.model_validate({"sections": moved}).sections == moved


def test_the_summary_comes_first_the_integrity_page_last_and_nothing_twice():
    swapped = problems(sections=[*ALL[1:2], ALL[0], *ALL[2:]])
    assert swapped == [("JOB182", "the report cannot begin with `requirements`")]
    assert problems(sections=[*ALL[:-2], "integrity", "safety"]) == [("JOB182", "the report cannot end with `safety`")]
    assert problems(sections=[*ALL[:-1], "method", "integrity"]) == [("JOB181", "section `method` is listed twice")]


@pytest.mark.parametrize(
    ("label", "message"),
    [
        ({"width": "300 mm"}, "a replica label of 300 mm by 25 mm does not fit the page"),
        ({"height": "5 mm"}, "a replica label of 60 mm by 5 mm does not fit the page"),
        ({"circle": "40 mm"}, "a `circle` of 40 mm does not fit a label 25 mm high"),
        ({"circle": "1 mm"}, "a `circle` of 1 mm does not fit a label 25 mm high"),
    ],
)
def test_a_label_that_does_not_fit_is_refused(label, message):
    assert problems(replica_label=label) == [("JOB183", message)]


@pytest.mark.parametrize("name", ["a4-de", "a4-en", "letter-en"])
def test_the_shipped_templates_load(name):
    """What a contract alone may want in print is off in each of them."""
    assert load_template(name).sections == Template().sections


def test_the_standard_template_is_the_default_of_every_field():
    assert load_template("a4-en") == Template()
    assert load_template("letter-en").page == "letter"
    assert load_template("a4-de").language == "de"


def test_an_unknown_name_is_refused_with_a_suggestion():
    with pytest.raises(UsageError, match="there is no template `a4-em`") as caught:
        load_template("a4-em")
    assert caught.value.help_text == "did you mean `a4-en`?"
    with pytest.raises(UsageError) as caught:
        load_template("brochure")
    assert "`letter-en`" in caught.value.help_text


def test_an_own_template_is_loaded_by_its_path(tmp_path):
    own = tmp_path / "own.yaml"
    own.write_text("page: letter\nphotos: {position: yes}\n", encoding="utf-8")
    assert load_template(own).photos.position is True
    assert load_template(str(own)).page == "letter"


def test_what_is_wrong_with_an_own_template_has_its_place(tmp_path):
    own = tmp_path / "own.yaml"
    own.write_text("page: A5\nlogos: yes\nsections: [summary, integrity]\n", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_template(own)
    found = [(each.code, each.spans[0].line, each.spans[0].column) for each in caught.value.diagnostics]
    assert found == [("JOB112", 1, 7), ("JOB110", 2, 1)]


def test_a_template_that_is_not_there_or_not_clean_yaml(tmp_path):
    with pytest.raises(UsageError, match="template: "):
        load_template(Path(tmp_path / "none.yaml"))
    twice = tmp_path / "twice.yaml"
    twice.write_text("page: A4\npage: letter\n", encoding="utf-8")
    with pytest.raises(InputError):
        load_template(twice)
