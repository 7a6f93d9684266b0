"""Serials that may be one gauge: written alike, or stated with one certificate."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from reportgen.audit.problems import Problem
from reportgen.names import plain_serial
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.audit.index import Index

_READ_WITH: Final = """
SELECT serial, MIN(path), contract FROM uses JOIN reports USING (path)
WHERE purpose = 'readings' AND serial != '' GROUP BY contract, serial ORDER BY contract, serial
"""
_STATED: Final = """
SELECT DISTINCT other.serial FROM instruments AS one
JOIN instruments AS other ON other.kind = one.kind AND other.certificate = one.certificate
WHERE one.serial = ? COLLATE NOCASE AND one.certificate != '' AND other.serial != ''
"""


def perhaps_the_gauge(index: Index, serial: str) -> list[str]:
    """Return the other serials that were read with and may be this gauge, as they are written."""
    same, key = {one for (one,) in index.rows(_STATED, serial)}, plain_serial(serial)
    own = serial.encode().lower()  # the database takes capitals and small letters from A to Z for one, and no others
    read = {one for one, _, _ in index.rows(_READ_WITH) if one.encode().lower() != own}
    return sorted(one for one in read if one in same or (key and plain_serial(one) == key))


def gauge_problems(index: Index) -> Iterator[Problem]:
    """Yield serials of a contract that differ in nothing but how they are written."""
    alike: dict[tuple[str, tuple[str, ...]], dict[str, str]] = {}
    for serial, path, contract in index.rows(_READ_WITH):
        if key := plain_serial(serial):
            alike.setdefault((contract, key), {})[serial] = path
    for (contract, _), found in alike.items():
        if len(found) > 1:
            sentence = told("gauges-written-alike", others=tuple(found))
            yield Problem(contract, "", "gauge-written-otherwise", "", sentence, tuple(dict.fromkeys(found.values())))
