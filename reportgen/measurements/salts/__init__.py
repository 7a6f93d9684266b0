"""Soluble salts on blast-cleaned steel, by conductivity or as chloride."""

from dataclasses import replace

from reportgen.measurements.salts import codes
from reportgen.measurements.salts.record import SaltLimit, SaltTest
from reportgen.measurements.salts.rule import (
    SaltResult,
    allowed,
    derived,
    judge,
    seen,
    speaks_of,
    sureness,
    tests_by_size,
)
from reportgen.measurements.slice import Entry, Formula, Measurement, Side

__all__ = ["SALTS", "SaltLimit", "SaltResult", "SaltTest"]

_LOCATION = Entry("location", 1.1)
_CHLORIDE = Entry("chloride", 1.4, quantity="areal density")
_WASHED = (
    Entry("area", 1.0, "area", "cm2", cell="salt_area"),
    Entry("volume", 1.0, "volume", "ml"),
    Entry("blank", 1.0, "conductivity", "uS/cm"),
    Entry("sample", 1.0, "conductivity", "uS/cm"),
)
_BY = (Entry("instrument", 0.9, usual=("conductivity meter",)), Entry("time", 0.9))
_ENTRIES = (_LOCATION, *_WASHED, _CHLORIDE, *_BY)


def asked(limit: SaltLimit | None) -> tuple[Entry, ...]:
    """Return what the sheet asks for: chloride as the kit shows it, or what a density follows from."""
    if limit is None:
        return _ENTRIES
    if limit.expressed_as == codes.CHLORIDE and limit.constant is None:
        return (_LOCATION, replace(_CHLORIDE, unit=limit.maximum.unit))
    return (_LOCATION, *_WASHED, *_BY)


SALTS = Measurement(
    key="salts",
    limit_key="soluble_salts",
    scope="tests of an area",
    limit=SaltLimit,
    test=SaltTest,
    result=SaltResult,
    judge=judge,
    limit_facts=allowed,
    result_facts=seen,
    derived=derived,
    noun="salt test",
    entries=_ENTRIES,
    asked=asked,
    depends_on=codes.ENTERED,
    instruments=("conductivity meter", "other"),
    narrowed={"chloride": "other"},
    counted=True,
    by_size=tests_by_size,
    sureness=sureness,
    speaks_of=speaks_of,
    formulas=(Formula("salt-density", codes.FORMULA, "iso-8502-9", lambda test: test.chloride is None),),
    named_by=("location", "time"),
    sides=(Side("maximum", "density"),),
    exported=(
        "area",
        "location",
        "density",
        "expanded_uncertainty",
        "probability_of_conformity",
        "expressed_as",
        "verdict",
    ),
    codes=codes,
)
"""The kind of measurement, whole."""
