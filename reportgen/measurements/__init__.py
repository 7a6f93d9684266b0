"""Every kind of measurement beside the profile, in the order of the report. A new kind is a folder and a line here."""

from collections.abc import Mapping
from typing import Any, Final

from reportgen.measurements.abrasive import ABRASIVE
from reportgen.measurements.air import AIR
from reportgen.measurements.cleanliness import CLEANLINESS
from reportgen.measurements.conditions import CONDITIONS
from reportgen.measurements.dust import DUST
from reportgen.measurements.salts import SALTS
from reportgen.measurements.slice import Entry, Measurement, Window
from reportgen.results.codes import STATEMENTS as OWN_STATEMENTS
from reportgen.results.codes import WORDS as OWN_WORDS
from reportgen.results.statements import Code, Statement, words_of

MEASUREMENTS: Final[tuple[Measurement[Any, Any, Any], ...]] = (CONDITIONS, CLEANLINESS, SALTS, DUST, AIR, ABRASIVE)
OF_A_SURFACE: Final = tuple(kind for kind in MEASUREMENTS if kind.scope == "one per surface")
"""Kinds of which each surface has one entry: stated before the profile."""
TESTS: Final = tuple(kind for kind in MEASUREMENTS if kind.scope == "tests of an area")
"""Kinds of which an area has as many tests as the contract asks for, each at a location."""
LOGS: Final = tuple(kind for kind in MEASUREMENTS if kind.scope == "log of the shift")
"""Kinds that are measured again and again over the shift."""
STATEMENTS: Final[tuple[Statement[Any], ...]] = (
    *OWN_STATEMENTS, *(one for kind in MEASUREMENTS for one in kind.statements),
)  # fmt: skip
"""Everything that can be stated, of the profile and the day first."""
WORDS: Final[Mapping[str, tuple[str, ...]]] = {
    **OWN_WORDS, **{group: words for kind in MEASUREMENTS for group, words in words_of(kind.codes).items()},
    "tests": (*OWN_WORDS["tests"], *(kind.key for kind in MEASUREMENTS if kind not in LOGS)),
    "slip-difference": (*OWN_WORDS["slip-difference"], *(kind.key for kind in MEASUREMENTS)),
}  # fmt: skip
"""Closed lists of words, by their group in the catalogues."""
CODES: Final[Mapping[str, Code[Any]]] = {one.name: one for one in STATEMENTS if isinstance(one, Code)}
"""Every code a finding can carry; a day file's nonconformances may name only these."""

__all__ = [
    "CODES",
    "LOGS",
    "MEASUREMENTS",
    "OF_A_SURFACE",
    "STATEMENTS",
    "TESTS",
    "WORDS",
    "Entry",
    "Measurement",
    "Window",
]
