"""Starter files with ``{{names}}`` filled in; a name may carry the placeholder that stands where nothing is known."""

from __future__ import annotations

import re
from importlib import resources
from typing import TYPE_CHECKING, Final

from reportgen.yamlsource import scalar

if TYPE_CHECKING:
    from collections.abc import Mapping

_NAME: Final = re.compile(r"\{\{(\w+)(?:: (.*?))?\}\}")
_FILM: Final = re.compile(r"^#      film:.*\n", re.MULTILINE)
"""The line of an entry that is of tape alone."""
_COMMENT: Final = re.compile(r"^(.{1,80}?\S)  +(# .*)$", re.MULTILINE)
_COLUMN: Final = 40


def template(name: str) -> str:
    """Return the text of a starter file, or of a part of one."""
    return resources.files("reportgen.starter").joinpath(f"data/{name}.yaml").read_text("utf-8")


def may_be_open(name: str) -> frozenset[str]:
    """Return the names in a template that may be left open: those that carry a placeholder."""
    return frozenset(found[1] for found in _NAME.finditer(template(name)) if found[2] is not None)


def filled(name: str, values: Mapping[str, str]) -> str:
    """Return a template with every name replaced, and comments behind fields aligned again.

    Raises:
        KeyError: a name that has neither a value nor a placeholder.
    """
    done = _NAME.sub(lambda found: values[found[1]] if found[1] in values or not found[2] else found[2], template(name))
    return _COMMENT.sub(lambda found: f"{found[1]:<{_COLUMN - 2}}  {found[2]}", done)


def at_rest(kind: str, preset: str) -> str:
    """Return what an example of a gauge check says of the gauge at rest, by the kind of the gauge."""
    unit = preset.rpartition(" ")[2]
    return f"tip: <clean>, zero: <0 {unit}>" if kind == "depth micrometer" else f"anvils: <clean>, preset: <{preset}>"


def of_gauge(entry: str, kind: str) -> str:
    """Return the entry of an area without what is of tape alone, where another gauge reads the profile."""
    return entry if kind == "thickness gauge" else _FILM.sub("", entry)


def written(text: str) -> str:
    """Return a text as a starter file writes it: an editor would take bare digits, such as an edition, for a number.

    >>> [written("2.0 mil"), written("2021"), written("a: b")]
    ['2.0 mil', '"2021"', '"a: b"']
    """
    return scalar(text, digits_quoted=True)
