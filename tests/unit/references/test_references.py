"""Shipped data: complete, cited, consistent, and clear about what was not read."""

from decimal import Decimal

import pytest

from reportgen.errors import UsageError
from reportgen.references import (
    citation,
    citation_keys,
    cleanliness_grade,
    cleanliness_names,
    editions,
    method_names,
    method_rule,
    profile_grade,
    profile_grade_names,
    standard,
    table,
)
from reportgen.references.citations import REMARKS
from reportgen.references.shipped import read_toml, shipped_names, standard_files

CONFIDENCES = set(REMARKS)


@pytest.mark.parametrize("key", citation_keys())
def test_every_citation_is_complete(key):
    found = citation(key)
    assert found.title
    assert found.confidence in CONFIDENCES
    assert (found.remark == "") == (found.confidence == "V")
    assert found.text.startswith(found.title)
    assert found.remark in found.text


def test_a_citation_on_one_line():
    assert citation("sspc-pa-17-walk-out").text == "SSPC-PA 17, 2015, Appendix B4"
    assert citation("astm-d4417-c").text.endswith(
        "from memory, not checked against a text; check it against the edition in force"
    )


def test_an_unknown_source():
    with pytest.raises(UsageError, match="`nowhere` is not a source this program knows"):
        citation("nowhere")


@pytest.mark.parametrize("name", shipped_names("tables", ".csv"))
def test_every_table_is_described_and_cited(name):
    found = table(name)
    assert found.rows
    assert found.unit
    assert found.digits
    assert found.confidence in CONFIDENCES
    assert found.source in citation_keys()
    for row in found.rows:
        assert None not in row
        assert None not in row.values()
        assert row.get("source", found.source) in citation_keys()
        assert row.get("confidence", found.confidence) in CONFIDENCES


def test_no_table_is_described_without_being_shipped():
    assert set(read_toml("tables", "tables.toml")) == set(shipped_names("tables", ".csv"))


def test_what_is_not_shipped():
    with pytest.raises(UsageError, match=r"`tables/nothing\.csv` is not among the shipped references"):
        table("nothing")
    with pytest.raises(UsageError, match=r"`standards/astm-d4417-1901\.toml` is not among the shipped references"):
        standard("astm-d4417", "1901")


@pytest.mark.parametrize("key", standard_files(), ids="-".join)
def test_every_standard_states_its_confidence(key):
    found = standard(*key)
    assert found.confidence in CONFIDENCES
    assert found.title
    assert found.data
    own = [subject["confidence"] for subject in found.data.values() if "confidence" in subject]
    assert set(own) <= CONFIDENCES
    assert found.edition in editions(found.id)


def test_a_subject_may_be_better_known_than_its_standard():
    found = standard("sspc-pa-17", "2015")
    assert (found.confidence, found.data["walk_out"]["confidence"]) == ("M", "V")


def test_editions_are_listed_oldest_first():
    assert editions("astm-d4417") == ("2003", "2014", "2019", "2021")
    assert editions("astm") == ()


@pytest.mark.parametrize(("method", "edition", "readings", "value"), [
    ("ASTM D4417 Method C", "2003", 3, "mean"), ("ASTM D4417 Method C", "2021", 2, "mean"),
    ("ASTM D4417 Method B", "2003", 3, "mean"), ("ASTM D4417 Method B", "2014", 10, "maximum"),
    ("ISO 8503-5", "2003", 3, "mean"),
])  # fmt: skip
def test_methods_by_edition(method, edition, readings, value):
    rule = method_rule(method, edition)
    assert (rule.readings_per_location, rule.location_value, rule.confidence) == (readings, value, "M")
    assert rule.method in method_names()
    assert rule.source in citation_keys()


@pytest.mark.parametrize(("method", "edition", "message", "remedy"), [
    ("ASTM D9999", "2021", "`ASTM D9999` is not a known method", "expected ASTM D4417 Method A"),
    ("ASTM D4417 Method Z", "2021", "`ASTM D4417 Method Z` is not a known method", "expected ASTM D4417 Method A"),
    ("ASTM D4417", "2021", "`ASTM D4417` is not a known method", "expected ASTM D4417 Method A"),
    ("ASTM D4417 Method C", "2012", "edition 2012 of `ASTM D4417` is not known", "expected 2003, 2014, 2019, 2021"),
])  # fmt: skip
def test_methods_that_are_not_known(method, edition, message, remedy):
    with pytest.raises(UsageError) as caught:
        method_rule(method, edition)
    assert caught.value.message == message
    assert caught.value.help_text.startswith(remedy)


@pytest.mark.parametrize("name", method_names())
def test_every_method_can_be_found_again(name):
    family = name.partition(" Method ")[0].lower().replace(" ", "-")
    for edition in editions(family):
        assert method_rule(name, edition).kind in {"tape", "probe", "comparator", "stylus"}


@pytest.mark.parametrize("name", cleanliness_names())
def test_every_grade_of_cleanliness(name):
    grade = cleanliness_grade(name)
    assert grade.name == name
    assert grade.system in {"SSPC", "ISO"}
    assert grade.series in {"blast", "tool", "solvent", "flame"}
    assert grade.maximum_stain is None or 0 <= grade.maximum_stain <= 100


def test_ranks_order_a_series():
    for system in ("SSPC", "ISO"):
        for series in ("blast", "tool"):
            ranks = [
                grade.rank
                for grade in map(cleanliness_grade, cleanliness_names())
                if (grade.system, grade.series) == (system, series)
            ]
            assert ranks == list(range(1, len(ranks) + 1))


@pytest.mark.parametrize("spelling", ["Sa 2½", "Sa 2.5", "Sa 2 1/2", " Sa  2½ "])
def test_spellings_of_two_and_a_half(spelling):
    assert cleanliness_grade(spelling).name == "Sa 2½"


def test_unknown_grades():
    with pytest.raises(UsageError, match="`SP 10` is not a known grade of cleanliness") as caught:
        cleanliness_grade("SP 10")
    assert "SSPC-SP 10" in caught.value.help_text
    with pytest.raises(UsageError, match="`medium` is not a known grade of profile") as caught:
        profile_grade("medium")
    assert "ISO 8503-1 medium G" in caught.value.help_text


@pytest.mark.parametrize("name", profile_grade_names())
def test_every_grade_of_profile_is_a_range(name):
    grade = profile_grade(name)
    assert grade.minimum < grade.maximum
    assert grade.unit in {"mil", "um"}
    assert grade.excludes_maximum == name.startswith("ISO")


def test_grades_of_tape_in_both_units():
    rows = table("tape-grades").rows
    for unit in ("mil", "um"):
        current = {row["grade"]: row for row in rows if row["scheme"] == "current" and row["unit"] == unit}
        assert Decimal(current["extra coarse"]["minimum"]) < Decimal(current["coarse"]["maximum"])


def test_files_are_read_from_the_package_alone():
    assert shipped_names("tables", ".toml") == ("tables",)
