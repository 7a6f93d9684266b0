"""A good folder, from disk and from memory, and the earlier days beside it."""

import datetime as dt
import gc
import hashlib
import shutil
from decimal import Decimal
from pathlib import Path

import pytest

from reportgen.errors import InputError
from reportgen.job import Reading
from reportgen.loader import job_from_files, load_job

GOOD = Path(__file__).parents[2] / "diagnostics" / "good"
SURFACE = """
surfaces:
  - area: A-2
    apparatus: pot 1
    initial_condition: C
    blasted: {start: "10:00", end: "11:00", abrasive: steel grit}
    reinspects: [N-1]
"""
RAISED = """
nonconformances:
  - {id: N-1, area: A-2, findings: [outlier], description: d, disposition: rework, decided_by: merrow, status: open}
"""


def _day(number, date, rest="", revision=0, start="06:00", project="project.yaml"):
    return (
        f"project: {project}\n"
        f'report: {{number: {number}, revision: {revision}, date: {date}, shift: {{start: "{start}", end: "23:00"}},'
        f" inspector: merrow}}\n{rest}"
    )


def _conformed(_day, _file):
    """Of every earlier day it is known that its report conforms."""
    return True


@pytest.fixture
def folder(tmp_path):
    shutil.copytree(GOOD, tmp_path / "job")
    return tmp_path / "job"


def _write(folder, name, text):
    (folder / name).write_text(text, encoding="utf-8")
    return folder / name


def test_readings_keep_their_order_their_digits_and_their_lines(folder):
    job = load_job(folder / "day.yaml")
    assert job.readings[0][2] == Reading("2", "a", "x1", Decimal("2.2"), "09:52", 4)
    assert [(r.location, r.spot, r.roll, str(r.value), r.time, r.line) for r in job.readings[1]] == [
        ("1", "a", "x1", "2.2", None, 27),
        ("1", "a", "c1", "1.6", None, 27),
        ("1", "b", "x1", "3.1", None, 28),
    ]


def test_files_are_named_from_the_job_folder_with_their_bytes(folder):
    job = load_job(folder / "day.yaml")
    assert [(file.name, file.role) for file in job.files] == [
        ("project.yaml", "project"),
        ("day.yaml", "day"),
        ("readings/day.csv", "csv"),
        ("photos/wall.png", "photo"),
    ]
    assert all(file.data == (folder / file.name).read_bytes() for file in job.files)
    assert [file.sha256 for file in job.files] == [hashlib.sha256(file.data).hexdigest() for file in job.files]
    assert job.photos == {"photos/wall.png": job.files[-1].content}
    assert job.clock.date == dt.date(2026, 5, 14)
    assert job.warnings == ()


def test_a_path_may_be_text_and_relative(folder, monkeypatch):
    monkeypatch.chdir(folder)
    assert load_job("day.yaml").day.report.number == "T-001"
    with pytest.raises(InputError) as caught:
        load_job(Path("dya.yaml"))
    assert caught.value.diagnostics[0].spans[0].file == "dya.yaml"


def test_from_memory_it_is_the_same_job_but_for_the_photos(folder):
    job = load_job(folder / "day.yaml")
    files = {f"embedded/{file.name}": file.data for file in job.files if file.role != "photo"}
    again = job_from_files(files, "embedded/day.yaml")
    assert (again.project, again.day, again.readings, again.clock) == (job.project, job.day, job.readings, job.clock)
    assert again.photos == {}


def test_from_memory_a_missing_file_and_a_large_one_are_refused(folder):
    files = {file.name: file.data for file in load_job(folder / "day.yaml").files}
    del files["readings/day.csv"]
    with pytest.raises(InputError) as caught:
        job_from_files(files, "day.yaml")
    assert [d.code for d in caught.value.diagnostics] == ["PTH101"]
    files["readings/day.csv"] = b"x" * (16 * 1024 * 1024 + 1)
    with pytest.raises(InputError) as caught:
        job_from_files(files, "day.yaml")
    assert [d.code for d in caught.value.diagnostics] == ["PTH104"]
    with pytest.raises(InputError) as caught:
        job_from_files(
            files | {"day.yaml": files["day.yaml"].replace(b"project.yaml", b"../p.yaml")},
            "day.yaml",
        )
    assert {d.code for d in caught.value.diagnostics} == {"JOB140"}


def test_a_logo_is_relative_to_the_project_file(folder):
    (folder / "contract").mkdir()
    text = (folder / "project.yaml").read_text().replace("address: 1 Lane}", "address: 1 Lane, logo: logo.png}")
    _write(folder, "contract/project.yaml", text)
    shutil.copy(folder / "photos/wall.png", folder / "contract/logo.png")
    job = load_job(_write(folder, "d.yaml", _day("T-002", "2026-05-15", project="contract/project.yaml")))
    assert [(file.name, file.role) for file in job.files][-1] == ("contract/logo.png", "logo")


def test_a_logo_beside_the_project_file_in_the_job_folder(folder):
    text = (folder / "project.yaml").read_text().replace("address: 1 Lane}", "address: 1 Lane, logo: photos/wall.png}")
    _write(folder, "project.yaml", text)
    job = load_job(_write(folder, "d.yaml", _day("T-002", "2026-05-15")))
    assert [(file.name, file.role) for file in job.files][-1] == ("photos/wall.png", "logo")


def test_the_collector_runs_again_after_a_load_also_after_a_refusal(folder):
    load_job(folder / "day.yaml")
    assert gc.isenabled()
    with pytest.raises(InputError):
        load_job(folder / "none.yaml")
    assert gc.isenabled()
    gc.disable()
    try:
        load_job(folder / "day.yaml")
        assert not gc.isenabled()
    finally:
        gc.enable()


# --- earlier days


def test_earlier_days_come_oldest_first_with_their_files(folder):
    _write(folder, "b.yaml", _day("T-004", "2026-05-16", RAISED.replace("N-1", "N-2")))
    csv = "surfaces:\n" + (folder / "day.yaml").read_text().partition("surfaces:\n")[2].partition("    photos")[0]
    _write(folder, "a.yaml", _day("T-005", "2026-05-17", csv + RAISED))
    (folder / "day.yaml").unlink()
    job = load_job(_write(folder, "today.yaml", _day("T-006", "2026-05-18", SURFACE)))
    assert [earlier.day.report.number for earlier in job.earlier] == ["T-004", "T-005"]
    assert job.earlier[1].photos == {}
    assert [(file.name, file.role) for file in job.files] == [
        ("b.yaml", "earlier"),
        ("a.yaml", "earlier"),
        ("readings/day.csv", "csv"),
        ("project.yaml", "project"),
        ("today.yaml", "day"),
    ]
    again = job_from_files({file.name: file.data for file in job.files}, "today.yaml")
    assert again == job


def test_days_that_carry_nothing_are_not_loaded(folder):
    job = load_job(_write(folder, "today.yaml", _day("T-006", "2026-05-18")), conformed=_conformed)
    assert (job.earlier, [file.role for file in job.files]) == ((), ["project", "day"])


def test_a_report_that_may_have_left_something_open_is_loaded_whatever_its_areas(folder):
    """One that is not known to conform, or leaves bare what has to be primed; and what another says of that area."""
    today = _write(folder, "today.yaml", _day("T-006", "2026-05-18"))
    other = (folder / "day.yaml").read_text("utf-8").replace("T-001", "T-002").replace("2026-05-04", "2026-05-05")
    _write(folder, "other.yaml", other)

    def loaded(*conformed):
        job = load_job(today, conformed=lambda day, _: day.report.number in conformed)
        return [earlier.day.report.number for earlier in job.earlier]

    assert loaded() == ["T-001", "T-002"]
    assert loaded("T-001", "T-002") == []
    assert loaded("T-002") == loaded("T-001") == ["T-001", "T-002"]
    project = (folder / "project.yaml").read_text("utf-8")
    timed = project.replace("specification:\n", "specification:\n  time_to_coat: {maximum: 8 h}\n")
    assert timed != project
    _write(folder, "project.yaml", timed)
    assert loaded("T-001", "T-002") == ["T-001", "T-002"]


def test_without_earlier_days_on_request(folder):
    _write(folder, "a.yaml", _day("T-005", "2026-05-17", RAISED))
    today = _write(folder, "today.yaml", _day("T-006", "2026-05-18", SURFACE))
    assert load_job(today, with_earlier=False).earlier == ()


@pytest.mark.parametrize(
    ("number", "date", "start", "project", "counts"),
    [
        ("T-005", "2026-05-17", "06:00", "project.yaml", True),
        ("T-005", "2026-05-18", "05:00", "project.yaml", True),
        ("T-005", "2026-05-18", "06:00", "project.yaml", True),
        ("T-007", "2026-05-18", "06:00", "project.yaml", False),
        ("T-005", "2026-05-19", "06:00", "project.yaml", False),
        ("T-006", "2026-05-17", "06:00", "project.yaml", False),
        ("T-005", "2026-05-17", "06:00", "other.yaml", False),
    ],
)
def test_what_is_an_earlier_day(folder, number, date, start, project, counts):
    shutil.copy(folder / "project.yaml", folder / "other.yaml")
    (folder / "day.yaml").unlink()
    _write(folder, "a.yaml", _day(number, date, RAISED, start=start, project=project))
    job = load_job(_write(folder, "today.yaml", _day("T-006", "2026-05-18")))
    assert [earlier.day.report.number for earlier in job.earlier] == ([number] if counts else [])
    assert [one.code for one in job.warnings] == ["JOB257"] * (project == "other.yaml")


def test_a_report_before_one_that_raises_something_on_its_area_is_loaded(folder):
    """It may be what that one raises it for; one after it is not."""
    _write(folder, "a.yaml", _day("T-005", "2026-05-17", RAISED))
    _write(folder, "b.yaml", (folder / "day.yaml").read_text("utf-8").replace("T-001", "T-000"))
    job = load_job(_write(folder, "today.yaml", _day("T-006", "2026-05-18")), conformed=_conformed)
    assert [earlier.day.report.number for earlier in job.earlier] == ["T-000", "T-001", "T-005"]
    _write(folder, "a.yaml", _day("T-005", "2026-05-01", RAISED))
    job = load_job(_write(folder, "today.yaml", _day("T-006", "2026-05-18")), conformed=_conformed)
    assert [earlier.day.report.number for earlier in job.earlier] == ["T-005"]


@pytest.mark.parametrize("first", [0, 1])
def test_of_a_report_with_revisions_the_last_counts(folder, first):
    (folder / "day.yaml").unlink()
    for name, revision in (("a", first), ("b", 1 - first)):
        raised = RAISED.replace("N-1", f"N-1{revision}")
        _write(folder, f"{name}.yaml", _day("T-005", "2026-05-17", raised, revision=revision))
    job = load_job(_write(folder, "today.yaml", _day("T-006", "2026-05-18")), conformed=_conformed)
    assert [earlier.day.nonconformances[0].id for earlier in job.earlier] == ["N-11"]
    assert [file.role for file in job.files] == ["earlier", "project", "day"]


@pytest.mark.parametrize("broken", [RAISED.replace("outlier", "outlyer"), RAISED + "x: [", RAISED + "report: 1\n"])
def test_an_earlier_day_with_faults_is_a_warning_and_goes_with_the_report(folder, broken):
    _write(folder, "a.yaml", _day("T-005", "2026-05-17", broken))
    job = load_job(_write(folder, "today.yaml", _day("T-006", "2026-05-18")), conformed=_conformed)
    (warning,) = job.warnings
    assert (warning.code, warning.severity) == ("JOB250", "warning")
    assert warning.message.startswith("the earlier day `a.yaml` cannot be loaded: ")
    assert warning.help_text == f"correct it (`reportgen check {folder}/a.yaml`)"
    assert job.earlier == ()
    again = job_from_files({file.name: file.data for file in job.files}, "today.yaml")
    assert [w.message for w in again.warnings] == [warning.message]


def test_an_earlier_day_that_misses_its_shape_altogether(folder):
    _write(folder, "a.yaml", "report: nothing\nnonconformances: []\n")
    job = load_job(_write(folder, "today.yaml", _day("T-006", "2026-05-18")), conformed=_conformed)
    assert [w.code for w in job.warnings] == ["JOB250"]


def test_other_files_of_the_folder_are_left_alone(folder):
    _write(folder, "notes.yaml", "nonconformances: many\n")
    _write(folder, "notes.txt", _day("T-001", "2026-05-01", RAISED))
    (folder / "nested.yaml").mkdir()
    job = load_job(_write(folder, "today.yaml", _day("T-006", "2026-05-18")), conformed=_conformed)
    assert (job.earlier, job.warnings) == ((), ())


def test_a_reinspection_of_what_an_earlier_day_raised(folder):
    _write(folder, "a.yaml", _day("T-005", "2026-05-17", RAISED))
    today = _write(folder, "today.yaml", _day("T-006", "2026-05-18", SURFACE.replace("N-1", "N-2")))
    with pytest.raises(InputError) as caught:
        load_job(today)
    assert [(d.code, d.help_text) for d in caught.value.diagnostics] == [("JOB242", "known are `N-1`")]


def test_faults_and_the_warnings_beside_them_are_told_together(folder):
    _write(folder, "a.yaml", _day("T-005", "2026-05-17", RAISED.replace("outlier", "outlyer")))
    with pytest.raises(InputError) as caught:
        load_job(_write(folder, "today.yaml", _day("T-6", "2026-05-18")))
    assert [(d.code, d.severity) for d in caught.value.diagnostics] == [("JOB250", "warning"), ("JOB208", "error")]


# --- warnings of the day itself


def test_an_apparatus_nearly_right_is_a_warning(folder):
    text = (folder / "day.yaml").read_text() + (
        'air_checks:\n  - {time: "06:55", apparatus: pat 1, duration: 2 min, result: clean}\n'
        '  - {time: "06:55", apparatus: compressor, duration: 2 min, result: clean}\n'
        '  - {time: "06:56", apparatus: pot 1, duration: 2 min, result: clean}\n'
    )
    (warning,) = load_job(_write(folder, "day.yaml", text)).warnings
    assert (warning.code, warning.message) == ("JOB246", "no surface of this day was blasted with `pat 1`")
    assert warning.help_text == "did you mean `pot 1`?"
    assert (warning.spans[0].line, warning.spans[0].column) == (32, 32)


@pytest.mark.parametrize("other", ["pot 2", "pot 10", "pot B"])
def test_another_apparatus_that_was_checked_and_not_used_is_none(folder, other):
    text = (folder / "day.yaml").read_text() + (
        f'air_checks:\n  - {{time: "06:55", apparatus: {other}, duration: 2 min, result: clean}}\n'
    )
    if other == "pot B":
        text = text.replace("apparatus: pot 1", "apparatus: pot A")
    assert load_job(_write(folder, "day.yaml", text)).warnings == ()


def test_a_grade_nearly_right_is_a_warning_an_unknown_one_is_not(folder):
    day = (folder / "day.yaml").read_text().replace("observed: SSPC-SP 10", "observed: SSPC-SP10")
    (warning,) = load_job(_write(folder, "day.yaml", day)).warnings
    assert (warning.code, warning.message) == ("JOB216", "`SSPC-SP10` is not a grade whose rank is known")
    assert warning.help_text == "did you mean `SSPC-SP 10`?"
    day = day.replace("SSPC-SP10", "as sample panel 3")
    assert load_job(_write(folder, "day.yaml", day)).warnings == ()


@pytest.mark.parametrize("grade", ["medium G", "ISO 8503-1 medium G", "SSPC-AB 1 grade 3"])
def test_comparator_grades_with_known_limits(folder, grade):
    text = (folder / "project.yaml").read_text()
    limits = "    minimum: 2.0 mil\n    maximum: 3.5 mil\n"
    _write(folder, "project.yaml", text.replace(limits, f"    comparator_grade: {grade}\n"))
    assert load_job(folder / "day.yaml").project.specification.profile.comparator_grade == grade


def test_a_micrometer_needs_no_rule_for_tape(folder):
    lines = (folder / "project.yaml").read_text().splitlines()
    tape = ("thickness gauge", "overlap_rule", "tape_rolls", "grade: coarse", "grade: extra coarse")
    _write(folder, "project.yaml", "\n".join(line for line in lines if not any(word in line for word in tape)) + "\n")
    rows = "[{location: 1, spot: a, depth: 2.4}, {location: 1, spot: b, depth: 2.4}]"
    profile = f"    profile:\n      gauge: m1\n      readings: {rows}\n"
    day = _day("T-002", "2026-05-15", SURFACE.replace("    reinspects: [N-1]\n", profile))
    assert [reading.roll for reading in load_job(_write(folder, "d.yaml", day)).readings[0]] == [None, None]


def test_a_shift_past_midnight_and_full_instants(folder):
    day = _day(
        "T-002", "2026-05-15", SURFACE.replace("    reinspects: [N-1]\n", '    coated: "2026-05-16T00:30+02:00"\n')
    )
    day = day.replace('start: "06:00", end: "23:00"', 'start: "20:00", end: "06:00"')
    day = day.replace('start: "10:00", end: "11:00"', 'start: "23:30", end: "00:20"')
    assert load_job(_write(folder, "d.yaml", day)).day.surfaces[0].coated is not None


def test_nothing_rests_on_an_earlier_day_that_is_unfinished(folder):
    _write(folder, "before.yaml", _day("T-000", "2026-05-10", SURFACE.replace("    reinspects: [N-1]\n", "")))
    later = _write(folder, "later.yaml", _day("T-009", "2026-05-20"))
    assert "JOB250" not in {one.code for one in load_job(later).warnings}
    begun = SURFACE.replace("    reinspects: [N-1]\n", "").replace(', end: "11:00"', "")
    _write(folder, "before.yaml", _day("T-000", "2026-05-10", begun + RAISED))
    (warning,) = [one for one in load_job(later).warnings if one.code == "JOB250"]
    assert "`before.yaml` cannot be loaded: missing field `end`" in warning.message
