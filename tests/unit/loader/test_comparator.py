"""Rows of grades seen beside a comparator: which can be of it, from the day file and from a CSV file."""

import shutil
from pathlib import Path

import pytest

from reportgen.cli import main
from reportgen.errors import InputError
from reportgen.loader import load_job
from reportgen.rules import evaluate

DAY = "2026-09-14.yaml"
JOB = Path(__file__).parents[2] / "methods" / "comparator"


@pytest.fixture
def folder(tmp_path):
    return Path(shutil.copytree(JOB, tmp_path / "job"))


def loaded(folder, *pairs, project=()):
    for name, several in ((DAY, pairs), ("project.yaml", project)):
        text = (folder / name).read_text("utf-8")
        for old, new in several:
            assert old in text, old
            text = text.replace(old, new)
        (folder / name).write_text(text, "utf-8")
    return load_job(folder / DAY)


def test_a_grade_is_a_reading_without_a_number(folder):
    first = loaded(folder).readings[0][0]
    assert (first.location, first.spot, first.roll, first.value, first.grade, first.time) == (
        "1", "a", None, None, "medium", "09:52",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("written", "code", "message"),
    [
        ("grade: rough", "JOB215", "`rough` is not a grade of a comparator"),
        ("grade: medium S", "JOB215", "`medium S` is of the other comparator: the one used is G"),
        ("spot: a, depth: 75", "JOB217", "a comparator shows a grade, no number"),
    ],
)
def test_a_row_that_is_none_of_the_comparator_is_refused(folder, written, code, message):
    with pytest.raises(InputError) as caught:
        loaded(folder, ('{location: 1, grade: medium, time: "09:52"}', f"{{location: 1, {written}}}"))
    (one,) = caught.value.diagnostics
    assert (one.code, one.message) == (code, message)
    assert one.spans[0].line == 13


def test_a_comparator_of_neither_abrasive_shows_no_grade_until_the_row_says_which(folder):
    silent = ("serial: RG-112, comparator: G", "serial: RG-112")
    with pytest.raises(InputError) as caught:
        loaded(folder, project=[silent])
    assert caught.value.diagnostics[0].message == "nothing says whether the comparator is that for grit or for shot"
    told = [("grade: medium,", "grade: medium G,"), ("coarser than coarse,", "coarser than coarse G,")]
    assert loaded(folder, *told, ("grade: coarse,", "grade: coarse G,")).readings[0][0].grade == "medium G"


def test_two_grades_at_one_location_are_told_apart(folder):
    with pytest.raises(InputError) as caught:
        loaded(folder, ("location: 2, grade: medium", "location: 1, grade: medium"))
    assert caught.value.diagnostics[0].message == "spot 1/a has two grades"


def test_grades_stand_in_a_csv_file_too(folder):
    rows = "location,spot,roll,reading,time\n1,a,,medium,09:52\n2,a,,fine G,09:55\n"
    (folder / "r1.csv").write_text(rows, "utf-8")
    text = (folder / DAY).read_text("utf-8")
    start, end = text.index("      readings:"), text.index('    coated: "12:30"')
    (folder / DAY).write_text(f"{text[:start]}      readings: {{csv: r1.csv, rows: 2}}\n{text[end:]}", "utf-8")
    assert [one.grade for one in load_job(folder / DAY).readings[0]] == ["medium", "fine G"]


@pytest.mark.parametrize(
    ("readings", "verdict"),
    [
        ("{location: 1, spot: a, x1: 75}", "conforms"),
        ("{location: 1, spot: a, x1: 75}, {location: 1, spot: a, c1: 55}", "inconclusive"),
    ],
)
def test_tape_that_was_used_all_the_same_is_another_method(folder, readings, verdict):
    """The contract has no rule for two grades of it, and needs none: what was read is recorded, and held."""
    rolls = "tape_rolls: {x1: {grade: extra coarse, lot: L-1}, c1: {grade: coarse, lot: L-2}}"
    gauge = "  g1: {kind: thickness gauge, serial: T-1, unit: um}"
    day = (folder / DAY).read_text("utf-8")
    start, end = day.index("      gauge: vg"), day.index('    coated: "12:30"')
    on_tape = f"      gauge: g1\n      readings: [{readings}]\n"
    (folder / DAY).write_text(day[:start] + on_tape + day[end:], "utf-8")
    job = loaded(folder, project=[("instruments:", f"{rolls}\ninstruments:\n{gauge}")])
    result = evaluate(job)
    assert (result.areas[0].decision, result.areas[0].locations[0].verdict) == ("hold", verdict)
    assert "other-method" in {one.code for one in result.findings}
    assert main(["check", str(folder / DAY)]) == 1
    assert main(["draft", str(folder / DAY), "--output", str(folder / "d.pdf")]) == 0
    stated = ("method: ISO 8503-2,", "method: ISO 8503-2, overlap_rule: average,")
    assert loaded(folder, project=[stated]).readings[0][0].roll == "x1"


@pytest.mark.parametrize(
    "written", ["Medium G", "MEDIUM (G)", "medium g", "iso 8503-1 Medium (g)", "ISO 8503-1 medium G"]
)
def test_the_grade_of_the_contract_may_have_any_capitals_and_brackets(folder, written):
    plain = evaluate(loaded(folder))
    other = evaluate(loaded(folder, project=[("comparator_grade: medium G", f"comparator_grade: {written}")]))
    assert [(one.id, one.decision) for one in other.areas] == [(one.id, one.decision) for one in plain.areas]
    assert [[at.verdict for at in one.locations] for one in other.areas] == [
        [at.verdict for at in one.locations] for one in plain.areas
    ]


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("medium", "did you mean `medium G` or `medium S`? G is the comparator for grit, S that for shot"),
        ("Coarse", "did you mean `coarse G` or `coarse S`? G is the comparator for grit, S that for shot"),
        ("mediun g", "did you mean `medium G`?"), ("medum S", "did you mean `medium S`?"),
    ],
)  # fmt: skip
def test_a_grade_of_neither_comparator_is_asked_about(folder, written, meant):
    with pytest.raises(InputError) as caught:
        loaded(folder, project=[("comparator_grade: medium G", f"comparator_grade: {written}")])
    (one,) = caught.value.diagnostics
    assert (one.code, one.help_text) == ("JOB215", meant)


def _begun(folder, row, day=DAY):
    text = (folder / day).read_text("utf-8")
    first = next(line for line in text.splitlines() if line.lstrip().startswith("- {location: 1"))
    assert first in text
    (folder / day).write_text(text.replace(first, first[: first.index("-")] + f"- {row}", 1), "utf-8")
    return [one for one in load_job(folder / day).unfinished if one.lacks]


@pytest.mark.parametrize(
    ("row", "lacks"),
    [
        ("{location: 1}", "grade"), ("{location: 1, grade: }", "grade"), ("{location: 1, spot: a}", "grade"),
        ('{location: 1, time: "09:52"}', "grade"), ("{grade: medium}", "location"),
    ],
)  # fmt: skip
def test_a_row_of_a_comparison_lacks_what_it_lacks(folder, row, lacks):
    assert [one.lacks for one in _begun(folder, row)] == [(f"[0].{lacks}",)]


@pytest.mark.parametrize(
    ("row", "lacks"),
    [
        ("{location: 1, spot: a}", ("depth",)), ("{location: 1, spot: a, depth: }", ("depth",)),
        ("{location: 1}", ("spot", "depth")), ("{location: 1, depth: 61}", ("spot",)),
    ],
)  # fmt: skip
def test_a_row_of_a_depth_lacks_what_it_lacks(tmp_path, row, lacks):
    micrometer = Path(shutil.copytree(JOB.with_name("micrometer"), tmp_path / "job"))
    assert [one.lacks for one in _begun(micrometer, row, "2026-09-15.yaml")] == [tuple(f"[0].{one}" for one in lacks)]
