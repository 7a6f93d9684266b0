"""What stands half typed in a day file is named with its line, holds what it is about, and stops nothing else."""

import datetime as dt
import functools
import json
import operator
import random
import shutil
from functools import cache
from pathlib import Path

import pytest
import yaml

from reportgen.errors import InputError
from reportgen.intake.changes import Address, Change
from reportgen.loader import load_job
from reportgen.pipeline import check
from reportgen.pipeline.issuing import fit_for_issue
from reportgen.pipeline.looking import look
from reportgen.rules import evaluate
from tests.command import run

JOBS = Path(__file__).parents[2] / "jobs"
DAYS = (JOBS / "quarrowmere/2026-06-08.yaml", JOBS / "tessowick/2026-09-15.yaml")
AT = dt.datetime(2026, 12, 1, tzinfo=dt.UTC)
DIAGNOSTICS = Path(__file__).parents[1] / "diagnostics"
SAMPLE = 40


@cache
def _written(day):
    return yaml.load(day.read_text("utf-8"), yaml.BaseLoader)  # noqa: S506 - text only


@cache
def _before(day):
    return {one.id: one for one in evaluate(load_job(day), at=AT).areas}


def _scalars(value, path=()):
    if isinstance(value, str):
        yield path, value
        return
    for part, inner in value.items() if isinstance(value, dict) else enumerate(value):
        yield from _scalars(inner, (*path, part))


def _half_typed(day):
    """Yield the first of each kind of field with what stands there while it is typed, or slips in at its end."""
    known = set()
    for path, text in _scalars(_written(day)):
        kind = tuple("-" if isinstance(part, int) else part for part in path)
        if kind not in known:
            known.add(kind)
            for begun in sorted({text[:-1], text[: len(text) // 2], text.rsplit(" ", 1)[0], f"{text}x"} - {text, ""}):
                yield path, begun


def _with(day, path, text):
    data = json.loads(json.dumps(_written(day)))
    home = data
    for part in path[:-1]:
        home = home[part]
    home[path[-1]] = text
    return json.dumps(data, indent=1).encode()


def _sampled(day):
    every = [one for one in _half_typed(day) if one[0][0] not in {"project", "report"}]
    return random.Random(13).sample(every, min(SAMPLE, len(every)))  # noqa: S311 - no secret


@pytest.mark.parametrize("day", DAYS, ids=lambda day: day.stem)
def test_any_value_of_an_entry_half_typed_holds_its_area_and_nothing_else(day):
    before, unread = _before(day), 0
    for path, text in _sampled(day):
        job = load_job(day, typed=True, content=_with(day, path, text))
        after = evaluate(job, at=AT)
        found = [one for one in after.findings if one.code == "entry-unfinished"]
        assert {one.id for one in after.areas if one.decision == "release"} <= {
            area for area, one in before.items() if one.decision == "release"
        }, (path, text)
        if not job.unread:
            continue
        unread += 1
        assert all(one.spans[0].line > 1 and one.help_text != "" for one in job.unread), (path, text)
        assert set(job.unread) <= set(job.unfilled), (path, text)
        assert found, (path, text)
        held = {one.place.area for one in found}
        for area in after.areas:
            if area.id in held or None in held:
                assert area.decision != "release", (path, text)
            elif path[0] == "surfaces":
                assert (area.verdict, area.decision) == (before[area.id].verdict, before[area.id].decision)
                assert area.locations == before[area.id].locations
    assert unread > SAMPLE / 4


def _released(evaluation):
    return {one.id for one in evaluation.areas if one.decision == "release"}


HEAD = [
    ("report", "number"), ("report", "revision"), ("report", "date"), ("report", "inspector"),
    ("report", "shift", "start"), ("report", "shift", "end"),
]  # fmt: skip


@pytest.mark.parametrize("day", DAYS, ids=lambda day: day.stem)
@pytest.mark.parametrize("path", HEAD, ids=".".join)
def test_any_beginning_of_a_field_of_the_head_holds_every_area_and_the_rest_is_judged(day, path):
    before, text, unread = _before(day), functools.reduce(operator.getitem, path, _written(day)), 0
    for begun in (text[:size] for size in range(len(text))):
        job = load_job(day, typed=True, content=_with(day, path, begun))
        after = evaluate(job, at=AT)
        assert {one.id for one in after.areas} == set(before), begun
        for area in after.areas:
            own = before[area.id]
            assert area.locations == own.locations, begun
            assert area.verdict == own.verdict or (area.verdict, own.verdict) == ("inconclusive", "conforms"), begun
        found = [one for one in after.findings if one.code == "entry-unfinished"]
        (told,) = {(one.facts.entry, one.facts.lacks, one.facts.unread) for one in found}
        name = ".".join(path[1:])
        assert told == ("report", None if begun else (name,), (name,) if begun else None), begun
        assert {one.area for one in found} == {None}
        assert not _released(after), begun
        assert job.unfilled, begun
        unread += 1
    assert unread


def test_whatever_the_head_lacks_or_has_too_much_the_rest_is_judged(folder):
    day, data = folder / DAYS[0].name, _written(DAYS[0])
    whole = {one.id: one.locations for one in check(day, at=AT).evaluation.areas}
    report = data["report"]
    heads = [{name: one for name, one in report.items() if name != left_out} for left_out in {one[1] for one in HEAD}]
    heads += [
        "", "F", {}, report | {"shift": ""}, report | {"shift": {"start": "07"}}, report | {"numbe": "F"},
        report | {"countersigners": ["f"]}, report | {"countersigners": "f"}, report | {"entered": "1"},
        report | {"supersedes": {"revision": "0"}}, report | {"present": {"a": "b"}},
        report | {"shift": {"start": "07:00", "end": "07:00"}}, report | {"revision": "1", "inspector": "f"},
    ]  # fmt: skip
    for head in heads:
        day.write_text(json.dumps(data | {"report": head}, indent=1), encoding="utf-8")
        checked = check(day, at=AT, typed=True)
        assert {one.id: one.locations for one in checked.evaluation.areas} == whole, head
        assert not _released(checked.evaluation), head
        with pytest.raises(InputError):
            fit_for_issue(day, AT)


def test_a_field_that_no_day_file_has_holds_every_area(folder):
    day, data = folder / DAYS[0].name, _written(DAYS[0])
    for name, text in (("condition", ""), ("format", ""), ("conditions", "1"), ("site", "w"), ("format", "0")):
        day.write_text(json.dumps(data | {name: text}, indent=1), encoding="utf-8")
        checked = check(day, at=AT, typed=True)
        assert checked.evaluation.areas, name
        assert not _released(checked.evaluation), name


def test_without_a_contract_there_is_no_day_to_evaluate():
    for begun in ("", DAYS[0].parent.name[:3], "project.yam"):
        with pytest.raises(InputError) as caught:
            load_job(DAYS[0], typed=True, content=_with(DAYS[0], ("project",), begun))
        assert [one.spans[0].line > 1 for one in caught.value.diagnostics if one.severity == "error"] == [True]


@pytest.mark.parametrize("day", DAYS, ids=lambda day: day.stem)
def test_a_day_cut_anywhere_is_evaluated_or_has_one_error(day):
    """What is cut off whole nobody can miss; the entry in which the text ends is not released."""
    text = day.read_text("utf-8")
    ends = random.Random(13).sample(range(text.index("report:"), len(text)), SAMPLE)  # noqa: S311 - no secret
    evaluated = 0
    for end in sorted(ends):
        try:
            job = load_job(day, typed=True, content=text[:end].encode())
        except InputError as failure:
            (told,) = [one for one in failure.diagnostics if one.severity == "error"]
            assert told.code.startswith("SRC"), (end, told)
            continue
        evaluated += 1
        after = evaluate(job, at=AT)
        assert bool(job.unfinished) == any(one.code == "entry-unfinished" for one in after.findings)
        assert _released(after) <= {name for name, one in _before(day).items() if one.decision == "release"}, end
    assert evaluated > SAMPLE / 8


@pytest.fixture
def folder(tmp_path):
    shutil.copytree(JOBS / "quarrowmere", tmp_path / "job")
    for later in ("2026-06-09.yaml", "2026-06-11.yaml"):
        (tmp_path / "job" / later).unlink()
    return tmp_path / "job"


def _typed_into(folder, path, text):
    day = folder / DAYS[0].name
    day.write_bytes(_with(DAYS[0], path, text))
    return day


AIR = ("conditions", 0, "air")


def test_a_number_without_its_unit_is_named_and_its_unit_never_guessed(folder):
    whole = check(DAYS[0], at=AT)
    number = _written(DAYS[0])["conditions"][0]["air"].split()[0]
    day = _typed_into(folder, AIR, number)
    checked = check(day, at=AT, typed=True)
    (told,) = checked.job.unread
    assert (told.code, told.message) == ("JOB130", f"`{number}` has no unit")
    assert f'"air": "{number}"' in told.spans[0].source_line
    assert len(checked.evaluation.conditions) == len(whole.evaluation.conditions) - 1
    facts = {one.facts for one in checked.evaluation.findings if one.code == "entry-unfinished"}
    assert {(one.entry, one.unread, one.lacks, one.texts) for one in facts} == {
        ("conditions[0]", ("air",), None, (number,))
    }
    with pytest.raises(InputError) as caught:
        fit_for_issue(day, AT)
    wrong = [one for one in caught.value.diagnostics if one.severity == "error"]
    assert [(one.code, one.spans[0].line) for one in wrong] == [("JOB130", told.spans[0].line)]


def test_check_says_what_is_wrong_and_evaluates_the_rest(folder):
    day = _typed_into(folder, AIR, "18")
    outcome = run("check", str(day))
    assert outcome.returncode == 1
    assert "error[JOB130]: `18` has no unit" in outcome.stderr
    assert "`conditions[0]`; cannot be taken as it stands: air" in " ".join(outcome.stdout.split())


def test_a_choice_half_typed_is_not_taken_for_its_default(folder):
    """With `film: incl` nobody knows yet what was read: judged as subtracted, the area might fail wrongly."""
    index = next(n for n, one in enumerate(_written(DAYS[0])["surfaces"]) if "profile" in one)
    checked = check(_typed_into(folder, ("surfaces", index, "profile", "film"), "incl"), at=AT, typed=True)
    area = _written(DAYS[0])["surfaces"][index]["area"]
    (found,) = [one for one in checked.evaluation.areas if one.id == area]
    assert (found.decision, found.locations) == ("hold", ())


def test_of_two_entries_that_contradict_each_other_neither_counts(tmp_path):
    shutil.copytree(DIAGNOSTICS / "good", tmp_path / "job")
    shutil.copy(DIAGNOSTICS / "bad/area-twice.yaml", tmp_path / "job")
    job = load_job(tmp_path / "job/area-twice.yaml", typed=True)
    assert [one.place for one in job.unfinished] == [("surfaces", 1)]  # they say the same
    day = (tmp_path / "job/area-twice.yaml").read_text("utf-8")
    other = day[::-1].replace("6.2 :1x", "4.2 :1x", 1)[::-1]
    job = load_job(tmp_path / "job/area-twice.yaml", typed=True, content=other.encode())
    assert {one.place for one in job.unfinished} == {("surfaces", 0), ("surfaces", 1)}
    assert job.day.surfaces == []


def test_an_error_elsewhere_is_an_error(folder):
    day = _typed_into(folder, AIR, "18")
    project = folder / "project.yaml"
    project.write_text(project.read_text("utf-8").replace("time_zone:", "time_zon:"), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        check(day, at=AT, typed=True)
    assert {"JOB130", "JOB110"} <= {one.code for one in caught.value.diagnostics}


def test_what_is_half_typed_elsewhere_does_not_keep_an_entry_from_being_seen(folder):
    """A page that changes one entry shows what follows; what was wrong before is told apart and refuses nothing."""
    day = _typed_into(folder, AIR, "18")
    seen = look(day, Change(Address.parse("remarks"), None, "dry"), at=AT)
    assert seen.refused == ()
    assert [one.code for one in seen.elsewhere] == ["JOB130"]
    assert seen.standing is not None
