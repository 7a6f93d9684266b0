"""A day being typed evaluates at every moment: what is missing is named, holds what it is about, and counts nowhere.

What is missing is told apart from what is there by the published schema, which the rules do not use.
"""

import copy
import datetime as dt
import functools
import json
import operator
from dataclasses import replace
from functools import cache
from pathlib import Path

import jsonschema
import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.errors import InputError
from reportgen.job.template import Template
from reportgen.loader import job_from_files
from reportgen.report.actions import actions
from reportgen.report.context import Context
from reportgen.rules import evaluate
from reportgen.words.catalogue import catalogue
from tests.golden.sample_evaluation import ISSUE
from tests.job_schemas import json_schema
from tests.thorough import repeats

JOBS = Path(__file__).parents[2] / "jobs"
DAYS = sorted(path for path in JOBS.glob("*/*.yaml") if path.name != "project.yaml")
LOGS = ("conditions", "gauge_checks", "tape_checks", "air_checks", "abrasive_checks", "function_checks", "hold_points")
AT = dt.datetime(2026, 12, 1, tzinfo=dt.UTC)
CHANGES_MEANING = {"film", "confirmed", "blasted_again"}
"""Fields that say how others are meant: without them something else was written, not less."""

few = settings(max_examples=repeats(40), deadline=None)


@cache
def _written(index):
    return yaml.load(DAYS[index].read_text("utf-8"), yaml.BaseLoader)  # noqa: S506 - text only


@cache
def _beside(index):
    folder = DAYS[index].parent
    files = [path for path in folder.rglob("*") if path.suffix in {".yaml", ".csv"} and path != DAYS[index]]
    earlier = [path for path in files if path.name == "project.yaml" or path.suffix == ".csv" or path < DAYS[index]]
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in earlier}


def _judged(index, data):
    name = DAYS[index].name
    job = job_from_files(_beside(index) | {name: json.dumps(data).encode()}, name)
    return job, evaluate(job, at=AT)


@cache
def _whole(index):
    return _judged(index, _written(index))


@cache
def _lacking(kind):
    return jsonschema.Draft202012Validator(json_schema(kind))


def _paths(value, path=()):
    """Yield the place of every field and entry within a part of a day."""
    parts = value.items() if isinstance(value, dict) else enumerate(value if isinstance(value, list) else ())
    for part, inner in parts:
        if part not in CHANGES_MEANING:
            yield (*path, part)
            yield from _paths(inner, (*path, part))


def _without(data, paths, blank=()):
    """Return a copy without some parts; those that are blank keep their name."""
    changed = copy.deepcopy(data)
    for path in sorted(paths, key=lambda one: [str(part).zfill(5) for part in one], reverse=True):
        home = changed
        for part in path[:-1]:
            home = home[part] if (part in home if isinstance(home, dict) else part < len(home)) else None
            if not isinstance(home, dict | list):
                break
        else:
            if path in blank and isinstance(home, dict):
                home[path[-1]] = ""
            elif path[-1] in home if isinstance(home, dict) else path[-1] < len(home):
                del home[path[-1]]
    return changed


def _drawn(data, index, blocks):
    day = _written(index)
    paths = sorted((path for block in blocks for path in _paths(day.get(block, ()), (block,))), key=str)
    chosen = data.draw(st.sets(st.sampled_from(paths), min_size=1, max_size=6))
    # of a part within another that goes too there is nothing left to take out
    chosen = {one for one in chosen if not any(one[:long] in chosen for long in range(1, len(one)))}
    return chosen, {one for one in chosen if data.draw(st.booleans())}


def _unfinished(evaluation):
    return [finding for finding in evaluation.findings if finding.code == "entry-unfinished"]


def _held(evaluation):
    held = {finding.area for finding in _unfinished(evaluation)}
    return {area.id: area.decision for area in evaluation.areas if area.id in held or None in held}


@few
@given(st.data())
def test_whatever_is_missing_holds_and_stops_nothing(data):
    index = data.draw(st.integers(0, len(DAYS) - 1))
    chosen, blank = _drawn(data, index, ("surfaces", *LOGS))
    changed = _without(_written(index), chosen, blank)
    job, evaluation = _judged(index, changed)
    assert "release" not in _held(evaluation).values()
    lacking = [error.absolute_path for error in _lacking("day").iter_errors(changed)]
    blocks = {path[0] for path in lacking if path}
    assert blocks <= {entry.block for entry in job.unfinished}
    assert bool(job.unfinished) == bool(_unfinished(evaluation))
    assert not job.unfinished or job.unfilled
    decided = {area.id: area.decision for area in evaluation.areas}
    for path in lacking:
        area = changed["surfaces"][path[1]].get("area") if path[0] == "surfaces" and len(path) > 1 else None
        assert not area or decided[area] != "release"


@few
@given(st.data())
def test_an_unfinished_surface_touches_no_other_area(data):
    index = data.draw(st.integers(0, len(DAYS) - 1))
    chosen, blank = _drawn(data, index, ("surfaces",))
    touched = {_written(index)["surfaces"][path[1]]["area"] for path in chosen if len(path) > 1}
    nameless = any(len(path) < 3 or path[2] == "area" for path in chosen)
    if nameless:  # it may be any area's
        return
    _, evaluation = _judged(index, _without(_written(index), chosen, blank))
    before = {area.id: area for area in _whole(index)[1].areas}
    for area in evaluation.areas:
        if area.id not in touched:
            assert (area.verdict, area.decision) == (before[area.id].verdict, before[area.id].decision)
            assert area.locations == before[area.id].locations


def _entries(index):
    """Yield the place of each entry of a list, with the fields that it must have."""
    for path in _paths(_written(index)):
        if path[0] in ("surfaces", *LOGS) and isinstance(path[-1], int):
            entry = _written(index)
            for part in path:
                entry = entry[part]
            for name in entry if isinstance(entry, dict) else ():
                without = _without(_written(index), {(*path, name)})
                if any(list(error.absolute_path) == list(path) for error in _lacking("day").iter_errors(without)):
                    yield path, name


@cache
def _all_entries(index):
    return list(_entries(index))


@pytest.mark.parametrize("index", range(len(DAYS)), ids=lambda index: DAYS[index].stem)
def test_there_are_entries_to_leave_unfinished(index):
    blocks = {path[0] for path, _ in _all_entries(index)}
    assert {"surfaces", "conditions", "gauge_checks"} <= blocks


_COUNTED = ("locations", "n_locations", "n_spots", "required_locations", "sampling", "mean", "expanded_uncertainty")


def _apart_from(own, evaluation, key):
    """Results but those of one area: what is measured on steel whose entry lacks a field is told, and releases nothing.

    The work beside a reading is known too, and whose budget is shown follows it: steel coated under bad conditions
    fails, typed in full or not.
    """
    others = [one for one in getattr(evaluation, key) if own is None or getattr(one, "area", None) != own]
    return [replace(one, during=(), budgets=()) for one in others] if own and key == "conditions" else others


@few
@given(st.data())
def test_an_unfinished_entry_counts_no_more_than_one_that_is_not_there(data):
    """Neither for sampling nor for conditions, the time to coat or a re-inspection."""
    index = data.draw(st.integers(0, len(DAYS) - 1))
    path, name = data.draw(st.sampled_from(_all_entries(index)))
    _, unfinished = _judged(index, _without(_written(index), {(*path, name)}))
    _, absent = _judged(index, _without(_written(index), {path}))
    assert _unfinished(unfinished)
    own = _written(index)["surfaces"][path[1]]["area"] if path[0] == "surfaces" else None
    areas = {area.id: area for area in absent.areas}
    for area in unfinished.areas:
        other = areas.get(area.id)
        assert area.decision != "release" or (other is not None and other.decision == "release")
        if other is not None:
            assert [getattr(area, each) for each in _COUNTED] == [getattr(other, each) for each in _COUNTED]
    for key in ("conditions", "salts", "dust", "air", "abrasive", "checks", "comparators"):
        if hasattr(unfinished, key):
            assert _apart_from(own, unfinished, key) == _apart_from(own, absent, key)
    closed = [{one.id for one in each.nonconformances if one.status == "closed"} for each in (unfinished, absent)]
    assert closed[0] <= closed[1]
    due = [{one.area for one in each.coating_times if one.coat_by is not None} for each in (unfinished, absent)]
    assert due[0] <= due[1]


def _every_path(value, path=()):
    for part, inner in (
        value.items() if isinstance(value, dict) else enumerate(value if isinstance(value, list) else ())
    ):
        yield (*path, part)
        yield from _every_path(inner, (*path, part))


def _shapes(index):
    """The first place of each kind of field in a day: those of further entries of a list are read the same way."""
    found = {}
    for path in _every_path(_written(index)):
        found.setdefault(tuple("-" if isinstance(part, int) else part for part in path), path)
    return list(found.values())


def _page_1(job, evaluation):
    return Context(job, evaluation, ISSUE, Template(), catalogue("en"), 500.0, 700.0, None, {})


@pytest.mark.thorough
@pytest.mark.parametrize("blank", [False, True], ids=["gone", "blank"])
def test_without_any_one_field_a_day_evaluates_or_one_error_names_its_line(blank):
    """Only what makes a day file one (`project`, and the head of the report) is an error while it is missing."""
    index = next(number for number, day in enumerate(DAYS) if day.stem == "2026-06-09")
    before = {area.id: area.decision for area in _whole(index)[1].areas}
    evaluated, refused = 0, set()
    for path in _shapes(index):
        changed = _without(_written(index), {path}, {path} if blank else ())
        if blank and isinstance(path[-1], int):
            *home, last = path
            functools.reduce(operator.getitem, home, changed)[last:last] = [""]
        try:
            job, evaluation = _judged(index, changed)
        except InputError as error:
            (one,) = error.diagnostics
            assert one.spans[0].file.endswith("2026-06-09.yaml"), path
            assert one.spans[0].line > 0, path
            refused.add(path[0])
            continue
        evaluated += 1
        assert bool(job.unfinished) == bool(_unfinished(evaluation)), path
        assert not job.unfinished or job.unfilled, path  # what `issue` refuses
        assert "release" not in _held(evaluation).values(), path
        named = {area for areas in actions(_page_1(job, evaluation)).values() for area in areas}
        assert {area.id for area in evaluation.areas if area.decision != "release"} <= named, path
        after = {area.id: area.decision for area in evaluation.areas}
        if job.unfinished and path[0] == "surfaces":
            better = {area for area, decision in after.items() if decision == "release" != before.get(area)}
            assert better == set(), path
    assert refused <= {"project", "report"}
    assert evaluated > 100
