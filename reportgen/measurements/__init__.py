"""Every kind of measurement beside the profile, in the order of the report. A new kind is a folder and a line here."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from reportgen.measurements.cleanliness import CLEANLINESS
from reportgen.measurements.dust import DUST
from reportgen.measurements.salts import SALTS
from reportgen.measurements.slice import Entry, Measurement, Scene, Window
from reportgen.results.codes import FINDING_CODES as OWN_CODES
from reportgen.results.codes import STATEMENTS as OWN_STATEMENTS
from reportgen.results.codes import FindingCode
from reportgen.results.statements import Code, Statement

if TYPE_CHECKING:
    from collections.abc import Mapping

MEASUREMENTS: Final[tuple[Measurement[Any, Any, Any], ...]] = (CLEANLINESS, SALTS, DUST)
OF_A_SURFACE: Final = tuple(kind for kind in MEASUREMENTS if kind.scope == "one per surface")
"""Kinds of which each surface has one entry: stated before the profile."""
TESTS: Final = tuple(kind for kind in MEASUREMENTS if kind.scope == "tests of an area")
"""Kinds of which an area has as many tests as the contract asks for, each at a location."""
STATEMENTS: Final[tuple[Statement, ...]] = (
    *OWN_STATEMENTS, *(one for kind in MEASUREMENTS for one in kind.statements),
)  # fmt: skip
"""Everything that can be stated, of the profile and the day first."""
CODES: Final[Mapping[str, Code[Any]]] = {one.name: one for one in STATEMENTS if isinstance(one, Code)}
FINDING_CODES: Final[Mapping[str, Code[Any] | FindingCode]] = {**OWN_CODES, **CODES}
"""Every code a finding can carry; a day file's nonconformances may name only these."""

__all__ = [
    "CODES",
    "FINDING_CODES",
    "MEASUREMENTS",
    "OF_A_SURFACE",
    "STATEMENTS",
    "TESTS",
    "Entry",
    "Measurement",
    "Scene",
    "Window",
]
