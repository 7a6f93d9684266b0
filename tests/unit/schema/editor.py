"""Reads YAML as an editor does: the core schema of YAML 1.2 (chapter 10.3), in which `08:40` and `yes` are text."""

import re
from typing import ClassVar

import yaml

from reportgen.job import Day, validated
from reportgen.readings import inline_rows


class CoreLoader(yaml.SafeLoader):
    """PyYAML with the core schema's resolution of plain scalars instead of YAML 1.1's."""

    yaml_implicit_resolvers: ClassVar = {}


for tag, pattern, first in (
    ("bool", r"(?:true|True|TRUE|false|False|FALSE)\Z", "tTfF"),
    ("null", r"(?:~|null|Null|NULL|)\Z", ["~", "n", "N", ""]),
    ("int", r"(?:[-+]?[0-9]+)\Z", "-+0123456789"),
    ("float", r"(?:[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?)\Z", "-+.0123456789"),
):
    CoreLoader.add_implicit_resolver(f"tag:yaml.org,2002:{tag}", re.compile(pattern), list(first))


def as_an_editor_reads(text):
    return yaml.load(text, CoreLoader)  # noqa: S506 - a safe loader with fewer types


def checked(model, data):
    """The model of plain data, or what the loader refuses in its shape: wrong fields, then wrong rows of readings."""
    outcome = validated(model, data)
    if isinstance(outcome, tuple) or model is not Day:
        return outcome
    rows = [surface.profile.readings for surface in outcome.surfaces if surface.profile]
    problems = tuple(problem for inline in rows if isinstance(inline, list) for problem in inline_rows(inline)[1])
    return problems or outcome
