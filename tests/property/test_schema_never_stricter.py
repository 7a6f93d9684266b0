"""Whatever the models accept the schema accepts: an editor must not mark a right file as wrong."""

import copy
from functools import cache
from pathlib import Path

import jsonschema
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.job import Day, Project
from tests.job_schemas import json_schema
from tests.thorough import repeats
from tests.unit.schema.editor import as_an_editor_reads, checked

JOBS = Path(__file__).parents[2] / "jobs"
FILES = sorted(JOBS.glob("*/*.yaml"))
VALUES = ["", "yes", "true", "0", "3", "007", "1.5", "2.0 mil", "2mil", "64 %", "06:40", "2026-01-02", "a b", "A-1",
          "C", "12.5 cm2", "3 delta_degC", "7 bar", "no", "-2.0 mil", "µ", " 4 h ", "1e3", "project.yaml"]  # fmt: skip


@cache
def _loaded(index):
    return yaml.load(FILES[index].read_text("utf-8"), yaml.BaseLoader)  # noqa: S506 - text only


@cache
def _validator(kind):
    return jsonschema.Draft202012Validator(json_schema(kind))


def _places(data, path=()):
    if isinstance(data, dict):
        for key, value in data.items():
            yield from _places(value, (*path, key))
    elif isinstance(data, list):
        for index, value in enumerate(data):
            yield from _places(value, (*path, index))
    else:
        yield path


@settings(max_examples=repeats(60), deadline=None)
@given(st.data())
def test_the_schema_is_never_stricter_than_the_models(data):
    original = _loaded(data.draw(st.integers(0, len(FILES) - 1)))
    places = sorted(_places(original), key=str)
    path = data.draw(st.sampled_from(places))
    changed = copy.deepcopy(original)
    home = changed
    for part in path[:-1]:
        home = home[part]
    home[path[-1]] = data.draw(st.sampled_from(VALUES))
    model, kind = (Day, "day") if "report" in original else (Project, "project")
    if isinstance(checked(model, changed), tuple):
        return
    seen = as_an_editor_reads(yaml.dump(changed, default_style=None, allow_unicode=True))
    for value in (changed, seen):
        assert [error.message for error in _validator(kind).iter_errors(value)] == []
