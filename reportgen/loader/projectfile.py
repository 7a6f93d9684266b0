"""A project file on its own, for what concerns a whole contract and no single day."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.errors import InputError, UsageError
from reportgen.job import Project, validated
from reportgen.loader.assembly import YAML_LIMIT
from reportgen.loader.collected import Collected
from reportgen.loader.paths import UnreadableFileError, read_under
from reportgen.yamlsource import parse_yaml

if TYPE_CHECKING:
    from pathlib import Path


def load_project(path: Path) -> Project:
    """Load one project file.

    Raises:
        UsageError: when it cannot be read. InputError: with every diagnostic, when it is no project file.
    """
    try:
        data = read_under(path.parent, path.name, YAML_LIMIT)
    except UnreadableFileError as failure:
        raise UsageError(f"project file: {failure.message}", help_text=failure.help_text) from failure
    document = parse_yaml(data, str(path))
    found = Collected()
    if found.later_format(document):
        raise InputError(found.in_order())
    found.add(document.problems)
    outcome = validated(Project, document.data)
    if isinstance(outcome, tuple):
        found.shape(document, outcome)
    elif not found.errors:
        return outcome
    raise InputError(found.in_order())
